"""What speaks against an act: each rule on the female it is for, and silent on the one it is not.

Days and doses behind the rules are figures of the library; the rules themselves are common
practice (label texts held: PGF ends a pregnancy; melengestrol is for heifers only; one insert).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cow, heifer
from sunup.planning.progress import Act, FemaleStep, Phase
from sunup.planning.warning_rules import find_flags
from sunup.planning.warnings import (
    ABORTS,
    LEAVES,
    VACCINATES,
    WEANS,
    Her,
    Intent,
    RunningWithdrawal,
    WarningFigures,
    Weight,
    is_refused,
)
from sunup.records.female import Exposure, ExposureKind, PregnancyFinding

FIGURES = WarningFigures.of(LIBRARY)
DENVER = ZoneInfo("America/Denver")
AT = datetime(2027, 5, 22, 20, tzinfo=UTC)  # 14:00 in Denver
ON = date(2027, 5, 22)


def her(facts=None, **known):
    facts = facts or cow("2001")
    return Her(facts=facts, group=facts.group, **known)


def flags(who, do, **said):
    return find_flags(who, Intent(do=do, at=AT, zone=DENVER, **said), FIGURES)


def rules(who, do, **said):
    return {f.rule for f in flags(who, do, **said)}


def inserted(days):
    return AT - timedelta(days=days)


@pytest.mark.parametrize("do", ["gnrh", "pgf", "insert_in", "ai"])
def test_nothing_speaks_against_a_sound_cow(do):
    assert rules(her(), do) == set()


@pytest.mark.parametrize(
    ("who", "do", "said", "rule", "weight"),
    [
        (
            her(cow(exposure=Exposure(ExposureKind.BULL, date(2027, 5, 1), date(2027, 5, 14)))),
            "pgf",
            {},
            "may_be_pregnant",
            Weight.REFUSE,
        ),
        (
            her(cow(exposure=Exposure(ExposureKind.AI, date(2027, 5, 13), date(2027, 5, 13)))),
            "pgf",
            {},
            "may_be_pregnant",
            Weight.REFUSE,
        ),
        (her(), "mga_start", {}, "melengestrol_cow", Weight.REFUSE),
        (her(insert_since=inserted(1)), "insert_in", {}, "second_insert", Weight.REFUSE),
        (
            her(cow(pregnancy=PregnancyFinding.PREGNANT, pregnancy_checked_on=date(2027, 5, 20))),
            "ai",
            {},
            "found_pregnant",
            Weight.REFUSE,
        ),
        (her(), "gnrh", {"group": "heifers"}, "wrong_group", Weight.WARN),
        (her(hold="lame"), "gnrh", {}, "hold", Weight.WARN),
        (her(acts=(("gnrh", inserted(0.02)),)), "gnrh", {}, "already_done", Weight.WARN),
        (her(), "insert_out", {}, "insert_never_in", Weight.WARN),
        (her(insert_since=inserted(7)), "insert_out", {"found": False}, "insert_lost", Weight.WARN),
        (her(cow(days=18)), "gnrh", {}, "calved_too_lately", Weight.WARN),
        (her(cow(days=42)), "ai", {}, "calved_too_lately", Weight.WARN),
        (her(is_here=False), "gnrh", {}, "left_herd", Weight.WARN),
        (her(cow(sire="B12")), "ai", {"sire": "b12"}, "own_father", Weight.WARN),
        (her(), "ai", {"sire": "B12", "straws": 0}, "no_straw", Weight.WARN),
        (her(assigned=("A1", "A2")), "ai", {"sire": "B12"}, "other_sire", Weight.WARN),
        (her(insert_since=AT - timedelta(days=4)), LEAVES, {}, "leaves_with_insert", Weight.REFUSE),
        (her(), "gnrh", {"expires_on": date(2027, 5, 21)}, "expired", Weight.WARN),
        (
            her(heifer(), progestin_ended=inserted(3), progestin_days=14),
            "ai",
            {},
            "first_heat_after_progestin",
            Weight.WARN,
        ),
        (
            her(withdrawals=(RunningWithdrawal("cloprostenol", ON, ON + timedelta(days=1)),)),
            LEAVES,
            {},
            "withdrawal",
            Weight.REFUSE,
        ),
        (
            her(withdrawals=(RunningWithdrawal("GnRH", ON, None),)),
            LEAVES,
            {},
            "withdrawal_not_noted",
            Weight.WARN,
        ),
        (her(), ABORTS, {}, "not_bred", Weight.WARN),
        (her(served_at=inserted(90)), ABORTS, {}, "abortion", Weight.WARN),
        (her(heifer()), WEANS, {}, "not_calved", Weight.WARN),
        (her(acts=((WEANS, inserted(30)),)), WEANS, {}, "weaned_before", Weight.WARN),
        # modified-live at least 30 days before breeding: the figure's source beside it
        (
            her(),
            VACCINATES,
            {"modified_live": True, "first_ai_on": ON + timedelta(days=29)},
            "vaccine_near_breeding",
            Weight.WARN,
        ),
        (
            her(cow(pregnancy=PregnancyFinding.PREGNANT, pregnancy_checked_on=ON)),
            VACCINATES,
            {"modified_live": True},
            "vaccine_in_pregnancy",
            Weight.WARN,
        ),
    ],
)
def test_each_rule_speaks_where_it_should(who, do, said, rule, weight):
    found = {f.rule: f for f in flags(who, do, **said)}
    assert rule in found
    assert found[rule].weight is weight
    assert found[rule].text
    assert found[rule].now, "after the act it says what to do"


@pytest.mark.parametrize(
    ("who", "do", "said"),
    [
        # inseminated four days before: nothing a PGF could end has been made (5 days held)
        (
            her(cow(exposure=Exposure(ExposureKind.AI, date(2027, 5, 18), date(2027, 5, 18)))),
            "pgf",
            {},
        ),
        (her(heifer()), "mga_start", {}),
        (her(insert_since=inserted(7)), "insert_out", {}),
        # 7 days of insert is no long progestin
        (her(progestin_ended=inserted(2), progestin_days=7), "ai", {}),
        # the heat to pass over is over after ten days
        (her(heifer(), progestin_ended=inserted(17), progestin_days=14), "ai", {}),
        (her(withdrawals=(RunningWithdrawal("GnRH", ON, ON),)), LEAVES, {}),
        (her(), "ai", {"sire": "B12", "straws": 1}),
        (her(), "ai", {"sire": "B12", "straws": None}),  # no stock is kept
        (her(acts=(("gnrh", inserted(7)),)), "gnrh", {}),
        (her(), WEANS, {}),
        # weaned before she calved last: another calf
        (her(cow(days=10), acts=((WEANS, inserted(200)),)), WEANS, {}),
        (her(), VACCINATES, {"modified_live": False, "first_ai_on": ON}),
        (her(), VACCINATES, {"modified_live": True, "first_ai_on": ON + timedelta(days=30)}),
    ],
)
def test_rules_are_silent_where_they_should_be(who, do, said):
    assert rules(who, do, **said) == set()


def line(phase, early_h, late_h, **more):
    window = (AT + timedelta(hours=early_h), AT + timedelta(hours=late_h))
    return FemaleStep("x", "pgf", phase, AT, window, **more)


def test_too_late_is_said_in_hours_with_her_window():
    (flag,) = flags(her(), "pgf", step=line(Phase.BEYOND, -12, -3))
    assert flag.rule == "outside_window"
    assert "3 h too late" in flag.text
    assert "Sat 22 May 02:00 to Sat 22 May 11:00" in flag.text


def test_inside_the_window_nothing_is_said():
    assert rules(her(), "pgf", step=line(Phase.DUE, -1, 1)) == set()


def test_a_step_recorded_before_is_named_with_its_time():
    done = Act("pgf", AT - timedelta(hours=30))
    (flag,) = flags(her(), "pgf", step=line(Phase.DONE, -1, 1, done=done))
    assert flag.rule == "already_done"
    assert "Fri 21 May 08:00" in flag.text


@pytest.mark.parametrize(
    ("since_h", "ahead_h", "is_said"), [(8.0, 0.0, False), (7.2, 0.8, False), (0.2, 7.8, True)]
)
def test_a_dose_the_plan_repeats_in_eight_hours_is_no_double_entry(since_h, ahead_h, is_said):
    # the 5-day plan gives PGF twice, about 8 h apart (Bridges 2008); a line some minutes after the
    # first dose, long before the second is due, is the first entered twice
    given = replace(her(), acts=(("pgf", AT - timedelta(hours=since_h)),))
    step = replace(line(Phase.DUE, -12, 12), at=AT + timedelta(hours=ahead_h))
    assert ("already_done" in rules(given, "pgf", step=step)) is is_said


def test_what_is_refused_comes_first():
    who = replace(her(cow(exposure=Exposure(ExposureKind.BULL, date(2027, 5, 1)))), hold="lame")
    found = flags(who, "pgf", group="heifers")
    assert found[0].weight is Weight.REFUSE
    assert is_refused(found)
    assert not is_refused(found[1:])

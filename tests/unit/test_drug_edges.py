"""Drugs, residues and pregnancies where a slip would say the wrong thing of one female.

Days are counted by hand beside each test; what a drug does to whom is of the label texts held.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from herds import LIBRARY, cow, cows, heifer, season
from sunup.planning.females_now import FemaleNow, Given
from sunup.planning.readiness import Dates, ReadinessFigures, assess
from sunup.planning.warning_rules import find_flags
from sunup.planning.warnings import LEAVES, Her, Intent, RunningWithdrawal, WarningFigures, Weight
from sunup.reports.calendar_file import render_calendar

FIGURES = WarningFigures.of(LIBRARY)
DENVER = ZoneInfo("America/Denver")
AT = datetime(2027, 5, 22, 20, tzinfo=UTC)  # 14:00 in Denver
ON = date(2027, 5, 22)
NO_PRESCRIBER = "Not yet authorised: no prescriber named."


def her(facts=None, **known):
    facts = facts or cow("2001")
    return Her(facts=facts, group=facts.group, **known)


def flags(who, do, **said):
    found = find_flags(who, Intent(do=do, at=AT, zone=DENVER, **said), FIGURES)
    return {flag.rule: flag for flag in found}


@pytest.mark.parametrize("turn", [1, -1])
def test_of_two_withdrawals_the_one_that_ends_last_is_told(turn):
    """22 May and 28 days is 19 June, a Saturday: 9 days to the end of May, 19 in June."""
    short = RunningWithdrawal("GnRH", ON, date(2027, 5, 23))
    long = RunningWithdrawal("oxytetracycline", ON, date(2027, 6, 19))
    told = flags(her(withdrawals=(short, long)[::turn]), LEAVES)["withdrawal"]
    assert told.weight is Weight.REFUSE
    assert "oxytetracycline" in told.text
    assert "Sat 19 Jun" in told.text


def given(at, days):
    return Given(
        at=at,
        what="gnrh",
        active="",
        ml=2.0,
        share=1.0,
        lot="",
        expires_on=None,
        withdrawal_days=days,
        site="",
        by="",
        event="e",
    )


@pytest.mark.parametrize(
    ("at", "days", "ends"),
    [
        (AT, 1.5, date(2027, 5, 24)),  # 36 h after 14:00 is 02:00 on the 24th
        (AT, 0.5, date(2027, 5, 23)),  # 12 h after 14:00 is 02:00 on the 23rd
        (AT, 1.0, date(2027, 5, 23)),
        (AT, 0.0, date(2027, 5, 22)),
        (AT, None, None),
        # 22:30 in Denver (UTC - 6 h in summer) is the next day in UTC: the ranch's day counts
        (datetime(2027, 5, 23, 4, 30, tzinfo=UTC), 1.0, date(2027, 5, 23)),
    ],
)
def test_a_part_day_of_withdrawal_is_a_whole_day_more(at, days, ends):
    female = FemaleNow("x", cow("2001"), "cows", given=(given(at, days),))
    (told,) = female.withdrawals(DENVER)
    assert (told.given_on, told.ends_on) == (ON, ends)


@pytest.mark.parametrize("do", ["mga_start", "mga_end"])
def test_melengestrol_is_refused_to_cows_first_day_and_last(do):
    """21 CFR 558.342: for heifers."""
    assert flags(her(), do)["melengestrol_cow"].weight is Weight.REFUSE
    assert flags(her(heifer()), do) == {}


@pytest.mark.parametrize("do", ["gnrh", "pgf", "insert_in"])
def test_calved_too_lately_is_told_at_the_insert_as_at_the_injections(do):
    """Calved 15 days before, by hand: 18 days before 25 May is 7 May; 22 - 7 = 15."""
    told = flags(her(cow(days=18)), do)["calved_too_lately"]
    assert told.weight is Weight.WARN
    assert "15 days" in told.text


def test_a_timed_insemination_passes_no_heat_over():
    """The heat after long progestin is passed over; a fixed time is on no heat."""
    after_long = her(heifer(), progestin_ended=AT - timedelta(days=3), progestin_days=14)
    assert "first_heat_after_progestin" in flags(after_long, "ai")
    assert flags(after_long, "ai", timed=True) == {}


@pytest.mark.parametrize("prescriber", [None, "the veterinarian"])
def test_gnrh_and_pgf_are_not_authorised_where_no_prescriber_is_named(prescriber):
    wishes = {"protocols": {"cows": "co_synch_insert7_cow"}, "prescriber": prescriber}
    schedule = season(cows(4), **wishes).groups[0].schedule
    marked = {step.id for step in schedule if NO_PRESCRIBER in step.flags}
    drugs = {"gnrh_1", "pgf", "gnrh_2"}  # of the published plan: GnRH, PGF, GnRH with the AI
    assert marked == (set() if prescriber else drugs)


def test_every_caution_of_a_dose_stands_in_the_calendar():
    """Words of our own go in; they must come out at each step that gives a drug, and no other."""
    plan = season(cows(4), protocols={"cows": "co_synch_insert7_cow"})
    group = plan.groups[0]
    steps = tuple(
        step
        if step.dose is None
        else replace(step, dose=replace(step.dose, cautions=(f"Gloves on, {step.id}; twice.",)))
        for step in group.schedule
    )
    raw = render_calendar(replace(plan, groups=(replace(group, schedule=steps),)))
    told = "\n".join(str(e.get("DESCRIPTION", "")) for e in Calendar.from_ical(raw).walk("VEVENT"))
    dosed = {step.id for step in steps if step.dose is not None}
    assert {"gnrh_1", "pgf", "gnrh_2"} <= dosed
    for step in steps:
        assert (f"Gloves on, {step.id}; twice." in told) == (step.id in dosed)


def test_a_cow_that_calved_on_her_due_date_is_not_held_as_still_to_calve():
    """Due and calved on 26 October, a month before today; the calf of the year before is none."""
    ai_on, today, due = date(2027, 5, 25), date(2026, 11, 25), date(2026, 10, 26)

    def rules(calved_on):
        female = cow(calved_on=calved_on, due_on=due)
        dates = Dates(ai_on - timedelta(days=10), ai_on, today=today)
        return {r.rule for r in assess(female, dates, ReadinessFigures(LIBRARY)).reasons}

    assert "due" not in rules(due)
    assert "due" in rules(date(2025, 10, 20))  # the calf of the year before

"""Whom a step, a list or a plan is for: heats of now and of then, pregnancies gone, late cows."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cow, cows, season, step_of
from sunup.planning.females_now import Check, FemaleNow
from sunup.planning.heat_flags import ProgestinTime, flag_heats
from sunup.planning.heats import HeatFigures, Sighting, find_heats
from sunup.planning.insemination_list import find_inseminations, of_half_day
from sunup.planning.insemination_times import TimeFigures, Timeliness
from sunup.planning.progress import Act, History, Phase, follow_group
from sunup.planning.season_now import SeasonNow
from sunup.planning.stock import Change, Item

DENVER = ZoneInfo("America/Denver")
NEAR_H = 84.0  # as shipped; ours: half a week
HEATS = HeatFigures.of(LIBRARY)
TAG = "2001"
NOW = datetime(2027, 5, 25, 23, tzinfo=UTC)
DAY = timedelta(days=1)


def phase_of(group, step, history, *, at):
    told = {TAG: history}
    progress = follow_group("cows", group.schedule, told, at=at, zone=DENVER, near_h=NEAR_H)
    (line,) = next(s for s in progress.steps if s.step.id == step).females
    return line.phase, line.why


def group_of(key):
    return season(cows(1), protocols={"cows": key}).groups[0]


def test_a_female_already_inseminated_is_not_called_for_the_pgf_of_her_group():
    """PGF ends a pregnancy (every label text held)."""
    group = group_of("co_synch_insert7_cow")
    pgf = step_of(group, "pgf").at_utc
    served = History(inseminated=(pgf - timedelta(days=2),))
    assert phase_of(group, "pgf", served, at=pgf) == (Phase.NOT_HERS, "already inseminated")
    assert phase_of(group, "pgf", History(), at=pgf)[0] is Phase.DUE


@pytest.mark.parametrize(
    ("after_pgf_h", "in_heat", "not_in_heat"),
    [
        (40, Phase.DUE, Phase.NOT_HERS),
        # 28 days before PGF on day 7 is 21 days before the first treatment: a cycle ago
        (-28 * 24, Phase.NOT_HERS, Phase.DUE),
        (None, Phase.NOT_HERS, Phase.DUE),
    ],
)
def test_a_heat_of_last_month_is_not_the_heat_after_pgf(after_pgf_h, in_heat, not_in_heat):
    """Split time: at 66 h those seen in heat; GnRH at 90 h for those not seen in heat."""
    group = group_of("split_insert7_cow_66_90")
    pgf = step_of(group, "pgf").at_utc
    heats = () if after_pgf_h is None else (pgf + timedelta(hours=after_pgf_h),)
    past = History(acts=(Act("pgf", pgf, step="pgf"),), heats=heats)
    assert phase_of(group, "ai_1", past, at=pgf + timedelta(hours=66))[0] is in_heat
    assert phase_of(group, "gnrh_2", past, at=pgf + timedelta(hours=90))[0] is not_in_heat


@pytest.mark.parametrize(("what", "counts"), [("standing", True), ("mucus", False)])
def test_mucus_alone_does_not_make_her_one_seen_in_heat(what, counts):
    """Standing is the sure sign of heat, mucus a secondary one (common practice)."""
    at = datetime(2027, 5, 24, 14, tzinfo=UTC)
    heats = find_heats((Sighting(at, what),), figures=HEATS)
    female = FemaleNow("x", cow(TAG), "cows", heats=tuple(heats))
    assert len(heats) == 1
    assert female.history().heats == ((at,) if counts else ())


@pytest.mark.parametrize(
    ("calved_on", "is_pregnant"), [(date(2027, 4, 1), False), (date(2026, 4, 1), True)]
)
def test_a_pregnancy_that_ended_in_a_calf_says_nothing_of_a_heat_after_it(calved_on, is_pregnant):
    """Found pregnant on 1 December; calved on 1 April after it, or not since the April before."""
    found = Check(datetime(2026, 12, 1, 18, tzinfo=UTC), "ultrasound", "pregnant", None, "e")
    seen = Sighting(datetime(2027, 5, 25, 14, tzinfo=UTC), "standing")
    heats = tuple(find_heats((seen,), figures=HEATS))
    facts = cow(TAG, calved_on=calved_on)
    female = FemaleNow("x", facts, "cows", checks=(found,), heats=heats)
    said = {f.key for f in flag_heats(heats, female.past(DENVER), figures=HEATS)}
    assert ("pregnant" in said) is is_pregnant


@pytest.mark.parametrize(
    ("zone", "local", "is_pregnant"),
    [
        ("America/Denver", "2027-04-01T20:30", False),  # 2 April in UTC
        ("America/Denver", "2027-04-02T07:00", True),
        ("Australia/Sydney", "2027-04-01T20:30", False),
        ("Australia/Sydney", "2027-04-02T07:00", True),  # 1 April in UTC
    ],
)
def test_a_finding_stands_before_or_after_her_calving_by_the_days_of_the_ranch(
    zone, local, is_pregnant
):
    """Found pregnant in the evening before she calved, or on the day of it. Calved on 2 April."""
    at = datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
    found = Check(at, "palpation", "pregnant", None, "e")
    now = at + timedelta(days=50)
    seen = Sighting(now - timedelta(hours=2), "standing")
    facts = cow(TAG, calved_on=date(2027, 4, 2))
    heats = tuple(find_heats((seen,), figures=HEATS))
    female = FemaleNow("x", facts, "cows", checks=(found,), heats=heats)
    ranch = SeasonNow("test ranch", ZoneInfo(zone), now, {"x": female}, NEAR_H)
    (line,) = find_inseminations(ranch, heat_figures=HEATS, time_figures=TimeFigures.of(LIBRARY))
    assert ("pregnant" in {flag.key for flag in line.flags}) is is_pregnant


@pytest.mark.parametrize(
    ("hours", "standing", "is_listed"),
    [(26, Timeliness.LATE, True), (44, Timeliness.TOO_LATE, False)],
)
def test_a_cow_past_her_time_stays_listed_while_a_straw_is_worth_it(hours, standing, is_listed):
    """Seen at 06:00 with nobody there since 18:00: onset is taken at midnight, due that evening.

    Best until 24 h after onset (Dorsey 2011), worth a straw until 36 h (ours, from memory): at
    26 h, 02:00 next day, another half-day than hers, she is late; at 44 h, 20:00, too late.
    """
    midnight = datetime(2027, 5, 4, tzinfo=DENVER).astimezone(UTC)
    seen = Sighting(midnight + timedelta(hours=6), "standing")
    heats = tuple(find_heats((seen,), figures=HEATS))
    female = FemaleNow("x", cow(TAG), "cows", heats=heats)
    now = SeasonNow("test ranch", DENVER, midnight + timedelta(hours=hours), {"x": female}, NEAR_H)
    lines = find_inseminations(now, heat_figures=HEATS, time_figures=TimeFigures.of(LIBRARY))
    assert [line.standing for line in lines] == [standing]
    assert [line.tag for line in of_half_day(lines, now)] == ([TAG] if is_listed else [])


def test_the_list_of_a_half_day_is_by_hour_and_tag():
    """Morning/evening rule: seen at 06:00 and 07:00, due that evening; at 18:00, next morning."""
    females = {}
    for tag, seen in (("9", 6), ("7", 7), ("8", 18)):
        at = datetime(2027, 5, 4, seen, tzinfo=DENVER).astimezone(UTC)
        heats = tuple(find_heats((Sighting(at, "standing"),), figures=HEATS))
        females[tag] = FemaleNow(tag, cow(tag), "cows", heats=heats)
    for day, hour, tags in ((4, 18, ["7", "9"]), (5, 6, ["7", "9", "8"])):
        at = datetime(2027, 5, day, hour, tzinfo=DENVER).astimezone(UTC)
        now = SeasonNow("test ranch", DENVER, at, females, NEAR_H)
        lines = find_inseminations(now, heat_figures=HEATS, time_figures=TimeFigures.of(LIBRARY))
        # overnight the first two are past their best and still worth a straw
        assert [line.tag for line in of_half_day(lines, now)] == tags


@pytest.mark.parametrize(
    ("breeds", "is_turned_down"),
    [((), True), ((("Angus", 1.0),), True), ((("Nelore", 1.0),), False)],
)
def test_a_herd_of_unknown_breed_is_offered_no_plan_of_bos_indicus(breeds, is_turned_down):
    """Unknown is taken as taurus; Nelore is Bos indicus. The plans: those worked out in indicus."""
    (group,) = season(cows(20, breed_shares=breeds), region="BR").groups
    why = "worked out in Bos indicus cattle"
    turned_down = {one.protocol for one in group.rejected if one.reason == why}
    assert (
        {"eb9_bi", "eb11_bi", "bi_bee_synch2", "bi_pg5_cosynch"} <= turned_down
    ) is is_turned_down
    assert bool(turned_down) is is_turned_down


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        (40, {}),  # too late: worth a straw until 36 h after onset (ours, from memory)
        (11, {"holds": (("lame", None),)}),
        # the heat right after a long progestin is of low fertility: passed over (common practice)
        (11, {"progestins": (ProgestinTime("insert", NOW - 20 * DAY, NOW - 4 * DAY),)}),
    ],
    ids=["too late", "on hold", "first heat after progestin"],
)
def test_the_last_straw_is_not_promised_to_one_that_is_not_to_be_inseminated(hours, told):
    """One straw is left and two are in heat; only the second may be inseminated."""

    def in_heat(tag, hours, **told):
        seen = Sighting(NOW - timedelta(hours=hours), "standing")
        heats = tuple(find_heats((seen,), figures=HEATS))
        return FemaleNow(tag, cow(tag), "cows", heats=heats, assigned=("A1",), **told)

    females = {"2001": in_heat("2001", hours, **told), "2002": in_heat("2002", 10)}
    bought = Change(Item("semen", "A1", semen="conventional"), NOW - 30 * DAY, 1, "bought")
    now = SeasonNow("test ranch", DENVER, NOW, females, NEAR_H, changes=(bought,))
    lines = find_inseminations(now, heat_figures=HEATS, time_figures=TimeFigures.of(LIBRARY))
    assert [line.tag for line in lines] == ["2001", "2002"]
    assert [line.straw.takes_from is not None for line in lines] == [False, True]

"""Hours across changes of clocks.

Sources: worked cases by hand in ``authorities/clock_changes`` (rules of the IANA zone database; for
the United States the Energy Policy Act of 2005, section 110), and the standard library's zoneinfo
as an independent account of the same rules. Instants are exact: no tolerance.
"""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from herds import clashes_of, cows, heifers, season, step_of
from sunup.base.hours import (
    UnknownZoneError,
    add_hours,
    at_local,
    find_zone,
    hours_between,
    is_in_gap,
    is_repeated,
    same_clock,
    to_local,
)

CASES = tomllib.loads(
    (Path(__file__).parents[2] / "authorities/clock_changes/cases.toml").read_text("utf-8")
)


def name(case):
    return f"{case['zone'].rpartition('/')[2]}-{case.get('day') or case['start'].date()}"


def minute_before(clock):
    return (datetime.combine(date(2000, 1, 2), clock) - timedelta(minutes=1)).time()


def minute_after(clock):
    return (datetime.combine(date(2000, 1, 2), clock) + timedelta(minutes=1)).time()


@pytest.mark.parametrize("case", CASES["elapsed"], ids=name)
def test_elapsed_hours_end_at_the_worked_wall_time(case):
    ended = to_local(add_hours(case["start"], case["hours"]), ZoneInfo(case["zone"]))
    assert case["end"].isoformat() == ended.isoformat()


@pytest.mark.parametrize("case", CASES["elapsed"], ids=name)
def test_hours_between_the_worked_instants_are_the_hours_added(case):
    assert case["hours"] == hours_between(case["start"], case["end"])


@pytest.mark.parametrize("case", CASES["elapsed"], ids=name)
def test_the_case_sees_through_wall_clock_arithmetic(case):
    """The mistake the rule guards against: an aware datetime plus a timedelta moves the wall."""
    zone = ZoneInfo(case["zone"])
    wall = case["start"].astimezone(zone) + timedelta(hours=case["hours"])
    assert case["wall_arithmetic"].isoformat() == wall.isoformat()


@pytest.mark.parametrize("case", CASES["skipped"], ids=name)
def test_a_skipped_wall_time_moves_forward_by_the_gap_and_says_so(case):
    zone = ZoneInfo(case["zone"])
    for clock, becomes in zip((case["first"], case["last"]), case["becomes"], strict=True):
        assert is_in_gap(case["day"], clock, zone)
        found = at_local(case["day"], clock, zone)
        assert becomes == to_local(found.utc, zone).time()
        assert found.notice is not None
        assert f"{clock:%H:%M} does not exist" in found.notice.what


@pytest.mark.parametrize("case", CASES["skipped"], ids=name)
def test_the_minutes_beside_a_gap_are_ordinary(case):
    zone = ZoneInfo(case["zone"])
    for clock in (minute_before(case["first"]), minute_after(case["last"])):
        assert not is_in_gap(case["day"], clock, zone)
        assert at_local(case["day"], clock, zone).notice is None


@pytest.mark.parametrize("case", CASES["repeated"], ids=name)
def test_a_repeated_wall_time_keeps_its_fold_and_says_so(case):
    zone = ZoneInfo(case["zone"])
    for clock in (case["first"], case["last"]):
        assert is_repeated(case["day"], clock, zone)
        both = [at_local(case["day"], clock.replace(fold=fold), zone) for fold in (0, 1)]
        shown = [to_local(found.utc, zone) for found in both]
        assert case["offsets_h"] == [s.utcoffset() / timedelta(hours=1) for s in shown]
        assert [clock, clock] == [s.time().replace(fold=0) for s in shown]
        assert hours_between(both[0].utc, both[1].utc) == 1
        assert [found.notice.fix.removeprefix("The ").partition(" ")[0] for found in both] == [
            "first",
            "second",
        ]


@pytest.mark.parametrize("case", CASES["repeated"], ids=name)
def test_the_minutes_beside_a_repeated_hour_are_ordinary(case):
    zone = ZoneInfo(case["zone"])
    for clock in (minute_before(case["first"]), minute_after(case["last"])):
        assert not is_repeated(case["day"], clock, zone)
        assert at_local(case["day"], clock, zone).notice is None


@pytest.mark.parametrize(
    "zone", ["America/Chicago", "Europe/London", "Australia/Sydney", "America/Sao_Paulo"]
)
def test_every_hour_of_a_year_and_back_agrees_with_zoneinfo(zone):
    zone = ZoneInfo(zone)
    for hour in range(365 * 24):
        utc = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hour)
        wall = utc.astimezone(zone)
        clock = wall.time().replace(fold=wall.fold)
        assert utc == at_local(wall.date(), clock, zone).utc


def test_sao_paulo_has_no_change_of_clocks_in_two_years():
    zone = find_zone("America/Sao_Paulo")
    days = [date(2026, 1, 1) + timedelta(days=d) for d in range(730)]
    assert {timedelta(hours=-3)} == {datetime.combine(d, time(12), zone).utcoffset() for d in days}


def test_day_seven_same_time_keeps_the_wall_clock_across_a_change():
    zone = find_zone("America/Chicago")
    start = at_local(date(2026, 3, 3), time(7), zone).utc
    then = same_clock(start, 7, zone).utc
    assert time(7) == to_local(then, zone).time()
    assert hours_between(start, then) == 7 * 24 - 1  # one hour was skipped that week


@pytest.mark.parametrize("wrong", ["Denver", "MST7MDT8", "", "America", "../etc/passwd", "a" * 300])
def test_a_name_that_is_no_zone_is_refused_in_words(wrong):
    with pytest.raises(UnknownZoneError, match="IANA"):
        find_zone(wrong)


# Through the planner. The PGF falls before the change of clocks and the insemination after it.
# The window in hours is the library's; the check is made here with zoneinfo and UTC alone.
@pytest.mark.parametrize(
    ("zone", "change_on", "first_ai_on"),
    [
        ("America/Chicago", date(2027, 3, 14), date(2027, 3, 15)),
        ("America/Chicago", date(2027, 11, 7), date(2027, 11, 8)),
        ("Europe/London", date(2027, 3, 28), date(2027, 3, 29)),
        ("Europe/London", date(2027, 10, 31), date(2027, 11, 1)),
        ("Australia/Sydney", date(2027, 4, 4), date(2027, 4, 5)),
        ("Australia/Sydney", date(2027, 10, 3), date(2027, 10, 4)),
    ],
)
@pytest.mark.parametrize("protocol", ["co_synch_insert7_cow", "uk_insert7_pg24"])
def test_a_plan_across_a_change_keeps_hard_hours_and_soft_clocks(
    zone, change_on, first_ai_on, protocol
):
    plan = season(
        cows(60, ai_on=first_ai_on),
        zone=zone,
        first_ai_on=first_ai_on,
        protocols={"cows": protocol},
        region="UK" if zone == "Europe/London" else "US",
    )
    zone = ZoneInfo(zone)
    (group,) = plan.groups
    assert protocol == group.chosen
    assert not clashes_of(plan, "outside_hours")
    first = min(group.schedule, key=lambda s: s.at_utc)
    ai = step_of(group, "ai")
    pgf = step_of(group, ai.after_step)
    assert pgf.at_utc.astimezone(zone).date() < change_on <= ai.at_utc.astimezone(zone).date()
    assert first_ai_on == ai.at_utc.astimezone(zone).date()
    elapsed_h = (ai.at_utc - pgf.at_utc) / timedelta(hours=1)
    wall_h = (
        ai.at_utc.astimezone(zone).replace(tzinfo=None)
        - pgf.at_utc.astimezone(zone).replace(tzinfo=None)
    ) / timedelta(hours=1)
    assert abs(wall_h - elapsed_h) == 1
    assert ai.hours_after == elapsed_h
    assert ai.window_utc[0] <= ai.at_utc <= ai.window_utc[1]
    zero = first.at_utc.astimezone(zone).replace(tzinfo=None)
    for step in group.schedule:
        if step.hard:
            continue
        at = step.at_utc.astimezone(zone).replace(tzinfo=None)
        days = round((at - zero) / timedelta(days=1))
        bend_h = abs((at - zero - timedelta(days=days)) / timedelta(hours=1))
        assert bend_h <= 4, "the 4 hours either side of soft steps are common practice, from memory"


def test_heifers_across_the_spring_change_are_inseminated_by_elapsed_hours():
    """54 h after PGF is 54 h, though the clock on the wall says 55 (United States, 2027)."""
    plan = season(
        heifers(20, ai_on=date(2027, 3, 15)),
        zone="America/Chicago",
        first_ai_on=date(2027, 3, 15),
        protocols={"heifers": "co_synch_insert7_heifer"},
    )
    (group,) = plan.groups
    ai, pgf = step_of(group, "ai"), step_of(group, "pgf")
    assert 52 <= (ai.at_utc - pgf.at_utc) / timedelta(hours=1) <= 56

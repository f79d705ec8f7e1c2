"""What stands on a sheet: times, order, half-days, which jobs get one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from forecast_by_hand import with_forecast
from hypothesis import given
from hypothesis import strategies as st

from herds import AI_ON, cow, cows, season
from sunup.planning.request import Sire
from sunup.records.female import Exposure, ExposureKind
from sunup.reports.day_sheets import (
    Kind,
    bull_line,
    day_sheets,
    in_order,
    planned_times,
    step_details,
    time_words,
)
from sunup.reports.packet_lists import vet_page
from sunup.reports.packet_sheets import expected_words, sheet_values

DENVER = ZoneInfo("America/Denver")
START = datetime(2027, 5, 24, 14, tzinfo=UTC)


def test_twenty_five_an_hour_is_one_each_two_minutes_and_24_seconds():
    """60 minutes over 25 head; 150 head take six hours."""
    times = planned_times(START, START + timedelta(hours=6), n=150, head=150)
    assert times[0] == START
    assert times[1] - times[0] == timedelta(minutes=2, seconds=24)
    assert times[25] - START == timedelta(hours=1)
    assert times[149] < START + timedelta(hours=6)


@given(n=st.integers(0, 300), head=st.integers(0, 300), hours=st.floats(0, 24))
def test_nobody_is_due_before_the_start_or_after_the_end(n, head, hours):
    end = START + timedelta(hours=hours)
    times = planned_times(START, end, n=n, head=head)
    assert len(times) == n
    assert all(START <= at <= end for at in times)
    assert list(times) == sorted(times)


def test_hours_across_the_change_of_clocks_are_elapsed(plan):
    """8 March 2026 in Denver: at 02:00 clocks go to 03:00, so two hours from 01:00 is 04:00."""
    group = plan.groups[0]
    at = datetime(2026, 3, 8, 8, tzinfo=UTC)  # 01:00 in Denver, still UTC-7
    step = replace(group.schedule[0], at_utc=at, ends_utc=at + timedelta(hours=2))
    group = replace(group, schedule=(step,))
    rows = [r for s in day_sheets(replace(plan, groups=(group,)), DENVER) for r in s.females]
    assert rows[0].clock == "01:00"
    assert rows[75].clock == "03:00"  # half of 150 head, one elapsed hour
    assert not [row for row in rows if row.clock.startswith("02")]


def sheets_of(plan, kind):
    return [sheet for sheet in day_sheets(plan, DENVER) if sheet.kind is kind]


def test_a_watch_has_a_row_for_each_look_and_none_as_it_ends_in_the_timed_ai(watched):
    """Three looks a day are the usual way (part read); PGF and patches on Sunday from 06:00."""
    (sheet,) = sheets_of(watched, Kind.WATCH)
    looks = [f"{row.day} {row.part}" for row in sheet.times]
    assert looks[:3] == ["Sun 23 May 12:00", "Sun 23 May 18:00", "Mon 24 May 06:00"]
    assert looks[-1] == "Tue 25 May 18:00"
    assert len(looks) == 8


def test_there_is_a_row_for_each_female_that_may_be_seen_in_heat(watched):
    """60 cows at 24 rows are 3 sheets; nobody can know before how many will be seen."""
    sheets = sheets_of(watched, Kind.IN_HEAT)
    assert [(s.number, s.of, s.expected) for s in sheets] == [(n, 3, 60) for n in (1, 2, 3)]
    assert time_words(sheets[0], DENVER) == (
        "Inseminations: Mon 24 May 18:00; Tue 25 May 06:00 and 18:00; Wed 26 May 06:00"
    )
    assert "as many as are seen in heat, at most 60 head" in expected_words(sheets[0])


def test_with_a_forecast_there_are_rows_for_those_expected_and_a_sheet_to_spare(watched):
    group = with_forecast(watched.groups[0], on_heat=20.4, on_time=39.6)
    sheets = sheets_of(replace(watched, groups=(group,)), Kind.IN_HEAT)
    assert len(sheets) == 2
    assert "at most 60 head, about 20 by the forecast" in expected_words(sheets[0])


def test_a_watch_that_inseminates_nobody_has_room_for_tags_and_no_rows_of_ai(plan):
    """The watch of the heifers only writes heats down."""
    assert sheets_of(plan, Kind.WATCH)
    assert not sheets_of(plan, Kind.IN_HEAT)


def test_sheets_follow_treatment_order_not_tag_order(plan):
    group = plan.groups[0]
    turned = replace(plan, groups=(replace(group, order=group.order[::-1]),))
    first = day_sheets(turned, DENVER)[0]
    assert [row.tag for row in first.females[:2]] == ["1150", "1149"]


def test_a_treated_female_missing_from_the_order_comes_last_and_is_not_lost(plan):
    group = replace(plan.groups[0], order=plan.groups[0].order[1:])
    tags = [female.tag for female in in_order(plan.females, group)]
    assert len(tags) == 150
    assert tags[-1] == "1001"


def test_each_kind_of_work_gets_its_kind_of_sheet(plan):
    kinds = {(sheet.group.name, sheet.title): sheet.kind for sheet in day_sheets(plan, DENVER)}
    assert kinds["Heifers", "Watch for heat"] is Kind.WATCH
    assert kinds["Heifers", "Start feeding melengestrol"] is Kind.FEEDING
    assert kinds["Cows", "Bulls in"] is Kind.JOB
    assert kinds["Cows", "PGF and insert out"] is Kind.TREATMENT


def test_fourteen_days_of_feeding_have_fourteen_rows(plan):
    """2 May to 15 May, first and last day in."""
    sheets = [sheet for sheet in day_sheets(plan, DENVER) if sheet.kind is Kind.FEEDING]
    assert sum(len(sheet.times) for sheet in sheets) == 14


def test_sheets_come_by_time(plan):
    starts = [sheet.steps[0].at_utc for sheet in day_sheets(plan, DENVER)]
    assert starts == sorted(starts)


def test_sheet_ids_are_all_different(plan):
    ids = [sheet.id for sheet in day_sheets(plan, DENVER)]
    assert len(set(ids)) == len(ids)


def test_a_group_of_which_nobody_is_treated_has_no_sheet(odd_plan):
    names = {sheet.group.name for sheet in day_sheets(odd_plan, DENVER)}
    assert names == {odd_plan.groups[1].name}


def marked_herd():
    """One with retained membranes, one exposed to a bull: the first is treated, the second held."""
    since = AI_ON - timedelta(days=40)
    bull = Exposure(ExposureKind.BULL, since, since + timedelta(days=20))
    return [*cows(20), cow("901", retained_membranes=True), cow("902", exposure=bull)]


def test_a_female_the_veterinarian_is_to_see_is_marked_on_every_sheet():
    plan = season(marked_herd(), protocols={"cows": "co_synch_insert7_cow"})
    rows = [r for s in day_sheets(plan, DENVER) for r in s.females if r.tag == "901"]
    assert [row.vet for row in rows] == ["uterus"] * 3
    values = [sheet_values(plan, s, DENVER) for s in day_sheets(plan, DENVER)]
    told = [any("Marked Vet" in line for line in v["for_some"]) for v in values]
    assert told == [any(f[2] == "901" for f in v["females"]) for v in values]
    assert not any(v["has_skip"] for v in values)


def test_the_page_for_the_veterinarian_names_whom_to_see_and_whom_to_check_again():
    plan = season(marked_herd(), protocols={"cows": "co_synch_insert7_cow"})
    first, second = vet_page(plan, DENVER)["to_see"]
    assert (first["tag"], first["stands"]) == ("901", "to be treated")
    assert "have the uterus examined" in first["why"]
    assert (second["tag"], second["stands"]) == ("902", "hold")
    assert "check on or after" in second["why"]


def test_the_bulls_planned_stand_on_the_sheets_of_ai_and_one_alone_in_every_row():
    """One bull needs no pencil; of two nobody knows who gets which before the day."""
    timed = {"protocols": {"cows": "co_synch_insert7_cow"}}
    for sires, line, bull in (
        (("A27",), "Bull: A27 (20 straws) for the whole group.", "A27"),
        (("A31", "H12"), "Bulls: A31 (10 straws), H12 (10 straws) for the whole group; write", ""),
        ((), "Bull: to choose (20 straws)", ""),
    ):
        wanted = tuple(Sire("cows", code) for code in sires)
        plan = season(cows(20), sires=wanted, **timed)
        sheets = day_sheets(plan, DENVER)
        assert [bull_line(s).startswith(line) for s in sheets] == [
            s.title.startswith("Inseminate") for s in sheets
        ]
        assert {sheet_values(plan, s, DENVER)["bull"] for s in sheets} == {bull}


def timed_ai(plan):
    return [s for s in day_sheets(plan, DENVER) if s.title.startswith("Inseminate")]


def test_a_timed_ai_of_the_rest_says_at_most_and_where_forecast_about_how_many(watched):
    """60 cows at 25 an hour take 2.4 h; 25 of them, one hour."""
    plain = timed_ai(watched)
    assert {expected_words(s) for s in plain} == {"at most 60 head"}
    assert "at most 60 straws" in step_details(plain[0].steps[0])
    group = with_forecast(watched.groups[0], on_heat=35.0, on_time=25.0)
    told = timed_ai(replace(watched, groups=(group,)))
    assert {expected_words(s) for s in told} == {"at most 60 head, about 25 by the forecast"}
    start = told[0].steps[0].at_utc
    assert told[0].ends_utc - start == timedelta(hours=1)
    assert [f.place for s in told for f in s.females] == list(range(1, 61))
    assert max(f.at_utc for s in told for f in s.females) < start + timedelta(hours=1)
    assert "if about 25 come" in time_words(told[0], DENVER)

"""When heats are looked for and when those seen are inseminated.

Morning/evening rule: seen in the morning, inseminated that evening; seen in the evening, the next
morning (Michigan State, part read).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cows, heifers, season, step_of
from sunup.base.hours import to_local
from sunup.physiology.checks import check_hours
from sunup.planning.heat_sessions import look_times
from sunup.planning.renewal import renew
from sunup.planning.schedule import inseminate_rule
from sunup.protocols.protocol import Inseminate

DENVER = ZoneInfo("America/Denver")
WATCHED = {"cows": "select_synch_insert_tai_cow"}  # watched 72 h from PGF, timed AI at 78 h


def clocks(times):
    return [f"{to_local(at, DENVER):%a %H:%M}" for at in times]


def looks_of(plan):
    (group,) = plan.groups
    watch = next(s for s in group.schedule if s.do == "watch")
    return look_times(watch, group.schedule, DENVER)


def test_heats_are_looked_for_three_times_a_day_but_not_at_the_chute_nor_as_the_watch_ends():
    """PGF Sunday 06:00; the timed AI of Wednesday takes those then in heat."""
    plan = season(cows(40), protocols=WATCHED)
    days = ("Mon", "Tue")
    full = [f"{day} {clock}" for day in days for clock in ("06:00", "12:00", "18:00")]
    assert clocks(looks_of(plan)) == ["Sun 12:00", "Sun 18:00", *full]


def test_the_look_at_the_end_of_a_watch_counts_where_no_timed_ai_follows():
    plan = season(cows(40), protocols={"cows": "select_synch_insert"})
    assert clocks(looks_of(plan))[-1] == "Wed 06:00"


@pytest.mark.parametrize("per_day", [1, 2, 3, 4, 6])
def test_looks_are_at_the_hours_the_forecast_counts_with(per_day):
    plan = season(cows(40), protocols=WATCHED, watches={"cows": f"{per_day}x30"})
    monday = [at for at in looks_of(plan) if to_local(at, DENVER).date() == date(2027, 5, 24)]
    hours = [to_local(at, DENVER).hour + to_local(at, DENVER).minute / 60 for at in monday]
    assert hours == pytest.approx(check_hours(per_day), abs=1 / 60)


def test_each_half_day_has_its_session_from_the_first_heats_on():
    """The insert comes out with the PGF: no heat is looked for in the next 36 h (from memory)."""
    (group,) = season(cows(40), protocols=WATCHED).groups
    assert clocks(s.at_utc for s in group.sessions) == [
        "Mon 18:00",
        "Tue 06:00",
        "Tue 18:00",
        "Wed 06:00",
    ]
    assert {(s.head, s.who) for s in group.sessions} == {(40, "those seen in heat")}


def test_who_is_seen_before_the_first_session_is_told_apart():
    """Looked for from Sunday noon; those of Monday morning are the first with a session."""
    plan = season(cows(40), protocols=WATCHED)
    (group,) = plan.groups
    watch = next(s for s in group.schedule if s.do == "watch")
    assert "seen before Mon 24 May 06:00" in watch.note
    assert "due before the first one" in watch.note
    assert inseminate_rule(watch) is Inseminate.AM_PM
    (plain,) = season(cows(40), protocols={"cows": "pg1_all"}).groups
    assert "has no session" not in step_of(plain, "watch").note


def test_without_an_insert_heats_may_be_seen_from_the_first_half_day_on():
    (group,) = season(cows(40), protocols={"cows": "pg1_all"}).groups
    watch = step_of(group, "watch")
    first = group.sessions[0].at_utc
    assert to_local(first, DENVER).date() <= to_local(watch.at_utc, DENVER).date() + timedelta(1)


def test_sessions_stay_inside_the_working_hours():
    wishes = {"open_at": time(7), "close_at": time(17)}
    (group,) = season(cows(40), protocols=WATCHED, **wishes).groups
    assert {f"{to_local(s.at_utc, DENVER):%H:%M}" for s in group.sessions} == {"07:00", "17:00"}


def test_a_protocol_without_a_watch_has_no_session():
    (group,) = season(cows(40), protocols={"cows": "co_synch_insert7_cow"}).groups
    assert group.sessions == ()


def other_group(plan):
    return [c for c in plan.clashes if c.kind == "other_group"]


def test_a_session_at_the_time_of_another_groups_ai_is_a_clash():
    """Tuesday 18:00 the cows seen that morning come in; the heifers' AI lasts until after that."""
    herd = [*cows(170), *heifers(60)]
    plan = season(herd, protocols=WATCHED | {"heifers": "co_synch_insert7_heifer"})
    (clash,) = other_group(plan)
    assert clash.on == date(2027, 5, 25)
    assert "inseminate those seen in heat" in clash.text
    assert "18:00" in clash.text
    assert "not known before" in clash.fix


def test_too_many_for_a_session_is_a_capacity_clash():
    """400 cows over 4 sessions are 100 each: 4 h at 25 an hour, 2 h are left at 18:00."""
    plan = season(cows(400), protocols=WATCHED, chutes=1)
    told = [c for c in plan.clashes if c.kind == "capacity" and "seen in heat" in c.text]
    assert [("take 4.0 h; 2.0 h are there" in c.text) for c in told] == [True]


def test_sessions_keep_their_ids_as_the_plan_is_made_again_and_move_with_it():
    old = season(cows(40), protocols=WATCHED)
    later = season(cows(40), protocols=WATCHED, first_ai_on=date(2027, 5, 26))
    moved = replace(
        later,
        groups=tuple(
            replace(g, sessions=tuple(replace(s, uid=f"new-{s.uid}") for s in g.sessions))
            for g in later.groups
        ),
    )
    before, after = old.groups[0].sessions, renew(moved, old).groups[0].sessions
    assert [s.uid for s in after] == [s.uid for s in before]
    assert {s.sequence for s in after} == {1}
    assert [b.at_utc - a.at_utc for a, b in zip(before, after, strict=True)] == [timedelta(1)] * 4


def test_sessions_of_a_protocol_given_up_are_called_off_not_forgotten():
    old = season(cows(40), protocols=WATCHED)
    new = renew(season(cows(40), protocols={"cows": "co_synch_insert7_cow"}), old)
    assert [s.cancelled for s in new.groups[0].sessions] == [True] * 4
    assert not any("seen in heat" in line for line in new.changes)


def test_how_often_is_looked_is_the_protocols_own_where_it_says_so():
    assert LIBRARY.protocols["natural_heat"].step("watch").times_per_day == 2
    (group,) = season(cows(40), protocols={"cows": "natural_heat"}).groups
    assert step_of(group, "watch").looks == 2

"""The schedule follows what was done: hard steps by elapsed hours, soft steps by the clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import cows, season, step_of
from sunup.planning.progress import Act, History, Phase, follow_group, link_acts
from sunup.planning.schedule import slots

DENVER = ZoneInfo("America/Denver")
NEAR_H = 84.0  # as shipped; ours: half a week
TAGS = ("2001", "2002", "2003", "2004")
GNRH_AND_INSERT = (("gnrh", "gnrh_1"), ("insert_in", "in"))


def local(text):
    return datetime.fromisoformat(text).replace(tzinfo=DENVER).astimezone(UTC)


def group_of(key="co_synch_insert7_cow", n=4, **wishes):
    return season(cows(n), protocols={"cows": key}, **wishes).groups[0]


def follow(group, histories, at):
    told = {tag: histories.get(tag, History()) for tag in TAGS}
    return follow_group("cows", group.schedule, told, at=at, zone=DENVER, near_h=NEAR_H)


def line(progress, step, tag):
    group_step = next(s for s in progress.steps if s.step.id == step)
    return next(f for f in group_step.females if f.female == tag)


def acts(*pairs):
    return History(acts=tuple(Act(do, at, step=step) for do, step, at in pairs))


def test_before_anything_is_done_the_plan_stands():
    group = group_of()
    ai = step_of(group, "ai")
    progress = follow(group, {}, at=step_of(group, "gnrh_1").window_utc[0] - timedelta(days=2))
    assert line(progress, "ai", TAGS[0]).window == ai.window_utc
    for tag in TAGS:
        hers, pgf = line(progress, "ai", tag), line(progress, "pgf", tag)
        assert hers.phase is Phase.COMING
        assert hers.window[0] == pgf.at + timedelta(hours=60)  # each counts from her own turn
        assert ai.at_utc <= hers.at <= ai.ends_utc


def test_insemination_moves_with_the_actual_pgf_of_each_female():
    """63 h (60-66) after the PGF she got: published hours, sources in the protocol file."""
    group = group_of()
    pgf = step_of(group, "pgf")
    early, late = pgf.at_utc + timedelta(minutes=3), pgf.at_utc + timedelta(hours=3)
    histories = {"2001": acts(("pgf", "pgf", early)), "2002": acts(("pgf", "pgf", late))}
    progress = follow(group, histories, at=late + timedelta(minutes=1))
    for tag, given in (("2001", early), ("2002", late)):
        hers = line(progress, "ai", tag)
        assert hers.window[0] == given + timedelta(hours=60)
        assert hers.window[1] == given + timedelta(hours=66)
        assert hers.window[0] <= hers.at <= hers.window[1]
    untouched = line(progress, "pgf", "2003").at
    assert line(progress, "ai", "2003").window[0] == untouched + timedelta(hours=60)


def test_steps_by_day_keep_the_local_clock_of_her_own_first_treatment_across_a_clock_change():
    """Clocks in Denver go back on 1 Nov 2026 (zoneinfo): 7 days are then 169 elapsed hours."""
    group = group_of(first_ai_on=date(2026, 11, 3))
    zero = step_of(group, "gnrh_1")
    assert zero.at_utc < datetime(2026, 11, 1, 8, tzinfo=UTC) < step_of(group, "pgf").at_utc
    given = zero.at_utc + timedelta(hours=1)
    progress = follow(group, {"2001": acts(("gnrh", "gnrh_1", given))}, at=given)
    hers = line(progress, "pgf", "2001")
    middle = hers.window[0] + (hers.window[1] - hers.window[0]) / 2
    assert middle.astimezone(DENVER).time() == given.astimezone(DENVER).time()
    assert middle - given == timedelta(hours=7 * 24 + 1)


def test_a_first_treatment_a_day_late_moves_her_pgf_by_a_day():
    group = group_of()
    given = step_of(group, "gnrh_1").at_utc + timedelta(days=1)
    progress = follow(group, {"2001": acts(("gnrh", "gnrh_1", given))}, at=given)
    moved, other = line(progress, "pgf", "2001"), line(progress, "pgf", "2002")
    assert moved.at.date() - other.at.date() == timedelta(days=1)


def test_late_is_still_inside_and_beyond_is_not():
    group = group_of()
    pgf = step_of(group, "pgf")
    at = pgf.window_utc[1] - timedelta(minutes=1)
    hers = line(follow(group, {}, at=at), "pgf", "2001")
    assert (hers.phase, hers.is_late) == (Phase.DUE, True)
    after = line(follow(group, {}, at=pgf.window_utc[1] + timedelta(minutes=1)), "pgf", "2001")
    assert after.phase is Phase.BEYOND


def test_a_pgf_never_given_leaves_the_insemination_waiting():
    group = group_of()
    at = step_of(group, "ai").window_utc[0]
    hers = line(follow(group, {}, at=at), "ai", "2001")
    assert hers.phase is Phase.WAITS
    assert "PGF" in hers.why


def test_a_step_done_outside_its_window_says_by_how_much():
    group = group_of()
    closes = step_of(group, "pgf").window_utc[1]
    given = closes + timedelta(hours=5)
    hers = line(follow(group, {"2001": acts(("pgf", "pgf", given))}, at=given), "pgf", "2001")
    assert hers.phase is Phase.DONE
    assert hers.hours_off == pytest.approx(5.0)


def test_a_female_inseminated_on_heat_is_not_due_at_the_timed_insemination():
    group = group_of()
    ai = step_of(group, "ai")
    given = step_of(group, "pgf").at_utc
    served = ai.at_utc - timedelta(hours=14)
    past = History(acts=(Act("pgf", given, step="pgf"),), inseminated=(served,))
    hers = line(follow(group, {"2001": past}, at=ai.at_utc), "ai", "2001")
    assert (hers.phase, hers.why) == (Phase.NOT_HERS, "already inseminated")


def test_gnrh_for_those_not_in_heat_is_not_due_for_a_female_seen_in_heat():
    group = group_of("select_synch_insert_tai_cow")
    ai_steps = [s for s in group.schedule if s.who == "those not yet inseminated"]
    assert ai_steps, "the protocol names who is inseminated at the fixed time"
    step = ai_steps[0]
    pgf = step_of(group, "pgf").at_utc
    heat = pgf + timedelta(hours=40)
    seen = History(acts=(Act("pgf", pgf, step="pgf"),), heats=(heat,), inseminated=(heat,))
    unseen = acts(("pgf", "pgf", pgf))
    progress = follow(group, {"2001": seen, "2002": unseen}, at=step.at_utc)
    assert line(progress, step.id, "2001").phase is Phase.NOT_HERS
    assert line(progress, step.id, "2002").phase is Phase.DUE


def test_an_act_without_a_step_counts_for_the_nearest_of_its_kind():
    group = group_of()
    first, second = step_of(group, "gnrh_1"), step_of(group, "gnrh_2")
    given = [Act("gnrh", second.at_utc + timedelta(hours=2)), Act("gnrh", first.at_utc)]
    linked, extra = link_acts(given, group.schedule, near_h=NEAR_H)
    assert {k: a.at for k, a in linked.items()} == {
        "gnrh_1": first.at_utc,
        "gnrh_2": second.at_utc + timedelta(hours=2),
    }
    assert extra == ()


def test_a_second_dose_on_one_step_is_extra_and_the_first_in_time_counts():
    group = group_of()
    pgf = step_of(group, "pgf").at_utc
    again = Act("pgf", pgf + timedelta(hours=1), step="pgf")
    linked, extra = link_acts([again, Act("pgf", pgf, step="pgf")], group.schedule, near_h=NEAR_H)
    assert linked["pgf"].at == pgf
    assert extra == (again,)


def test_an_act_far_from_any_step_is_kept_as_extra():
    group = group_of()
    odd = Act("pgf", step_of(group, "pgf").at_utc + timedelta(days=20))
    linked, extra = link_acts([odd], group.schedule, near_h=NEAR_H)
    assert linked == {}
    assert extra == (odd,)


def test_what_is_recorded_later_is_not_seen_earlier():
    group = group_of()
    pgf = step_of(group, "pgf").at_utc
    hers = line(
        follow(group, {"2001": acts(("pgf", "pgf", pgf))}, at=pgf - timedelta(hours=1)),
        "pgf",
        "2001",
    )
    assert hers.phase is Phase.DUE


def line_at_ai(given):
    """Turns at the insemination of 174 cows given PGF as `given` says by place and turns."""
    group = season(cows(174), protocols={"cows": "co_synch_insert7_cow"}).groups[0]
    pgf, ai = step_of(group, "pgf"), step_of(group, "ai")
    turns = slots(pgf.at_utc, pgf.ends_utc, len(group.order))
    told = {tag: acts(("pgf", "pgf", given(place, turns))) for place, tag in enumerate(group.order)}
    at = max(history.acts[0].at for history in told.values())
    progress = follow_group("cows", group.schedule, told, at=at, zone=DENVER, near_h=NEAR_H)
    return ai, {tag: line(progress, "ai", tag) for tag in group.order}


def test_one_cow_given_pgf_late_is_inseminated_later_in_the_same_line():
    """Her 60 to 66 h open before the line of the others is through: nobody waits for her."""
    late = timedelta(hours=2)
    ai, lines = line_at_ai(lambda place, turns: turns[place] + (late if place == 60 else late * 0))
    assert max(hers.at for hers in lines.values()) <= ai.ends_utc
    turns = list(lines.values())
    hers = turns.pop(60)
    beside = min(turns, key=lambda other: abs(other.window[0] - hers.window[0]))
    assert abs(hers.at - beside.at) < timedelta(minutes=5)  # 2 h 24 for 60 cows, at 25 an hour
    assert hers.window[0] <= hers.at <= hers.window[1]


def test_a_line_treated_late_as_a_whole_is_inseminated_as_much_later():
    late = timedelta(minutes=50)
    ai, lines = line_at_ai(lambda place, turns: turns[place] + late)
    planned = slots(ai.at_utc, ai.ends_utc, len(lines))
    moved = [her.at - turn for her, turn in zip(lines.values(), planned, strict=True)]
    assert {round(one / timedelta(minutes=1)) for one in moved} == {50}


def test_a_line_written_down_at_one_minute_still_takes_its_time_at_the_insemination():
    ai, lines = line_at_ai(lambda _place, turns: turns[0])
    planned = slots(ai.at_utc, ai.ends_utc, len(lines))
    for hers, turn in zip(lines.values(), planned, strict=True):
        assert hers.at == min(turn, hers.window[1])  # at one minute, all windows close at one


def test_the_first_treatment_given_in_turn_is_off_for_nobody():
    """174 cows at 40 an hour: the last turn comes 4 h 19 after the first, which may bend by 4 h."""
    group = season(cows(174), protocols={"cows": "co_synch_insert7_cow"}).groups[0]
    gnrh = step_of(group, "gnrh_1")
    turns = slots(gnrh.at_utc, gnrh.ends_utc, len(group.order))
    told = {
        tag: History(acts=tuple(Act(s, turn, step=i) for s, i in GNRH_AND_INSERT))
        for tag, turn in zip(group.order, turns, strict=True)
    }
    progress = follow_group(
        "cows", group.schedule, told, at=gnrh.ends_utc, zone=DENVER, near_h=NEAR_H
    )
    for step in progress.steps[:2]:
        assert not [f for f in step.females if f.hours_off]
    assert line(progress, "gnrh_1", group.order[-1]).window[1] == turns[-1] + timedelta(hours=4)

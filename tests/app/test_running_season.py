"""A season as it runs: adopted, treated, seen in heat, inseminated, corrected; what Today says."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from running_season import DENVER, keep_forecast, local, running, step

from herds import LIBRARY, cow, cows, heifers
from sunup.app.heats import expected_heats, record_aids, record_heats, record_watch
from sunup.app.no_plan import NoSeasonError
from sunup.app.record import (
    Details,
    due_tags,
    record_ai,
    record_visit,
    spread_times,
)
from sunup.app.record_facts import record_fact
from sunup.app.season import adopt, find_female, identify, join, move, retag
from sunup.app.stock import count_doses, count_inserts
from sunup.app.today import find_today
from sunup.app.undo import NothingToUndoError, last_entries, put_right, undo
from sunup.app.visit_steps import UnknownStepError, find_drug_words
from sunup.base.problems import UsageError
from sunup.exchange.lists_out import result_table
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.roster import build_roster
from sunup.exchange.standing import stand
from sunup.planning.progress import Phase
from sunup.planning.season_now import follow
from sunup.planning.warnings import LEAVES
from sunup.records.event import Kind
from sunup.records.female import Exposure, ExposureKind


def treat(ranch, plan, step_id, *, group="cows", tags=None, minutes=0, **details):
    """Everybody of a group through a visit at its planned time, the clock moved there."""
    planned = step(plan, group, step_id).at_utc + timedelta(minutes=minutes)
    ranch.now = planned + timedelta(minutes=1)
    desk = ranch.desk()
    names = due_tags(desk, group, step_id, at=planned) if tags is None else tags
    return record_visit(desk, group, step_id, names, at=planned, details=Details(**details))


def flags(entry):
    return {(line.tag, flag.rule) for line in entry.lines for _, flag in line.flags}


def test_today_needs_a_plan_and_says_how_to_get_one():
    ranch, _ = running()
    ranch.events.clear()
    with pytest.raises(NoSeasonError, match="sunup season adopt"):
        find_today(ranch.desk())


def test_adopting_puts_the_females_with_their_facts_into_their_groups():
    listed = [*cows(3), cow("9", sire="B12", days=60), *heifers(2)]
    ranch, _ = running(females=listed)
    season = ranch.desk().season
    assert {f.tag: f.group for f in season.females.values()} == {
        "2001": "cows",
        "2002": "cows",
        "2003": "cows",
        "9": "cows",
        "7001": "heifers",
        "7002": "heifers",
    }
    nine = season.by_tag()["9"][0].facts
    assert (nine.sire, nine.calved_on, nine.condition) == ("B12", listed[3].calved_on, 6.0)


def test_adopting_the_same_season_again_changes_the_plan_and_adds_nobody():
    ranch, plan = running(4)
    before = len(ranch.desk().season.females)
    again = adopt(ranch.desk(), plan)
    assert again.changed
    assert (again.added, again.moved) == (0, 0)
    season = ranch.desk().season
    assert len(season.females) == before
    assert season.in_force.event == again.events[-1].id


def test_before_the_first_day_today_says_what_comes_next_with_dose_and_count():
    ranch, plan = running(6)
    today = find_today(ranch.desk())
    assert today.work.now == ()
    (coming,) = [v for v in today.work.next if v.group == "cows"]
    assert coming.visit == "gnrh_1"
    assert len(coming.to_go) == 6
    dose = step(plan, "cows", "gnrh_1").dose
    assert coming.steps[0].ml_to_go == pytest.approx(6 * dose.ml_each)


def test_a_visit_records_all_that_is_done_in_it_for_each_female():
    ranch, plan = running(3)
    entry = treat(ranch, plan, "gnrh_1", lots={"gnrh": "G7"}, withdrawals={"": 0.0})
    assert entry.words == ("GnRH", "progesterone insert in")
    kinds = [e.kind for line in entry.lines for e in line.events]
    assert kinds.count(Kind.TREATED) == kinds.count(Kind.INSERT_PLACED) == 3
    assert flags(entry) == set()
    gnrh = next(e for e in entry.events if e.kind is Kind.TREATED)
    assert gnrh.body["lot"] == "G7"
    assert gnrh.body["withdrawal_days"] == 0.0
    assert gnrh.body["dose_ml"] == step(plan, "cows", "gnrh_1").dose.ml_each
    insert = next(e for e in entry.events if e.kind is Kind.INSERT_PLACED)
    assert "lot" not in insert.body


def test_a_withdrawal_nobody_wrote_down_stays_unknown():
    ranch, plan = running(1)
    treat(ranch, plan, "gnrh_1")
    her = find_female(ranch.desk(), "2001")
    assert [w.ends_on for w in her.withdrawals(DENVER)] == [None, None]


def test_insemination_is_due_by_the_actual_pgf_of_each_cow():
    """63 h (60 to 66) after PGF: the protocol's published hours, its sources beside them."""
    ranch, plan = running(4)
    treat(ranch, plan, "gnrh_1")
    planned = step(plan, "cows", "pgf").at_utc
    treat(ranch, plan, "pgf", tags=["2001", "2002"])
    treat(ranch, plan, "pgf", tags=["2003", "2004"], minutes=180)
    season = ranch.desk().season
    (ai,) = [s for s in follow(season, season.group("cows")).steps if s.step.id == "ai"]
    opens = {season.females[f.female].tag: f.window[0] for f in ai.females}
    assert opens["2001"] == planned + timedelta(hours=60)
    assert opens["2004"] == planned + timedelta(hours=63)


def test_who_was_missed_is_late_while_inside_and_then_beyond():
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1")
    treat(ranch, plan, "pgf", tags=["2001", "2002"])
    closes = step(plan, "cows", "pgf").window_utc[1]
    late = find_today(ranch.desk(at=closes - timedelta(minutes=5)))
    assert [line.tag for line in late.work.late] == ["2003"]
    assert late.work.beyond == ()
    over = find_today(ranch.desk(at=closes + timedelta(minutes=30)))
    assert [line.tag for line in over.work.beyond] == ["2003"]
    at_ai = find_today(ranch.desk(at=step(plan, "cows", "ai").at_utc))
    (waits,) = at_ai.work.beyond
    assert (waits.tag, "PGF" in waits.why) == ("2003", True)


def test_nothing_done_is_refused_and_each_flag_says_what_to_do_now():
    exposed = cow("2009", exposure=Exposure(ExposureKind.BULL, date(2027, 4, 20)))
    ranch, plan = running(females=[*cows(3), exposed, *heifers(2)])
    treat(ranch, plan, "gnrh_1", tags=["2001", "2002", "2003", "2009", "7001"])
    entry = treat(ranch, plan, "pgf", tags=["2001", "2001", "2009", "7001", "412"])
    found = flags(entry)
    assert ("2009", "may_be_pregnant") in found
    assert ("7001", "wrong_group") in found
    assert all(flag.now for line in entry.lines for _, flag in line.flags)
    recorded = [e for e in entry.events if e.kind is Kind.TREATED]
    assert len(recorded) == 5
    assert [line.tag for line in entry.lines if line.unlisted] == ["412"]


def test_looking_before_the_act_keeps_nothing():
    ranch, plan = running(2)
    n = len(ranch.events)
    at = step(plan, "cows", "pgf").at_utc
    entry = record_visit(ranch.desk(), "cows", "pgf", ["2001"], at=at, keep=False)
    assert len(ranch.events) == n
    assert ("2001", "insert_never_in") in flags(entry)


def test_an_unlisted_tag_goes_on_with_the_group_and_is_identified_later():
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1", tags=["2001", "2002", "412"])
    today = find_today(ranch.desk())
    assert [f.tag for f in today.unlisted] == ["412"]
    identify(ranch.desk(), "412", "2003")
    season = ranch.desk().season
    her = season.by_tag()["2003"][0]
    assert [a.do for a in her.acts] == ["gnrh", "insert_in"]
    assert "412" not in season.by_tag()
    assert find_today(ranch.desk()).unlisted == ()
    (first, *_) = follow(season, season.group("cows")).steps
    assert len(first.of_phase(Phase.DONE)) == 3


def test_a_heat_gives_an_insemination_time_by_the_morning_evening_rule():
    """Seen in the morning, inseminated that evening; seen in the evening, next morning:
    common practice (Michigan State; trade press 2018)."""
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1")
    treat(ranch, plan, "pgf")
    day = step(plan, "cows", "pgf").at_utc.astimezone(DENVER).date() + timedelta(days=2)
    ranch.now = local(f"{day}T19:30")
    morning = record_heats(ranch.desk(), ["2001"], sign="standing", at=local(f"{day}T06:20"))
    evening = record_heats(ranch.desk(), ["2002"], sign="standing", at=local(f"{day}T19:10"))
    assert morning.lines[0].time.at == local(f"{day}T18:00")
    assert evening.lines[0].time.at == local(f"{day + timedelta(days=1)}T06:00")


def test_half_rubbed_counts_and_a_lost_patch_is_not_a_heat():
    """Half or more of the coating gone counts (abstract, six- against seven-day heifers)."""
    ranch, plan = running(4)
    treat(ranch, plan, "gnrh_1")
    treat(ranch, plan, "pgf")
    ranch.now += timedelta(hours=40)
    told = record_aids(
        ranch.desk(), {"2001": "3", "2002": "2", "2003": "lost"}, aid="patch", at=ranch.now
    )
    assert [line.tag for line in told.lines] == ["2001"]


def test_a_score_that_is_none_records_nothing():
    ranch, _ = running(2)
    n = len(ranch.events)
    with pytest.raises(UsageError, match="rubbed off"):
        record_aids(ranch.desk(), {"2001": "3", "2002": "9"}, aid="patch", at=ranch.now)
    assert len(ranch.events) == n


def test_a_watch_is_recorded_also_when_nothing_was_seen():
    ranch, _ = running(2)
    told = record_watch(ranch.desk(), "cows", [], minutes=30, at=ranch.now)
    assert told.watch.body["n_seen"] == 0
    done = find_today(ranch.desk(at=ranch.now + timedelta(minutes=5))).work.done
    assert [(line.do, line.n) for line in done] == [("watch", 1)]


def test_a_watch_of_which_nobody_says_how_long_took_the_figures_minutes():
    ranch, _ = running(2)
    told = record_watch(ranch.desk(), "cows", [], minutes=None, at=ranch.now)
    assert told.minutes == told.watch.body["minutes"] == LIBRARY.number("practice.watch_minutes")
    told = record_watch(ranch.desk(), "cows", [], minutes=45, at=ranch.now)
    assert told.minutes == 45


def test_a_cow_inseminated_on_heat_is_left_out_of_the_fixed_time():
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1")
    treat(ranch, plan, "pgf")
    ai = step(plan, "cows", "ai").at_utc
    ranch.now = ai - timedelta(hours=12)
    record_heats(ranch.desk(), ["2001"], sign="standing", at=ai - timedelta(hours=20))
    record_ai(ranch.desk(), ["2001"], at=ranch.now, details=Details(sire="B12", technician="Lee"))
    ranch.now = ai
    assert due_tags(ranch.desk(), "cows", "ai", at=ai) == ("2002", "2003")


def test_undo_takes_back_one_entry_and_leaves_the_rest():
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1", tags=["2001", "2002"])
    ranch.now += timedelta(minutes=5)
    treat(ranch, plan, "gnrh_1", tags=["2003"], minutes=5)
    undone = undo(ranch.desk(), why="wrong cow")
    assert {e.kind for e in undone.entries} == {Kind.TREATED, Kind.INSERT_PLACED}
    season = ranch.desk().season
    assert season.by_tag()["2003"][0].acts == ()
    assert len(season.by_tag()["2001"][0].acts) == 2
    assert [len(batch) for batch in last_entries(ranch.desk())] == [4]


def test_undo_of_one_female_takes_back_what_the_last_entry_said_of_her():
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1")
    desk = ranch.desk()
    undo(desk, female=find_female(desk, "2002").id)
    acts = {f.tag: len(f.acts) for f in ranch.desk().season.females.values()}
    assert acts == {"2001": 2, "2002": 0, "2003": 2}


def test_the_adoption_of_the_plan_is_no_entry_to_take_back():
    ranch, _ = running(2)
    with pytest.raises(NothingToUndoError):
        undo(ranch.desk())


def test_an_entry_put_right_moves_what_hangs_on_it():
    ranch, plan = running(2)
    treat(ranch, plan, "gnrh_1")
    entry = treat(ranch, plan, "pgf", tags=["2001"])
    pgf = next(e for e in entry.events if e.kind is Kind.TREATED)
    right = pgf.occurred_at - timedelta(hours=2)
    put_right(ranch.desk(), pgf.id, at=right, why="clock read wrong")
    season = ranch.desk().season
    (ai,) = [s for s in follow(season, season.group("cows")).steps if s.step.id == "ai"]
    hers = next(f for f in ai.females if season.females[f.female].tag == "2001")
    assert hers.window[0] == right + timedelta(hours=60)


def test_a_list_done_over_hours_gives_each_her_own_time():
    at = local("2027-05-22T14:00")
    times = spread_times(at, at + timedelta(hours=1), 5)
    assert [(t - at).total_seconds() / 60 for t in times] == [0, 15, 30, 45, 60]
    with pytest.raises(UsageError, match="--until"):
        spread_times(at, at - timedelta(minutes=1), 2)


def test_a_lot_without_its_drug_is_asked_back_where_a_visit_gives_two():
    ranch, _ = running(2)
    desk = ranch.desk()
    with pytest.raises(UsageError, match="gnrh=G7 or --lot insert_in=G7"):
        find_drug_words(desk, "cows", "gnrh_1", ["G7"], "--lot")
    assert find_drug_words(desk, "cows", "gnrh_1", ["insert=P1"], "--lot") == {"insert_in": "P1"}
    assert find_drug_words(desk, "cows", "pgf", ["C12"], "--lot") == {"": "C12"}


def test_a_visit_the_plan_does_not_have_is_named_with_those_it_has():
    ranch, _ = running(2)
    with pytest.raises(UnknownStepError, match="gnrh_1, pgf, ai"):
        record_visit(ranch.desk(), "cows", "day7", ["2001"], at=ranch.now)


def test_a_female_moved_over_is_due_with_her_new_group():
    ranch, plan = running(3, 2)
    ranch.now += timedelta(hours=1)
    join(ranch.desk(), "2301", class_="cow", group="cows")
    calved = ranch.now - timedelta(days=60)
    record_fact(ranch.desk(), ["2301"], Kind.CALVED, {}, at=calved, words="calved")
    move(ranch.desk(), ["7001"], "cows")
    today = find_today(ranch.desk(at=step(plan, "cows", "gnrh_1").at_utc))
    (visit,) = [v for v in today.work.now if v.group == "cows"]
    tags = {ranch.desk().season.females[f].tag for f in visit.to_go}
    assert {"2301", "7001"} < tags


def test_a_new_tag_keeps_the_place_in_the_order():
    ranch, plan = running(3)
    retag(ranch.desk(), "2002", new="3002")
    at = step(plan, "cows", "gnrh_1").at_utc
    assert due_tags(ranch.desk(at=at), "cows", "gnrh_1", at=at) == ("2001", "3002", "2003")


def test_a_running_withdrawal_is_told_when_she_is_sold():
    ranch, plan = running(2)
    treat(ranch, plan, "gnrh_1", tags=["2001"], withdrawals={"": 3.0})
    ranch.now += timedelta(hours=1)
    entry = record_fact(
        ranch.desk(), ["2001"], Kind.LEFT_HERD, {"why": "sold"}, at=ranch.now, words="sold",
        act=LEAVES,
    )  # fmt: skip
    assert flags(entry) == {("2001", "withdrawal"), ("2001", "leaves_with_insert")}
    assert not find_female(ranch.desk(), "2001").is_here


def test_inserts_and_doses_are_held_against_the_females():
    ranch, plan = running(3)
    treat(ranch, plan, "gnrh_1")
    treat(ranch, plan, "gnrh_1", tags=["2001"], minutes=30)
    treat(ranch, plan, "pgf", tags=["2001", "2002"])
    desk = ranch.desk()
    (inserts,) = count_inserts(desk)
    assert (inserts.placed, inserts.out, inserts.still_in) == (4, 2, ("2003",))
    doses = {d.name: (d.doses, d.females, d.twice) for d in count_doses(desk)}
    assert doses["gonadorelin_acetate"] == (4, 3, ("2001",))


def test_an_insert_and_a_dose_count_under_the_group_she_was_in_then():
    """Two heifers treated with their group are cows a year later: the heifers' count stays."""
    ranch, plan = running(1, 2)
    treat(ranch, plan, "gnrh_1", group="heifers", tags=["7001", "7002"])
    treat(ranch, plan, "pgf", group="heifers", tags=["7001", "7002"], lost=frozenset({"7002"}))
    ranch.now += timedelta(days=300)
    move(ranch.desk(), ["7001", "7002"], "cows")
    desk = ranch.desk()
    (inserts,) = count_inserts(desk)
    assert (inserts.group, inserts.placed, inserts.out, inserts.lost) == ("heifers", 2, 1, 1)
    assert inserts.adds_up
    assert {d.group for d in count_doses(desk)} == {"heifers"}


def test_two_doses_that_the_plan_gives_in_a_day_are_not_told_as_given_twice():
    # the 5-day plan gives PGF twice, about 8 h apart (Bridges 2008)
    ranch, plan = running(2, protocols={"cows": "co_synch_insert5_cow"})
    both = [s.id for s in plan.groups[0].schedule if s.do == "pgf"]
    treat(ranch, plan, "gnrh_1")
    first, second = (treat(ranch, plan, one) for one in both)
    assert not flags(first)
    assert not flags(second)
    treat(ranch, plan, both[1], tags=["2001"], minutes=20)
    doses = {d.name: d.twice for d in count_doses(ranch.desk())}
    assert [twice for name, twice in doses.items() if "gonadorelin" not in name] == [("2001",)]


def test_heats_seen_stand_beside_those_the_kept_forecast_expects():
    ranch, plan = running(4)
    heats = [
        {"start_h": 36.0, "seen_mean": 1.0, "seen_low80": 1.0, "seen_high80": 2.0},
        {"start_h": 48.0, "seen_mean": 2.0, "seen_low80": 1.0, "seen_high80": 3.0},
    ]
    keep_forecast(ranch, heats)
    treat(ranch, plan, "gnrh_1")
    treat(ranch, plan, "pgf")
    given = step(plan, "cows", "pgf").at_utc
    (early,) = expected_heats(ranch.desk(at=given + timedelta(hours=42)))
    assert early.expected == pytest.approx(0.5)  # half of the half-day that brings one
    assert early.call == ""  # before 48 h a low response is not called
    assert expected_heats(ranch.desk(at=given + timedelta(hours=54))) == ()  # nobody looked
    ranch.now = given + timedelta(hours=40)
    record_watch(ranch.desk(), "cows", [], minutes=30, at=ranch.now)
    (none,) = expected_heats(ranch.desk(at=given + timedelta(hours=54)))
    assert none.expected == pytest.approx(2.0)
    assert "Low response: 0 seen" in none.call
    ranch.now = given + timedelta(hours=46)
    record_heats(ranch.desk(), ["2001", "2002"], sign="standing", at=ranch.now)
    (seen,) = expected_heats(ranch.desk(at=given + timedelta(hours=54)))
    assert (seen.seen, seen.call) == (2, "")


def test_what_a_herd_list_says_is_of_a_day_and_not_of_an_hour_nobody_saw():
    span = Exposure(ExposureKind.BULL, date(2026, 6, 1), date(2026, 8, 1))
    ranch, _ = running(females=[cow("9", condition=5.5, weight_kg=540.0, exposure=span)])
    (female,) = [f for f in ranch.desk().season.females.values() if f.tag == "9"]
    told = [e for e in ranch.events if e.female == female.id and e.kind is not Kind.MOVED]
    kinds = {e.kind for e in told}
    assert {Kind.FEMALE_ADDED, Kind.WEIGHED, Kind.CONDITION_SCORED, Kind.BULLS_IN} <= kinds
    assert all(e.body["day_only"] for e in told)
    standing = stand(ranch.events)
    table = result_table(ResultKind.WEIGHTS, build_roster(standing), DENVER)
    when = [row[2] for row in table.rows]
    assert [type(day) for day in when] == [date], "in a list a day, with no hour beside it"

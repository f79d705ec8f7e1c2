"""Who is held back: named on Today, left out of --all, recorded all the same when named."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import running, step

from sunup.app.heats import find_ai_lines, record_heats
from sunup.app.held import follow_held
from sunup.app.record import due_tags, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.record_off_plan import record_drug
from sunup.app.season import join
from sunup.app.today import find_today
from sunup.planning.progress import Phase
from sunup.planning.warnings import Weight
from sunup.records.event import Kind


@pytest.fixture
def cows6():
    """Six cows, the day before the first treatment."""
    return running(6)


def found(ranch, tag, result, *, at):
    body = {"method": "ultrasound", "result": result}
    record_fact(ranch.desk(), [tag], Kind.PREGNANCY_CHECKED, body, at=at, words=result)


def hold(ranch, tag, why="lame", **more):
    body = {"why": why, **more}
    record_fact(ranch.desk(), [tag], Kind.HOLD_SET, body, at=ranch.now, words="hold")


def go_to(ranch, plan, step_id, group="cows"):
    ranch.now = step(plan, group, step_id).at_utc
    return ranch.now


def visit_now(ranch, name):
    today = find_today(ranch.desk())
    return next(v for v in (*today.work.now, *today.work.next) if v.visit == name)


def tags_of(ranch, females):
    return {ranch.desk().season.females[f].tag for f in females}


def test_a_cow_found_pregnant_is_named_and_in_no_count_from_the_first_visit_on(cows6):
    ranch, plan = cows6
    found(ranch, "2003", "pregnant", at=ranch.now)
    for name in ("gnrh_1", "pgf", "ai"):
        at = go_to(ranch, plan, name)
        visit = visit_now(ranch, name)
        held = dict(visit.held)
        assert held["2003"].is_refused
        assert held["2003"].why.startswith("found pregnant")
        assert "2003" not in tags_of(ranch, visit.to_go)
        assert {line.to_go for line in visit.steps} == {5}
        everybody = due_tags(ranch.desk(), "cows", name, at=at)
        assert set(everybody) == {"2001", "2002", "2004", "2005", "2006"}
        entry = record_visit(ranch.desk(), "cows", name, everybody, at=at)
        assert [tag for tag, _ in entry.held_back] == ["2003"]
        assert entry.left_to_do == ()


def test_who_is_named_is_recorded_and_flagged(cows6):
    ranch, plan = cows6
    found(ranch, "2003", "pregnant", at=ranch.now)
    at = go_to(ranch, plan, "gnrh_1")
    entry = record_visit(ranch.desk(), "cows", "gnrh_1", ["2003"], at=at)
    assert entry.events
    assert entry.held_back == ()
    (flag,) = {f.rule: f for _, f in entry.lines[0].flags}.values()
    assert flag.weight is Weight.REFUSE
    assert "found pregnant" in flag.text


def test_a_cow_with_bulls_is_held_until_found_open(cows6):
    ranch, plan = cows6
    start = step(plan, "cows", "gnrh_1").at_utc
    for kind, days in ((Kind.BULLS_IN, 60), (Kind.BULLS_OUT, 40)):
        body = {"bulls": ["B7"]}
        record_fact(
            ranch.desk(), ["2001"], kind, body, at=start - timedelta(days=days), words="bull"
        )
    at = go_to(ranch, plan, "gnrh_1")
    ((tag, held),) = visit_now(ranch, "gnrh_1").held
    assert (tag, held.is_refused) == ("2001", True)
    assert "with a bull" in held.why
    found(ranch, "2001", "not_pregnant", at=at)
    assert visit_now(ranch, "gnrh_1").held == ()


def test_a_hold_leaves_her_out_until_it_ends_and_her_insert_still_comes_out(cows6):
    ranch, plan = cows6
    at = go_to(ranch, plan, "gnrh_1")
    record_visit(ranch.desk(), "cows", "gnrh_1", [str(2001 + i) for i in range(6)], at=at)
    hold(ranch, "2002")
    hold(ranch, "2004", "hoof trimmed", until_on=(at + timedelta(days=2)).date().isoformat())
    at = go_to(ranch, plan, "pgf")
    visit = visit_now(ranch, "pgf")
    ((tag, held),) = visit.held
    assert (tag, held.why, held.is_refused, held.insert_in) == (
        "2002",
        "on hold: lame",
        False,
        True,
    )
    assert {s.step.do: s.to_go for s in visit.steps} == {"pgf": 5, "insert_out": 6}
    names = due_tags(ranch.desk(), "cows", "pgf", at=at)
    assert "2002" not in names
    record_visit(ranch.desk(), "cows", "pgf", names, at=at)
    assert tags_of(ranch, visit_now(ranch, "pgf").to_go) == {"2002"}
    record_drug(ranch.desk(), "insert_out", ["2002"], at=at)
    assert not [v for v in find_today(ranch.desk()).work.now if v.visit == "pgf"]
    record_fact(ranch.desk(), ["2002"], Kind.HOLD_LIFTED, {}, at=ranch.now, words="lifted")
    assert visit_now(ranch, "pgf").held == ()


def test_a_bought_in_cow_of_whom_nothing_is_known_gets_no_pgf_unasked(cows6):
    ranch, plan = cows6
    ranch.now += timedelta(hours=1)
    join(ranch.desk(), "900", class_="cow", group="cows")
    at = go_to(ranch, plan, "gnrh_1")
    assert dict(visit_now(ranch, "gnrh_1").held)["900"].is_refused
    assert "900" not in due_tags(ranch.desk(), "cows", "gnrh_1", at=at)
    entry = record_drug(ranch.desk(), "pgf", ["900"], at=at, keep=False)
    assert {f.rule: f.weight for _, f in entry.lines[0].flags}["exposure_unknown"] is Weight.REFUSE
    record_fact(ranch.desk(), ["900"], Kind.CALVED, {}, at=at - timedelta(days=70), words="calved")
    assert visit_now(ranch, "gnrh_1").held == ()
    assert "900" in due_tags(ranch.desk(), "cows", "gnrh_1", at=at)


def test_a_cow_found_open_that_has_no_calving_date_is_on_hold_as_in_a_herd_list(cows6):
    ranch, plan = cows6
    ranch.now += timedelta(hours=1)
    join(ranch.desk(), "900", class_="cow", group="cows")
    go_to(ranch, plan, "gnrh_1")
    found(ranch, "900", "not_pregnant", at=ranch.now)
    held = dict(visit_now(ranch, "gnrh_1").held)["900"]
    assert (held.is_refused, held.why) == (
        False,
        "on hold: no calving date on file; give the date before she is treated",
    )


def test_a_heifer_that_joined_is_asked_for_and_one_the_plan_names_is_not():
    ranch, plan = running(0, 3)
    ranch.now += timedelta(hours=1)
    join(ranch.desk(), "901", class_="heifer", group="heifers")
    at = go_to(ranch, plan, "gnrh_1", "heifers")
    assert [tag for tag, _ in visit_now(ranch, "gnrh_1").held] == ["901"]
    found(ranch, "901", "not_pregnant", at=at)
    assert visit_now(ranch, "gnrh_1").held == ()


def test_a_tag_nobody_knows_is_left_out_of_all_until_somebody_says_who_she_is(cows6):
    ranch, plan = cows6
    at = go_to(ranch, plan, "gnrh_1")
    record_visit(ranch.desk(), "cows", "gnrh_1", ["777"], at=at)
    at = go_to(ranch, plan, "pgf")
    held = dict(visit_now(ranch, "pgf").held)["777"]
    assert held.is_refused
    assert "777" not in due_tags(ranch.desk(), "cows", "pgf", at=at)


def test_who_was_held_back_is_no_missed_female(cows6):
    ranch, plan = cows6
    found(ranch, "2003", "pregnant", at=ranch.now)
    at = go_to(ranch, plan, "gnrh_1")
    record_visit(
        ranch.desk(), "cows", "gnrh_1", due_tags(ranch.desk(), "cows", "gnrh_1", at=at), at=at
    )
    go_to(ranch, plan, "pgf")
    work = find_today(ranch.desk()).work
    assert work.beyond == ()
    assert work.beyond_before == 0
    followed = follow_held(ranch.desk(), plan.groups[0])
    hers = [f for line in followed.steps for f in line.females if f.held is not None]
    assert {f.phase for f in hers} == {Phase.NOT_HERS}


def test_the_heat_list_says_that_she_is_on_hold(cows6):
    ranch, _ = cows6
    hold(ranch, "2002")
    record_heats(ranch.desk(), ["2002"], sign="standing", at=ranch.now)
    (line,) = find_ai_lines(ranch.desk())
    assert line.hold == "lame"

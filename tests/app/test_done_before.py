"""A step on file of one female is not recorded a second time with her visit."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import running, step

from sunup.app.record import Details, due_tags, record_visit
from sunup.app.record_off_plan import Dose, record_drug
from sunup.app.stock import count_inserts
from sunup.app.today import find_today
from sunup.planning.progress import Phase
from sunup.planning.season_now import follow
from sunup.records.event import Kind

TAGS = ["2001", "2002", "2003", "2004"]


@pytest.fixture
def treated():
    """Four cows with inserts: one out three days early, one found lost five days early."""
    ranch, plan = running(4)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    record_visit(ranch.desk(), "cows", "gnrh_1", TAGS, at=ranch.now)
    pgf = step(plan, "cows", "pgf").at_utc
    ranch.now = pgf - timedelta(days=5)
    record_drug(
        ranch.desk(), "insert_out", ["2001"], at=ranch.now, dose=Dose(lost=frozenset({"2001"}))
    )
    ranch.now = pgf - timedelta(days=3)
    record_drug(ranch.desk(), "insert_out", ["2003"], at=ranch.now)
    ranch.now = pgf
    return ranch, plan


def out_lines(ranch, plan):
    (line,) = [
        s for s in follow(ranch.desk().season, plan.groups[0]).steps if s.step.do == "insert_out"
    ]
    return {ranch.desk().season.females[f.female].tag: f for f in line.females}


@pytest.mark.parametrize("everybody", [True, False], ids=["all", "by tag"])
def test_no_second_removal_is_made_up(treated, everybody):
    ranch, plan = treated
    tags = due_tags(ranch.desk(), "cows", "pgf", at=ranch.now) if everybody else TAGS
    assert set(tags) == set(TAGS)
    entry = record_visit(ranch.desk(), "cows", "pgf", tags, at=ranch.now, due_only=everybody)
    kept = {line.tag: [e.kind for e in line.events] for line in entry.lines}
    both = [Kind.TREATED, Kind.INSERT_REMOVED]
    assert kept == {
        "2001": [Kind.TREATED], "2002": both, "2003": [Kind.TREATED], "2004": both
    }  # fmt: skip
    assert {line.tag: line.on_file for line in entry.lines if line.on_file} == {
        "2001": ("insert out",),
        "2003": ("insert out",),
    }
    (count,) = count_inserts(ranch.desk())
    assert (count.placed, count.out, count.lost, count.out_unplaced) == (4, 3, 1, ())
    lines = out_lines(ranch, plan)
    assert {tag: round(f.hours_off / 24) for tag, f in lines.items()} == {
        "2001": -5, "2002": 0, "2003": -3, "2004": 0
    }  # fmt: skip


def test_a_removal_days_early_is_due_no_more(treated):
    ranch, plan = treated
    assert out_lines(ranch, plan)["2001"].phase is Phase.DONE
    (visit,) = [v for v in find_today(ranch.desk()).work.now if v.visit == "pgf"]
    assert {s.step.do: s.to_go for s in visit.steps} == {"pgf": 4, "insert_out": 2}


def test_the_same_visit_entered_twice_is_kept_and_flagged_as_before(treated):
    ranch, _ = treated
    for _ in range(2):
        entry = record_visit(ranch.desk(), "cows", "pgf", ["2002"], at=ranch.now)
        ranch.now += timedelta(minutes=5)
    assert len(entry.events) == 2
    assert "already_done" in {flag.rule for _, flag in entry.lines[0].flags}


def test_a_dose_given_before_and_named_again_is_kept(treated):
    ranch, _ = treated
    record_drug(ranch.desk(), "pgf", ["2002"], at=ranch.now - timedelta(hours=2))
    entry = record_visit(
        ranch.desk(), "cows", "pgf", ["2002"], at=ranch.now, details=Details(), keep=False
    )
    assert [e.kind for e in entry.lines[0].events] == [Kind.TREATED, Kind.INSERT_REMOVED]
    entry = record_visit(
        ranch.desk(), "cows", "pgf", ["2002"], at=ranch.now, due_only=True, keep=False
    )
    assert [e.kind for e in entry.lines[0].events] == [Kind.INSERT_REMOVED]

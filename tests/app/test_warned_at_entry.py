"""What speaks against an act is said as it is entered, also where it is entered off the plan."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import running, step

from sunup.app.heats import record_heats
from sunup.app.record import Details, record_ai, record_visit
from sunup.app.record_off_plan import record_drug


@pytest.fixture
def treated():
    """Two cows with GnRH and an insert; 2001 had PGF and her insert out a week later."""
    ranch, plan = running(2)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    record_visit(ranch.desk(), "cows", "gnrh_1", ["2001", "2002"], at=ranch.now)
    return ranch, plan


def after_pgf(treated):
    ranch, plan = treated
    ranch.now = step(plan, "cows", "pgf").at_utc
    record_visit(ranch.desk(), "cows", "pgf", ["2001"], at=ranch.now)
    return ranch, plan


def flags_of(entry):
    return {flag.rule: flag.text for _, flag in entry.lines[0].flags}


def test_an_insemination_with_the_insert_in_no_pgf_and_two_days_late_says_all_three(treated):
    ranch, plan = after_pgf(treated)
    ranch.now = step(plan, "cows", "ai").window_utc[1] + timedelta(days=2, hours=2)
    told = flags_of(record_ai(ranch.desk(), ["2002"], at=ranch.now, details=Details(sire="A31")))
    assert {"insert_still_in", "anchor_missing", "outside_window"} <= set(told)
    assert "none is recorded out" in told["insert_still_in"]
    assert "no PGF recorded" in told["anchor_missing"]
    assert told["outside_window"].startswith("2 days too late")


def test_a_visit_says_the_same_of_an_insert_still_in(treated):
    ranch, plan = after_pgf(treated)
    ranch.now = step(plan, "cows", "ai").at_utc
    told = flags_of(record_visit(ranch.desk(), "cows", "ai", ["2002"], at=ranch.now))
    assert {"insert_still_in", "anchor_missing"} <= set(told)


def test_an_insemination_on_a_heat_on_file_is_held_to_no_fixed_time(treated):
    ranch, plan = after_pgf(treated)
    ranch.now = step(plan, "cows", "ai").window_utc[1] + timedelta(days=2)
    record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now - timedelta(hours=12))
    assert not flags_of(record_ai(ranch.desk(), ["2001"], at=ranch.now))


def test_an_insemination_on_heat_before_the_fixed_time_is_not_called_early(treated):
    ranch, plan = after_pgf(treated)
    ranch.now = step(plan, "cows", "ai").window_utc[0] - timedelta(hours=14)
    assert not flags_of(record_ai(ranch.desk(), ["2001"], at=ranch.now))


def test_a_drug_two_days_before_its_visit_is_called_early_as_the_visit_would(treated):
    ranch, plan = treated
    ranch.now = step(plan, "cows", "pgf").at_utc
    early = ranch.now - timedelta(days=2, hours=4)
    by_drug = record_drug(ranch.desk(), "cloprostenol", ["2001"], at=early, keep=False)
    by_visit = record_visit(ranch.desk(), "cows", "pgf", ["2001"], at=early, keep=False)
    told = flags_of(by_drug)["outside_window"]
    assert told == flags_of(by_visit)["outside_window"]
    assert "too early" in told


def test_a_drug_far_from_any_step_is_held_to_none(treated):
    ranch, plan = treated
    ranch.now = step(plan, "cows", "ai").window_utc[1] + timedelta(days=20)
    assert "outside_window" not in flags_of(
        record_drug(ranch.desk(), "gnrh", ["2001"], at=ranch.now, keep=False)
    )

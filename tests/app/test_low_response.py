"""A low response is called where somebody looked, and by whole females."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import keep_forecast, running, step

from sunup.app.heats import expected_heats, record_aids, record_heats, record_watch
from sunup.app.record import Details, record_visit

TAGS = ["2001", "2002", "2003", "2004"]


def after_pgf(**wishes):
    """Four cows 54 h after their PGF; a forecast kept expects some in heat by then."""
    ranch, plan = running(4, **wishes)
    half = {"start_h": 36.0, "seen_mean": 2.0, "seen_low80": 1.4, "seen_high80": 3.0}
    keep_forecast(ranch, [half])
    for one in (s for s in plan.groups[0].schedule if s.do in {"gnrh", "pgf"}):
        if one.at_utc <= step(plan, "cows", "pgf").at_utc:
            ranch.now = one.at_utc + timedelta(minutes=30)
            record_visit(ranch.desk(), "cows", one.id, TAGS, at=one.at_utc, details=Details())
    ranch.now = step(plan, "cows", "pgf").at_utc + timedelta(hours=54)
    return ranch


def seen(ranch, *tags):
    at = ranch.now - timedelta(hours=8)
    record_heats(ranch.desk(), tags, sign="standing", at=at)


def call(ranch):
    told = expected_heats(ranch.desk())
    return None if not told else told[0].call


def test_one_seen_by_chance_in_a_group_nobody_watches_is_no_low_response():
    ranch = after_pgf()
    assert call(ranch) is None
    seen(ranch, "2001")
    assert call(ranch) == ""


def test_as_many_seen_as_the_least_expected_is_no_low_response():
    ranch = after_pgf()
    record_watch(ranch.desk(), "cows", [], minutes=30, at=ranch.now - timedelta(hours=9))
    assert "Low response: 0 seen, 1 or more" in call(ranch)
    seen(ranch, "2001")  # 1.4 expected at the least: one
    assert call(ranch) == ""


def test_an_aid_that_was_read_is_a_look():
    ranch = after_pgf()
    at = ranch.now - timedelta(hours=9)
    record_aids(ranch.desk(), {"2001": "1"}, aid="patch", at=at)
    assert "Low response: 0 seen" in call(ranch)


@pytest.mark.parametrize("protocol", ["select_synch_insert_tai_cow"])
def test_a_planned_watch_that_is_not_written_down_is_asked_for(protocol):
    ranch = after_pgf(protocols={"cows": protocol})
    assert "No watch is recorded since the PGF" in call(ranch)

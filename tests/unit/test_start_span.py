"""A visit may start when the last female, too, keeps her window; checked by recording it so."""

from __future__ import annotations

from datetime import time, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import cows, heifers, season, step_of
from sunup.planning.progress import Act, History, follow_group
from sunup.planning.schedule import slots
from sunup.planning.start_span import find_start_spans

DENVER = ZoneInfo("America/Denver")
MINUTE = timedelta(minutes=1)
SEASONS = {
    "174 cows": (cows(174), {"cows": "co_synch_insert7_cow"}),
    "43 heifers": (heifers(43), {"heifers": "co_synch_insert7_heifer"}),
    "100 cows, split": (cows(100), {"cows": "split_insert7_cow_66_90"}),
    "150 heifers on feed": (heifers(150), {"heifers": "mga_pg_ftai"}),
}


def off(group, visit, start):
    """How many are outside their window at a visit begun at `start`, all before it as planned."""
    moved = start - step_of(group, visit).at_utc
    live = [s for s in group.schedule if s.until_utc is None]
    done = {tag: [] for tag in group.order}
    for step in live:
        at = moved if step.visit == visit else timedelta(0)
        if step.at_utc > step_of(group, visit).at_utc and step.visit != visit:
            continue
        for tag, when in zip(
            group.order, slots(step.at_utc, step.ends_utc, len(group.order)), strict=True
        ):
            done[tag].append(Act(step.do, when + at, step=step.id))
    progress = follow_group(
        group.name,
        group.schedule,
        {tag: History(acts=tuple(acts)) for tag, acts in done.items()},
        at=live[-1].ends_utc + timedelta(days=9),
        zone=DENVER,
        near_h=84.0,
    )
    lines = next(s.females for s in progress.steps if s.step.id == visit)
    return sum(bool(line.hours_off) for line in lines)


def spans_of(plan):
    group = plan.groups[0]
    return group, find_start_spans(plan, group.name, DENVER)


@pytest.mark.parametrize("name", SEASONS)
def test_begun_anywhere_in_its_span_a_visit_keeps_every_female_in_her_window(name):
    herd, protocols = SEASONS[name]
    group, spans = spans_of(season(herd, protocols=protocols))
    for visit, span in spans.items():
        assert span.whole is not None
        assert span.whole[0] <= step_of(group, visit).at_utc <= span.whole[1]
        for start in span.whole:
            assert off(group, visit, start) == 0, (visit, start)


def test_the_last_cow_decides_how_late_the_insemination_may_start():
    """174 cows, treated at 40 an hour and inseminated at 25: the last lags 2 h 37 behind."""
    group, spans = spans_of(season(SEASONS["174 cows"][0], protocols=SEASONS["174 cows"][1]))
    span = spans["ai"]
    first_alone, whole = span.first[1], span.whole[1]
    assert first_alone - whole == timedelta(hours=2, minutes=37)
    assert off(group, "ai", whole + 3 * MINUTE) > 0
    assert off(group, "ai", first_alone) > 150


def test_work_keeps_its_hours_also_at_the_visit_that_counts_from_this_one():
    """PGF an hour before its span would have the insemination begin before 06:00, or too late."""
    plan = season(SEASONS["174 cows"][0], protocols=SEASONS["174 cows"][1])
    group, spans = spans_of(plan)
    opens, closes = time(6), time(20)
    for visit, span in spans.items():
        step = step_of(group, visit)
        ends = span.whole[1] + (step.ends_utc - step.at_utc)
        assert span.whole[0].astimezone(DENVER).time() >= opens
        assert ends.astimezone(DENVER).time() <= closes
    ai, pgf = step_of(group, "ai"), step_of(group, "pgf")
    lag = (ai.ends_utc - ai.at_utc) - (pgf.ends_utc - pgf.at_utc)
    earliest_ai = spans["pgf"].whole[0] + timedelta(hours=66) - lag  # the published latest hour
    assert earliest_ai.astimezone(DENVER).time() >= opens
    assert (earliest_ai - 2 * MINUTE).astimezone(DENVER).time() < opens


def test_where_no_start_keeps_all_none_is_given():
    group, spans = spans_of(season(cows(300), protocols={"cows": "co_synch_insert7_cow"}))
    assert spans["ai"].whole is None
    assert off(group, "ai", spans["ai"].first[0]) + off(group, "ai", spans["ai"].first[1]) > 0


@pytest.mark.parametrize(
    ("herd", "key"), [(heifers(174), "mga_select"), (cows(174), "co_synch_insert7_cow")]
)
def test_a_plan_recorded_exactly_as_it_says_is_off_for_nobody(herd, key):
    """Feeding starts for all at once, but 174 heifers take 4 h 21 to treat: 4 h late at most."""
    plan = season(herd, protocols={herd[0].group: key})
    group, spans = spans_of(plan)
    for visit in spans:
        assert off(group, visit, step_of(group, visit).at_utc) == 0, visit

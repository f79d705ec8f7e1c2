"""Does a group get through the chute, and is the way out that is offered a real one?"""

from __future__ import annotations

import re
from datetime import time

import pytest

from herds import LIBRARY, clashes_of, cows, heifers, season
from sunup.planning.capacity import durations, paced, work_rate
from sunup.planning.visits import find_visits
from sunup.protocols.protocol import Do

COW_PROTOCOLS = ("co_synch_insert7_cow", "co_synch_insert5_cow", "split_insert7_cow_66_90")


def cow_season(n, protocol, **wishes):
    return season(cows(n), protocols={"cows": protocol}, **wishes)


def is_clean(plan):
    return not (clashes_of(plan, "capacity") or clashes_of(plan, "outside_hours"))


def offered(plan):
    """Head that fit one start and the number of starts, read from the words of the offer."""
    texts = [line.offer for group in plan.groups for line in group.capacity if line.offer]
    found = [re.search(r"Up to (\d+) head.*--split cows=(\d+)", text) for text in texts]
    head, starts = next(m.groups() for m in found if m)
    return int(head), int(starts)


@pytest.mark.parametrize("protocol", COW_PROTOCOLS)
@pytest.mark.parametrize(("head", "closes"), [(300, time(18)), (400, time(20))])
def test_the_head_offered_fits_one_start_and_a_hundredth_more_does_not(protocol, head, closes):
    """The offer is found to a hundredth of itself (the bisection's step), so no finer here."""
    plan = cow_season(head, protocol, close_at=closes)
    assert not is_clean(plan)
    most, _ = offered(plan)
    assert is_clean(cow_season(most, protocol, close_at=closes))
    assert not is_clean(cow_season(most + max(1, head // 100), protocol, close_at=closes))


@pytest.mark.parametrize("protocol", COW_PROTOCOLS)
def test_the_starts_offered_each_fit(protocol):
    plan = cow_season(400, protocol)
    _, starts = offered(plan)
    split = cow_season(400, protocol, splits={"cows": starts})
    assert starts == len(split.groups)
    assert is_clean(split)


def test_a_second_chute_halves_every_run():
    one, two = (
        cow_season(100, "co_synch_insert7_cow", chutes=chutes).groups[0] for chutes in (1, 2)
    )
    for line, twice in zip(one.capacity, two.capacity, strict=True):
        assert line.hours_needed == pytest.approx(2 * twice.hours_needed)


def test_a_run_that_starts_the_clock_is_slowed_to_the_pace_of_the_insemination():
    """300 heifers: 4 h of window, but 7.5 h of treating against 12 h of AI drift by 4.5 h."""
    group = season(heifers(300), protocols={"heifers": "co_synch_insert7_heifer"}).groups[0]
    line = next(line for line in group.capacity if line.visit == "pgf")
    assert "pace of the insemination" in line.offer
    pgf, ai = (next(s for s in group.schedule if s.id == i) for i in ("pgf", "ai"))
    assert pgf.ends_utc - pgf.at_utc == ai.ends_utc - ai.at_utc


def test_nobody_waits_in_line_for_feed_or_watching():
    for visit in find_visits(LIBRARY.protocols["mga_pg_tai"]):
        if visit.id in {"mga_start", "mga_end"} or visit.does == {Do.WATCH}:
            assert work_rate(visit, library=LIBRARY, chutes=1) == 0


def test_pace_changes_only_the_run_an_insemination_hangs_on():
    visits = find_visits(LIBRARY.protocols["co_synch_insert7_cow"])
    full = durations(visits, head=100, library=LIBRARY, chutes=1)
    slow = paced(visits, full)
    changed = {v.id for v, a, b in zip(visits, full, slow, strict=True) if a != b}
    assert changed == {"pgf"}


def test_no_head_needs_no_time_and_makes_no_clash():
    plan = season(cows(3, hold_reason="sold"), protocols={"cows": "co_synch_insert7_cow"})
    (group,) = plan.groups
    assert group.ready == 0
    assert is_clean(plan)


def ways_out(plan):
    """Every set of wishes that the plan's words offer for its cows."""
    (text,) = [line.offer for g in plan.groups for line in g.capacity if "What gets" in line.offer]
    for flags in re.findall(r"\((--[^)]*)\)", text):
        splits = re.search(r"--split cows=(\d+)", flags)
        chutes = re.search(r"--chutes (\d+)", flags)
        yield {
            "splits": {"cows": int(splits[1])} if splits else {},
            "chutes": int(chutes[1]) if chutes else 1,
        }


@pytest.mark.parametrize(
    ("head", "protocol"),
    [(300, COW_PROTOCOLS[0]), (400, COW_PROTOCOLS[2]), (3000, COW_PROTOCOLS[0])],
)
def test_every_way_out_offered_gets_the_whole_group_through(head, protocol):
    """Planned anew as the words say, nothing is too long and no start meets another."""
    plan = cow_season(head, protocol)
    ways = list(ways_out(plan))
    assert ways
    for way in ways:
        done = cow_season(head, protocol, **way)
        assert is_clean(done), way
        assert not clashes_of(done, "other_group"), way


def test_a_second_chute_is_not_offered_where_seventeen_starts_are_needed():
    plan = cow_season(3000, "co_synch_insert7_cow")
    assert {"splits": {}, "chutes": 2} not in list(ways_out(plan))


def test_what_helps_is_said_once_and_elsewhere_pointed_to():
    plan = cow_season(3000, "co_synch_insert7_cow")
    said = [c for c in plan.clashes if "What gets all 3,000" in c.fix]
    assert len(said) == 1
    others = [c for c in plan.clashes if c.kind in {"capacity", "outside_hours"} and c not in said]
    assert {"As for GnRH, progesterone insert in."} == {c.fix for c in others}


def test_a_run_of_days_is_told_with_the_day_it_ends():
    """3,000 head at 40 an hour are 75 h: from Saturday 06:00 to Tuesday 09:00."""
    plan = cow_season(3000, "co_synch_insert7_cow")
    first = min(clashes_of(plan, "outside_hours"), key=lambda c: c.on)
    assert "from Sat 15 May 06:00 to Tue 18 May 09:00" in first.text

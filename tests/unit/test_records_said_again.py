"""Records said twice: corrected again, adopted twice, moved, bought by the bottle. All by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from ledger_events import event, made_id

from herds import LIBRARY
from sunup.planning.heats import HeatFigures
from sunup.planning.season_from_events import read_recorded
from sunup.records import observations as o
from sunup.records.event import Kind
from sunup.records.fold import fold

T0 = datetime(2027, 5, 10, 14, tzinfo=UTC)


def say(kind, day, body, **more):
    return event(kind, at=T0 + timedelta(days=day), body=body, **more)


def add(name):
    return say(Kind.FEMALE_ADDED, 0, {"tag": name, "listed": True}, female=made_id(name))


def correct(one, day, **told):
    body = {"taken_back": False, **told}
    return say(Kind.CORRECTED, day, body, corrects=one.id, female=one.female)


@pytest.fixture
def moved_a_day_back():
    """412 weighed on day 3, said to have been day 2."""
    weighed = say(Kind.WEIGHED, 3, {"weight_kg": 548}, female=made_id("412"))
    first = correct(weighed, 4, occurred_at=(T0 + timedelta(days=2)).isoformat())
    return [add("412"), add("413"), weighed, first]


def test_a_correction_corrected_in_its_weight_alone_keeps_the_time_it_gave(moved_a_day_back):
    again = correct(moved_a_day_back[-1], 5, body={"weight_kg": 458})
    (weight,) = fold([*moved_a_day_back, again]).females[made_id("412")].of(o.Weighed)
    assert (weight.weight_kg, weight.at) == (458, T0 + timedelta(days=2))


def test_a_correction_corrected_in_its_female_goes_to_the_other_and_keeps_its_time(
    moved_a_day_back,
):
    state = fold([*moved_a_day_back, correct(moved_a_day_back[-1], 5, female=made_id("413"))])
    assert state.females[made_id("412")].of(o.Weighed) == ()
    (weight,) = state.females[made_id("413")].of(o.Weighed)
    assert (weight.weight_kg, weight.at) == (548, T0 + timedelta(days=2))


def test_a_plan_adopted_twice_keeps_its_first_adoption_and_the_second_is_a_change():
    first, second = (
        say(Kind.PLAN_ADOPTED, day, {"plan_id": "p", "season": "2027", "plan": {"v": day}})
        for day in (0, 1)
    )
    record = fold([second, first]).plans["p"]
    assert record.adopted.event == first.id
    assert [change.event for change in record.changes] == [second.id]
    assert record.now.plan == {"v": 1}


def test_inserts_go_with_a_female_that_is_moved():
    """Three with inserts, one moved away: two are left, one is in the other group."""
    cows = [made_id(tag) for tag in ("1", "2", "3")]
    events = [add(tag) for tag in ("1", "2", "3")]
    events += [say(Kind.MOVED, 1, {"to": "Cows"}, female=cow) for cow in cows]
    events += [say(Kind.INSERT_PLACED, 2, {}, female=cow) for cow in cows]
    events.append(say(Kind.MOVED, 3, {"to": "Late"}, female=cows[0]))
    events += [
        say(Kind.TALLIED, 4, {"what": "inserts", "count": count}, group=group)
        for group, count in (("Cows", 2), ("Late", 1))
    ]
    tallies = fold(events).tallies
    assert sorted((t.expected, t.difference) for t in tallies) == [(1, 0), (2, 0)]


def test_bottles_bought_are_told_in_ml():
    """3 bottles of 100 mL are 300 mL."""
    body = {"item": "cloprostenol", "unit": "bottles", "amount": 3, "bottle_ml": 100.0}
    bought = say(Kind.STOCK_MOVED, 0, {**body, "why": "bought"})
    told = read_recorded(
        [bought],
        at=T0 + timedelta(days=1),
        figures=HeatFigures.of(LIBRARY),
        zone="America/Denver",
    )
    assert [change.amount for change in told.changes] == [300.0]

"""The sire put down where nobody named one is the one Today names for her, straw by straw."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import running, step

from sunup.app.heats import find_ai_lines, record_heats
from sunup.app.record import record_ai, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.stock import Parcel, move_stock, stock_now
from sunup.app.today import find_today
from sunup.records.event import Kind

TAGS = [str(2001 + i) for i in range(5)]


@pytest.fixture
def ranch():
    """Five cows treated up to PGF; H12 chosen before A31 for each, two straws of H12 left."""
    ranch, plan = running(5)
    ranch.plan = plan
    for sire, straws in (("H12", 2), ("A31", 9)):
        parcel = Parcel(item=sire, amount=straws, sire=True, tank="T1")
        move_stock(ranch.desk(), parcel, why="bought", at=ranch.now)
    body = {"sire": "H12", "alternates": ["A31"]}
    record_fact(ranch.desk(), TAGS, Kind.SIRE_ASSIGNED, body, at=ranch.now, words="chosen")
    for name in ("gnrh_1", "pgf"):
        ranch.now = step(plan, "cows", name).at_utc
        record_visit(ranch.desk(), "cows", name, TAGS, at=ranch.now)
    return ranch


def put_down(entry):
    return {
        line.tag: e.body["sire"]
        for line in entry.lines
        for e in line.events
        if e.kind is Kind.INSEMINATED
    }


def left(ranch):
    return {b.item.name: b.on_hand for b in stock_now(ranch.desk()) if b.item.kind == "semen"}


def test_on_heat_the_sire_is_that_of_the_list(ranch):
    ranch.now += timedelta(hours=36)
    record_heats(ranch.desk(), TAGS[:4], sign="standing", at=ranch.now)
    ranch.now += timedelta(hours=10)
    listed = {line.tag: line.sire for line in find_ai_lines(ranch.desk())}
    assert sorted(listed.values()) == ["A31", "A31", "H12", "H12"]
    # the last of the list is inseminated first, one at a time
    for tag in reversed(TAGS[:4]):
        assert put_down(record_ai(ranch.desk(), [tag], at=ranch.now)) == {tag: listed[tag]}
        ranch.now += timedelta(minutes=3)
    assert left(ranch) == {"H12": 0, "A31": 7}


def test_at_a_fixed_time_the_sire_is_that_of_today_in_any_order(ranch):
    ranch.now = step(ranch.plan, "cows", "ai").at_utc
    (visit,) = [v for v in find_today(ranch.desk()).work.now if v.visit == "ai"]
    told = dict(next(s for s in visit.steps if s.step.do == "ai").by_sire)
    named = {tag: sire for sire, tags in told.items() for tag in tags}
    assert {sire: len(tags) for sire, tags in told.items()} == {"A31": 3, "H12": 2}
    entry = record_visit(ranch.desk(), "cows", "ai", TAGS[::-1], at=ranch.now, keep=False)
    assert put_down(entry) == named
    for tag in TAGS[::-1]:
        entry = record_visit(ranch.desk(), "cows", "ai", [tag], at=ranch.now)
        assert put_down(entry) == {tag: named[tag]}
        assert "no_straw" not in {flag.rule for _, flag in entry.lines[0].flags}
    assert left(ranch) == {"H12": 0, "A31": 6}


def test_where_no_straws_are_kept_it_is_the_sire_chosen(ranch):
    ranch.events = [e for e in ranch.events if e.kind is not Kind.STOCK_MOVED]
    ranch.now = step(ranch.plan, "cows", "ai").at_utc
    entry = record_visit(ranch.desk(), "cows", "ai", TAGS, at=ranch.now)
    assert set(put_down(entry).values()) == {"H12"}

"""Today reads only females the season has to do with: it must say the same as when all are read."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from running_season import running, step

from sunup.app.heats import record_heats
from sunup.app.record import Details, record_ai, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.season import move
from sunup.app.stock import Parcel, move_stock, stock_now
from sunup.app.today import find_today
from sunup.records.event import Kind


@pytest.fixture(params=[False, True], ids=["no straws kept", "straws kept"])
def ranch(request):
    """Cows treated; one sold, one moved to another pasture, one tag nobody knows, stock bought."""
    ranch, plan = running(8)
    ranch.plan = plan
    parcels = [Parcel(item="progesterone_insert", amount=20), Parcel(item="cloprostenol", amount=9)]
    if request.param:
        parcels.append(Parcel(item="A31", amount=2, sire=True, tank="T1"))
    for parcel in parcels:
        move_stock(ranch.desk(), parcel, why="bought", at=ranch.now)
    record_ai(ranch.desk(), ["2007"], at=ranch.now, details=Details(sire="A31"))
    tags = [str(2001 + i) for i in range(8)]
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    record_visit(ranch.desk(), "cows", "gnrh_1", [*tags, "999"], at=ranch.now)
    ranch.now += timedelta(hours=3)
    record_fact(ranch.desk(), ["2007"], Kind.LEFT_HERD, {"why": "sold"}, at=ranch.now, words="sold")
    move(ranch.desk(), ["2008"], "", at=ranch.now)
    ranch.now = step(plan, "cows", "pgf").at_utc
    record_visit(ranch.desk(), "cows", "pgf", tags[:4], at=ranch.now)
    return ranch


@pytest.mark.parametrize("days", [0.5, 2.2, 30.0])
def test_today_says_the_same_as_when_every_female_is_read(ranch, days):
    if days == 2.2:
        ranch.now += timedelta(days=2)
        record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now)
    ranch.now = step(ranch.plan, "cows", "pgf").at_utc + timedelta(days=days)
    every, some = ranch.desk(), ranch.desk(season_only=True)
    assert replace(find_today(every), work=None) == replace(find_today(some), work=None)
    assert find_today(every).work == find_today(some).work
    assert stock_now(every) == stock_now(some)


def test_who_left_long_ago_is_not_read_and_her_drugs_are_still_counted(ranch):
    ranch.now += timedelta(days=30)
    some = ranch.desk(season_only=True)
    assert "2008" not in some.season.by_tag()
    assert "999" in some.season.by_tag(), "an unlisted tag is still to be identified"
    inserts = next(b for b in stock_now(some) if b.item.kind == "insert")
    assert inserts.used == 9

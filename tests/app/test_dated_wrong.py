"""An entry dated into another year spoils no advice on what is recorded now."""

from __future__ import annotations

from datetime import timedelta

from running_season import running, step

from sunup.app.heats import record_heats
from sunup.app.record import record_ai, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.stock import Parcel, move_stock
from sunup.planning.insemination_times import Timeliness
from sunup.records.event import Kind


def test_a_purchase_of_next_year_makes_no_heat_of_today_too_late():
    ranch, plan = running(3)
    for name in ("gnrh_1", "pgf"):
        ranch.now = step(plan, "cows", name).at_utc
        record_visit(ranch.desk(), "cows", name, ["2001", "2002"], at=ranch.now)
    parcel = Parcel(item="cloprostenol", amount=1, bottle_ml=50)
    move_stock(ranch.desk(), parcel, why="bought", at=ranch.now + timedelta(days=366))
    parcel = Parcel(item="A31", amount=4, sire=True)
    move_stock(ranch.desk(), parcel, why="bought", at=ranch.now)
    body = {"sire": "H12", "alternates": ["A31"]}
    record_fact(ranch.desk(), ["2001"], Kind.SIRE_ASSIGNED, body, at=ranch.now, words="chosen")
    ranch.now += timedelta(hours=40)
    latest = ranch.now + timedelta(days=330)
    told = record_heats(ranch.desk(at=latest), ["2001"], sign="standing", at=ranch.now)
    (line,) = told.lines
    assert line.standing is not Timeliness.TOO_LATE
    assert "days ago" not in line.text
    ranch.now += timedelta(hours=10)
    entry = record_ai(ranch.desk(at=latest), ["2001"], at=ranch.now)
    assert entry.sires_taken == (("A31", ("2001",)),)

"""The expiry held for a lot is asked when the lot is named."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import DENVER, running, step

from sunup.app.record import Details, record_visit
from sunup.app.record_off_plan import Dose, record_drug
from sunup.app.stock import Parcel, move_stock


@pytest.fixture
def ranch():
    """Two cows; inserts P1 and cloprostenol C1 expire the day before the first treatment."""
    ranch, plan = running(2)
    first = step(plan, "cows", "gnrh_1").at_utc
    ends = first.astimezone(DENVER).date() - timedelta(days=1)
    for item, lot in (("progesterone_insert", "P1"), ("cloprostenol", "C1")):
        bottle = 100 if item == "cloprostenol" else None
        parcel = Parcel(item=item, amount=2, lot=lot, expires_on=ends, bottle_ml=bottle)
        move_stock(ranch.desk(), parcel, why="bought", at=ranch.now)
    ranch.now = first
    return ranch


def expired(entry):
    return [text.text for _, text in entry.lines[0].flags if text.rule == "expired"]


def test_an_insert_of_an_expired_lot_is_flagged_at_its_visit(ranch):
    details = Details(lots={"insert_in": "p1"})
    entry = record_visit(ranch.desk(), "cows", "gnrh_1", ["2001"], at=ranch.now, details=details)
    (text,) = expired(entry)
    assert text.startswith("by what stock holds, this lot expired")
    other = Details(lots={"insert_in": "P2"})
    entry = record_visit(ranch.desk(), "cows", "gnrh_1", ["2002"], at=ranch.now, details=other)
    assert expired(entry) == []


def test_a_drug_off_the_plan_too_and_what_is_read_on_the_bottle_goes_first(ranch):
    dose = Dose(ml=2, lot="C1")
    entry = record_drug(ranch.desk(), "cloprostenol", ["2001"], at=ranch.now, dose=dose)
    assert len(expired(entry)) == 1
    later = ranch.now.astimezone(DENVER).date() + timedelta(days=300)
    dose = Dose(ml=2, lot="C1", expires_on=later)
    entry = record_drug(ranch.desk(), "cloprostenol", ["2002"], at=ranch.now, dose=dose)
    assert expired(entry) == []

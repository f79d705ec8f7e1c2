"""A value no animal and no drug has is kept, and asked about as it is recorded."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from running_season import running, step

from herds import heifer
from sunup.app.record import Details, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.record_off_plan import Dose, record_drug
from sunup.app.stock import Parcel, doubt_loss, move_stock, stock_now
from sunup.records.event import Kind


@pytest.fixture
def ranch():
    """Two cows on the day of their first treatment."""
    ranch, plan = running(2)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    return ranch


def rules(entry):
    return {flag.rule for line in entry.lines for _, flag in line.flags}


@pytest.mark.parametrize(
    ("kind", "body", "is_odd"),
    [
        (Kind.WEIGHED, {"weight_kg": 3628.7}, True),
        (Kind.WEIGHED, {"weight_kg": 610.0}, False),
        (Kind.CALVED, {"calves": [{"sex": "male", "alive": True, "weight_kg": 200.0}]}, True),
        (Kind.CALVED, {"calves": [{"sex": "male", "alive": True, "weight_kg": 41.0}]}, False),
        (Kind.WEANED, {"calves": 1, "weight_kg": 2450.0}, True),
        (Kind.WEANED, {"calves": 2, "weight_kg": 480.0}, False),
    ],
)
def test_a_weight_is_kept_and_asked_about(ranch, kind, body, is_odd):
    entry = record_fact(ranch.desk(), ["2001"], kind, body, at=ranch.now, words="said")
    assert ("weight_not_believed" in rules(entry)) is is_odd
    assert entry.events[-1].body == body


@pytest.mark.parametrize(("ml", "is_odd"), [(200.0, True), (2.0, False)])
def test_a_dose_is_kept_and_asked_about_at_a_visit_and_off_it(ranch, ml, is_odd):
    entry = record_visit(
        ranch.desk(), "cows", "gnrh_1", ["2001"], at=ranch.now, details=Details(dose_ml=ml)
    )
    assert ("dose_not_believed" in rules(entry)) is is_odd
    entry = record_drug(ranch.desk(), "cloprostenol", ["2002"], at=ranch.now, dose=Dose(ml=ml))
    assert ("dose_not_believed" in rules(entry)) is is_odd
    other = record_drug(ranch.desk(), "oxytetracycline", ["2002"], at=ranch.now, dose=Dose(ml=60))
    assert "dose_not_believed" not in rules(other)


def test_a_finding_of_a_day_before_she_was_born_is_asked_about():
    ranch, _ = running(females=[heifer("7001", born_on=date(2026, 3, 1))])
    body = {"method": "ultrasound", "result": "not_pregnant"}
    at = ranch.now - timedelta(days=3650)
    entry = record_fact(ranch.desk(), ["7001"], Kind.PREGNANCY_CHECKED, body, at=at, words="open")
    assert "before_birth" in rules(entry)


def test_what_went_out_and_never_came_in_is_asked_about(ranch):
    for parcel in (
        Parcel(item="A31", amount=18, sire=True),
        Parcel(item="cloprostenol", amount=1, bottle_ml=100, lot="C1"),
    ):
        move_stock(ranch.desk(), parcel, why="bought", at=ranch.now)
    desk = ranch.desk()
    assert doubt_loss(desk, Parcel(item="A31", amount=2, sire=True)) is None
    assert doubt_loss(desk, Parcel(item="cloprostenol", amount=20, lot="c1")) is None
    told = doubt_loss(desk, Parcel(item="A31", amount=500, sire=True))
    assert told == "500 straws out, and 18 on hand by the records"
    assert "--straws" in doubt_loss(desk, Parcel(item="A31", amount=5))
    assert "did you mean cloprostenol" in doubt_loss(desk, Parcel(item="cloprostenoll", amount=500))
    told = doubt_loss(desk, Parcel(item="cloprostenol", amount=2, bottle_ml=100))
    assert told == "200 mL out, and 100 on hand by the records"
    move_stock(desk, Parcel(item="A31", amount=500, sire=True), why="broken", at=ranch.now)
    assert [b.on_hand for b in stock_now(ranch.desk()) if b.item.name == "A31"] == [-482]

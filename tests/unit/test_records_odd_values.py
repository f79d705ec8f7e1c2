"""Values no animal and no drug has are told of a whole ledger."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from ledger_events import event, made_id

from sunup.planning.odd_limits import odd_limits
from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.records.odd_herd import find_odd

T0 = datetime(2027, 5, 1, 14, tzinfo=UTC)
PGF = {"act": "pgf", "active": "cloprostenol"}


def rules(library, kind, body, *, day=0.0):
    her = made_id("cow")
    told = {"tag": "412", "listed": True, "born_on": "2026-03-01"}
    events = [
        event(Kind.FEMALE_ADDED, at=T0 - timedelta(days=1), body=told, female=her),
        event(Kind.MOVED, at=T0 - timedelta(hours=23), body={"to": "Cows"}, female=her),
        event(kind, at=T0 + timedelta(days=day), body=body, female=her),
    ]
    return [odd.rule for odd in find_odd(fold(events), odd_limits(library))]


@pytest.mark.parametrize(
    ("kind", "body", "expected"),
    [
        (Kind.WEIGHED, {"weight_kg": 3628.7}, ["weight_not_believed"]),
        (Kind.WEIGHED, {"weight_kg": 500}, []),
        (Kind.WEANED, {"calves": 2, "weight_kg": 480}, []),
        (Kind.TREATED, {**PGF, "dose_ml": 200}, ["dose_not_believed"]),
        (Kind.TREATED, {**PGF, "dose_ml": 2}, []),
        (Kind.TREATED, {"act": "other", "active": "x", "dose_ml": 60}, []),
    ],
)
def test_a_value_out_of_reason_is_told(library, kind, body, expected):
    assert rules(library, kind, body) == expected


def test_what_was_recorded_before_her_birth_is_told(library):
    assert "before_birth" in rules(library, Kind.WEIGHED, {"weight_kg": 500}, day=-2000)

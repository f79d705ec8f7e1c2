"""Made-up events for tests of the ledger."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from sunup.records.event import Event, Kind

RANCH = "Test ranch"
START = datetime(2027, 4, 1, 13, 30, tzinfo=UTC)


def made_id(*words):
    """An id that the same words give again."""
    return str(uuid.uuid5(uuid.NAMESPACE_OID, "/".join(map(str, words))))


def event(kind, *, at=START, id_=None, ranch=RANCH, female=None, group=None, **more):
    """One event; `body` and any column by name."""
    return Event(
        id=id_ or str(uuid.uuid4()),
        ranch=ranch,
        kind=kind,
        version=1,
        occurred_at=at,
        zone="America/Denver",
        entered_at=more.pop("entered_at", at + timedelta(minutes=1)),
        female=female,
        group=group,
        body=more.pop("body", {}),
        **more,
    )


def season(n_females, *, n_weights=3, seed="a", ranch=RANCH, start=START):
    """Events of a small season: females added, put in a group, treated, weighed, some retagged."""
    events = []
    for i in range(n_females):
        female = made_id(seed, "female", i)
        at = start + timedelta(minutes=i)

        def add(kind, body, *, days=0, female=female, at=at, i=i, **more):
            when = at + timedelta(days=days)
            name = made_id(seed, i, kind, days)
            events.append(
                event(kind, at=when, id_=name, female=female, body=body, ranch=ranch, **more)
            )

        rfid = f"840003{i:09d}"
        add(Kind.FEMALE_ADDED, {"tag": str(1000 + i), "listed": True, "rfid": rfid})
        add(Kind.MOVED, {"to": f"Group {i % 3}"}, days=1)
        for n in range(n_weights):
            add(Kind.WEIGHED, {"weight_kg": 500.0 + n + i / 8}, days=2 + n, entered_by="José")
        add(Kind.TREATED, {"act": "pgf", "dose_ml": 5, "lot": "A1"}, days=20)
        if i % 5 == 0:
            add(Kind.TAG_CHANGED, {"tag": f"R{i}"}, days=30, clock_offset_s=12.5)
        if i % 7 == 0:
            add(Kind.LEFT_HERD, {"why": "sold"}, days=40)
    return events

"""A ledger of four females for tests of files, and ways to take a file into it."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from sunup.exchange.roster import build_roster
from sunup.exchange.standing import stand
from sunup.records.event import Event, Kind
from support.ledger_events import made_id

RANCH = "R"
ZONE = ZoneInfo("America/Denver")
NOW = datetime(2027, 10, 1, 12, tzinfo=UTC)
ADDED = datetime(2027, 3, 1, 19, tzinfo=UTC)


def event(kind, body, *, female=None, at=ADDED, group=None):
    return Event(
        id=made_id(kind, female, at, sorted(body.items(), key=str)),
        ranch=RANCH,
        kind=kind,
        version=1,
        occurred_at=at,
        zone=ZONE.key,
        entered_at=at,
        female=female,
        group=group,
        body=body,
    )


def four():
    """101 with RFID, 102 without, 103 with RFID in group heifers; two wear 200."""
    listed = [
        ("a", "101", "840003123456789", "cow", "cows"),
        ("b", "102", None, "cow", "cows"),
        ("c", "103", "840003123456780", "heifer", "heifers"),
        ("d", "200", None, "cow", "cows"),
        ("e", "200", None, "cow", "cows"),
    ]
    events = []
    for female, tag, rfid, class_, group in listed:
        body = {"tag": tag, "listed": True, "class": class_} | ({"rfid": rfid} if rfid else {})
        events.append(event(Kind.FEMALE_ADDED, body, female=female))
        events.append(event(Kind.MOVED, {"to": group}, female=female))
    return events


def roster(events):
    return build_roster(stand(events))


def recorded(drafts):
    return [
        Event(
            id=one.id,
            ranch=RANCH,
            kind=one.kind,
            version=1,
            occurred_at=one.at,
            zone=ZONE.key,
            entered_at=one.entered_at or NOW,
            entered_by=one.by,
            female=one.female,
            group=one.group,
            body=one.body,
            corrects=one.corrects,
        )
        for one in drafts
    ]

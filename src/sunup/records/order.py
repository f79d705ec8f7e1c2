"""The order of events: when they happened by a right clock, then when entered, then by id.

Both times of an event are as its device's clock said; where the clock's offset was measured it is
taken off. The number a ledger files an event under plays no part: it differs by ledger.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.records.event import Event


def right_clock(told: datetime, offset_s: float | None) -> datetime:
    """Return a time a device told, less its clock's offset, in UTC.

    A time without a zone is taken as UTC; an offset that leads out of the calendar is not used.

    Parameters
    ----------
    told : datetime
    offset_s : float or None
        Device clock minus true time. [s]

    Examples
    --------
    >>> right_clock(datetime(2027, 5, 2, 12, tzinfo=UTC), 86_400.0).isoformat()
    '2027-05-01T12:00:00+00:00'
    """
    if told.tzinfo is not UTC:
        told = _to_utc(told)
    if not offset_s:
        return told
    try:
        return told - timedelta(seconds=offset_s)
    except (OverflowError, ValueError):
        return told


def _to_utc(told: datetime) -> datetime:
    if told.tzinfo is None:
        return told.replace(tzinfo=UTC)
    try:
        return told.astimezone(UTC)
    except OverflowError:
        return told.replace(tzinfo=UTC)


def happened_at(event: Event) -> datetime:
    """Return when an event happened, by a right clock, UTC."""
    return right_clock(event.occurred_at, event.clock_offset_s)


def entered_at(event: Event) -> datetime:
    """Return when an event was entered, by a right clock, UTC."""
    return right_clock(event.entered_at, event.clock_offset_s)


def order_key(event: Event) -> tuple[datetime, datetime, str]:
    """Return what events are sorted by."""
    return happened_at(event), entered_at(event), event.id


def in_order(events: Iterable[Event]) -> list[Event]:
    """Return events in their order, as they were recorded."""
    return sorted(events, key=order_key)


def each_once(events: Iterable[Event]) -> tuple[list[Event], tuple[str, ...]]:
    """Return every event once, and the ids under which two different ones came.

    Of two different events with one id the same is kept whatever order they come in.
    """
    found: dict[str, Event] = {}
    doubled: set[str] = set()
    for event in events:
        known = found.setdefault(event.id, event)
        if known is not event and known != event:
            doubled.add(event.id)
            found[event.id] = min(known, event, key=repr)
    return list(found.values()), tuple(sorted(doubled))

"""An event as a row of the ledger and back, nothing lost."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from sunup.base.hours import NaiveInstantError
from sunup.base.problems import SunupError
from sunup.records.event import Event, Kind
from sunup.store.faults import NewerLedgerError
from sunup.store.tables import event_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

COLUMNS = tuple(column for column in event_table.columns if column.name != "seq")
NAMES = tuple(column.name for column in COLUMNS)
_KINDS = {str(kind): kind for kind in Kind}
_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode
_encode_ascii = json.JSONEncoder(allow_nan=False, separators=(",", ":")).encode


class UnstorableError(SunupError):
    """An event holds something no database can keep; `what` says what."""

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.what = what


def write_instant(when: datetime) -> str:
    """Return an instant as the ledger keeps it: UTC, with microseconds, of one length.

    Raises
    ------
    NaiveInstantError
        If it has no zone.

    Examples
    --------
    >>> write_instant(datetime(2027, 5, 25, 14, 30, tzinfo=UTC))
    '2027-05-25T14:30:00.000000Z'
    """
    if when.tzinfo is None:
        raise NaiveInstantError(when)
    return when.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def to_row(event: Event) -> dict[str, Any]:
    """Return an event as a row.

    Raises
    ------
    UnstorableError
        If a number is not finite, or a text holds what is no character.
    """
    offset = event.clock_offset_s
    if offset is not None and not math.isfinite(offset):
        message = "the clock's offset is not a number"
        raise UnstorableError(message)
    row = {
        "id": event.id,
        "ranch": event.ranch,
        "kind": str(event.kind),
        "version": event.version,
        "occurred_at": write_instant(event.occurred_at),
        "zone": event.zone,
        "entered_at": write_instant(event.entered_at),
        "entered_by": event.entered_by,
        "device": event.device,
        "clock_offset_s": None if offset is None else float(offset),
        "female": event.female,
        "grp": event.group,
        "body": _write_body(event.body),
        "corrects": event.corrects,
    }
    for name in ("id", "ranch", "zone", "entered_by", "device", "female", "grp", "corrects"):
        text = row[name]
        if isinstance(text, str) and not text.isprintable():
            _check_text(name, text)
    return row


def to_event(row: Sequence[Any], ledger: str) -> Event:
    """Return the event of a row whose columns stand as in `COLUMNS`, as it was recorded.

    Raises
    ------
    NewerLedgerError
        If this program does not know its kind.
    """
    kind = _KINDS.get(row[2])
    if kind is None:
        raise NewerLedgerError(ledger, f"an event called {row[2]}")
    return Event(
        row[0],
        row[1],
        kind,
        row[3],
        datetime.fromisoformat(row[4]),
        row[5],
        datetime.fromisoformat(row[6]),
        row[7],
        row[8],
        row[9],
        row[10],
        row[11],
        json.loads(row[12]),
        row[13],
    )


def is_same(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two rows record the same: all columns alike, bodies by their values.

    The order of names in a body and 5 for 5.0 do not count: another program may write them so.
    """
    if any(one[name] != other[name] for name in NAMES if name != "body"):
        return False
    a, b = one["body"], other["body"]
    return bool(a == b) or _is_same_json(json.loads(a), json.loads(b))


def _is_same_json(a: Any, b: Any) -> bool:
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(_is_same_json(a[k], b[k]) for k in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(_is_same_json, a, b))
    return bool(a == b)


def _write_body(body: Mapping[str, Any]) -> str:
    try:
        text = _encode(dict(body))
        if not text.isascii():
            try:
                text.encode()
            except UnicodeEncodeError:  # half a character, from some device: kept as an escape
                text = _encode_ascii(dict(body))
    except (ValueError, TypeError, RecursionError) as error:
        message = f"its body cannot be written as JSON ({error})"
        raise UnstorableError(message) from None
    return text


def _check_text(name: str, text: str) -> None:
    if "\0" in text:
        message = f"'{name}' holds a NUL character"
        raise UnstorableError(message)
    try:
        text.encode()
    except UnicodeEncodeError:
        message = f"'{name}' holds half a character"
        raise UnstorableError(message) from None


def is_storable_again(event: Event) -> bool:
    """Whether an event that was read can be written and read to the same event."""
    try:
        row = to_row(event)
    except UnstorableError:
        return False
    return to_event([row[name] for name in NAMES], "") == event

"""A ledger's line of JSON, read for keeping.

``sunup.records.reading`` reads a line for use and refuses a body that is not of its form. Here a
line is only refused where it cannot be kept whole: whatever a ledger holds, perhaps from a time of
other rules, must come into another one. What is wrong with a body is told beside it.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from sunup.base.problems import Problem
from sunup.records.event import Event, Kind
from sunup.records.reading import write_event
from sunup.store.rows import NAMES

_GROUP = "group"  # the column is called grp: "group" is a reserved word in databases
_KEYS = tuple(_GROUP if name == "grp" else name for name in NAMES)
_TEXTS = ("id", "ranch", "kind", "occurred_at", "zone", "entered_at", "entered_by", "device")
_MAY_BE_NONE = ("female", _GROUP, "corrects")
_KINDS = {str(kind): kind for kind in Kind}


def write_line(event: Event) -> str:
    """Return an event as one line of JSON, with its line end."""
    return write_event(event) + "\n"


def read_line(line: bytes, where: str) -> Event | Problem:
    """Read one line; a problem where it holds no event this program can keep whole.

    Parameters
    ----------
    line : bytes
        UTF-8, with or without a byte-order mark.
    where : str
        File and line, for the message.
    """
    try:
        found = json.loads(line.decode("utf-8-sig"), parse_constant=_no_number)
    except UnicodeDecodeError:
        return Problem(where, "It is not UTF-8 text.", "Export it again.")
    except (ValueError, RecursionError):
        return Problem(where, "It is not JSON.", "Export it again, or mend the line.")
    if not isinstance(found, dict):
        return Problem(where, "It holds no event.", "One event a line is wanted.")
    strange = sorted(set(found) - set(_KEYS))
    if strange:
        what = f"It holds '{strange[0]}', which this program does not know."
        return Problem(where, what, "If a newer Sunup wrote it, update the program.")
    kind = _KINDS.get(str(found.get("kind")))
    if kind is None:
        what = f"'{found.get('kind')}' is no kind of event known here."
        return Problem(where, what, "If a newer Sunup wrote it, update the program.")
    try:
        return _read(found, kind)
    except _WrongError as error:
        return Problem(where, f"'{error.key}' {error.what}.", "Mend the line or leave it out.")


class _WrongError(Exception):
    def __init__(self, key: str, what: str) -> None:
        super().__init__(key, what)
        self.key = key
        self.what = what


def _read(found: dict[str, Any], kind: Kind) -> Event:
    for key in _TEXTS[:6]:
        if not found.get(key):
            raise _WrongError(key, "is missing")
    for key in _TEXTS:
        if not isinstance(found.get(key, ""), str):
            raise _WrongError(key, "is no text")
    for key in _MAY_BE_NONE:
        text = found.get(key)
        if text is not None and not isinstance(text, str):
            raise _WrongError(key, "is no text")
    version, offset, body = found.get("version"), found.get("clock_offset_s"), found.get("body", {})
    if not isinstance(version, int) or isinstance(version, bool) or not 0 <= version < 2**31:
        raise _WrongError("version", "is no whole number")
    if offset is not None and (isinstance(offset, bool) or not isinstance(offset, int | float)):
        raise _WrongError("clock_offset_s", "is no number")
    if not isinstance(body, dict):
        raise _WrongError("body", "is not an object")
    return Event(
        id=found["id"],
        ranch=found["ranch"],
        kind=kind,
        version=version,
        occurred_at=_read_instant(found, "occurred_at"),
        zone=found["zone"],
        entered_at=_read_instant(found, "entered_at"),
        entered_by=found.get("entered_by", ""),
        device=found.get("device", ""),
        clock_offset_s=None if offset is None else float(offset),
        female=found.get("female"),
        group=found.get(_GROUP),
        body=body,
        corrects=found.get("corrects"),
    )


def _read_instant(found: dict[str, Any], key: str) -> datetime:
    try:
        when = datetime.fromisoformat(found[key])
    except ValueError:
        raise _WrongError(key, f"is no instant: {found[key]!r:.40}") from None
    if when.tzinfo is None:
        raise _WrongError(key, "has no zone: write 2027-05-25T14:30:00Z")
    try:
        return when.astimezone(UTC)
    except OverflowError:
        raise _WrongError(key, "is outside the calendar") from None


def _no_number(_text: str) -> Any:
    message = "not a number"
    raise ValueError(message)

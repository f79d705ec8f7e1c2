"""One event as one line of JSON and back, nothing lost; every fault told by line and field.

Fields of a body this program does not know are kept as they are. An event is read as it was
recorded: ``sunup.records.upcast`` brings an older form up.
"""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from sunup.base.hours import NaiveInstantError
from sunup.base.problems import Problem, Severity
from sunup.records.event import Event, Kind
from sunup.records.forms import find_faults
from sunup.records.placing import EITHER, OF_A_FEMALE
from sunup.records.upcast import CURRENT, is_newer, upcast

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

_KEYS = (
    "id",
    "ranch",
    "kind",
    "version",
    "occurred_at",
    "zone",
    "entered_at",
    "entered_by",
    "device",
    "clock_offset_s",
    "female",
    "group",
    "body",
    "corrects",
)
_MUST_TEXTS = ("id", "ranch", "kind", "occurred_at", "zone", "entered_at")
_MAY_TEXTS = ("entered_by", "device", "female", "group", "corrects")
_KINDS = {str(kind): kind for kind in Kind}
_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_UPDATE = "If a newer Sunup wrote it, update the program."
_MEND = "Mend the line, or leave it out."
_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode
_encode_ascii = json.JSONEncoder(allow_nan=False, separators=(",", ":")).encode


def write_event(event: Event) -> str:
    """Return an event as one line of JSON, without a line end.

    Absent fields are left out; instants are UTC with microseconds. Half a character of some device
    is written as an escape, so the line is always UTF-8.

    Raises
    ------
    ValueError
        If a number is not finite: JSON has no word for it.
    NaiveInstantError
        If a time has no zone.
    """
    found: dict[str, Any] = {
        "id": event.id,
        "ranch": event.ranch,
        "kind": str(event.kind),
        "version": event.version,
        "occurred_at": _instant(event.occurred_at),
        "zone": event.zone,
        "entered_at": _instant(event.entered_at),
        "entered_by": event.entered_by or None,
        "device": event.device or None,
        "clock_offset_s": event.clock_offset_s,
        "female": event.female,
        "group": event.group,
        "body": dict(event.body),
        "corrects": event.corrects,
    }
    found = {key: value for key, value in found.items() if value is not None}
    text = _encode(found)
    if not text.isascii():
        try:
            text.encode()
        except UnicodeEncodeError:
            return _encode_ascii(found)
    return text


def read_event(line: str | bytes, where: str) -> tuple[Event | None, tuple[Problem, ...]]:
    """Read one line of JSON.

    Parameters
    ----------
    line : str or bytes
        UTF-8, with or without a byte-order mark.
    where : str
        File and line, for messages.

    Returns
    -------
    event : Event or None
        As it was recorded; None where a problem is an error.
    problems : tuple of Problem
    """
    try:
        text = line.decode("utf-8-sig") if isinstance(line, bytes) else line.removeprefix("\ufeff")
        found = json.loads(text, parse_constant=_no_number, object_pairs_hook=_no_doubles)
    except UnicodeDecodeError:
        return None, (Problem(where, "It is not UTF-8 text.", "Export it again."),)
    except _DoubledError as error:
        what = f"'{error.key}' stands in it twice."
        return None, (Problem(where, what, "Take one of them out."),)
    except (ValueError, RecursionError):
        return None, (Problem(where, "It is not JSON.", "Export it again, or mend the line."),)
    if not isinstance(found, dict):
        what = "It holds no event."
        return None, (Problem(where, what, "One event a line is wanted, as {...}."),)
    problems = list(_envelope_faults(found, where))
    if problems:
        return None, tuple(problems)
    event = _to_event(found)
    problems = check_event(event, where)
    if any(p.severity is Severity.ERROR for p in problems):
        return None, tuple(problems)
    return event, tuple(problems)


def check_event(event: Event, where: str) -> list[Problem]:
    """Return what is wrong with one event: with what it names, and with its body.

    Parameters
    ----------
    event : Event
        Of any version this program knows; the body is checked in its present form.
    where : str
        For messages.
    """
    kind = event.kind
    if is_newer(kind, event.version):
        what = f"{kind} has form {event.version}; this program knows {CURRENT[kind]}."
        return [Problem(where, what, "Update the program, then read it again.")]
    problems = [
        Problem(where, f"{kind}: '{field}' {what}.", fix)
        for field, what, fix in find_faults(kind, upcast(event).body)
    ]
    if kind in OF_A_FEMALE and not event.female:
        problems.append(Problem(where, f"{kind} names no female.", "Give her id in 'female'."))
    if kind in EITHER and not event.female and not event.group:
        what = f"{kind} names neither a female nor a group."
        problems.append(Problem(where, what, "Give 'female' or 'group'."))
    if kind is Kind.CORRECTED and not event.corrects:
        fix = "Give the id of the event it puts right in 'corrects'."
        problems.append(Problem(where, "Corrected names no event.", fix))
    if kind is not Kind.CORRECTED and event.corrects:
        what = f"{kind} has 'corrects', which only Corrected may have."
        problems.append(Problem(where, what, "Record a Corrected event instead."))
    return problems


class _DoubledError(Exception):
    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; a name that stands twice would lose one of its values."""
    found = dict(pairs)
    if len(found) != len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise _DoubledError(key)
            seen.add(key)
    return found


def _no_number(text: str) -> Any:
    raise ValueError(text)


def _instant(when: datetime) -> str:
    if when.tzinfo is None:
        raise NaiveInstantError(when)
    return when.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def _envelope_faults(found: Mapping[str, Any], where: str) -> Iterable[Problem]:
    strange = sorted(set(found) - set(_KEYS))
    if strange:
        yield Problem(where, f"It holds '{strange[0]}', which no event has.", _UPDATE)
    for key in _MUST_TEXTS:
        value = found.get(key)
        if value is None or value == "":
            yield Problem(where, f"'{key}' is missing.", _MEND)
        elif not isinstance(value, str):
            yield Problem(where, f"'{key}' is not text in quotes.", _MEND)
        else:
            yield from _text_faults(key, value, where)
    for key in _MAY_TEXTS:
        if not isinstance(found.get(key), str | None):
            yield Problem(where, f"'{key}' is not text in quotes.", _MEND)
    version = found.get("version")
    if type(version) is not int or not 0 <= version < 2**31:
        yield Problem(where, "'version' is not a whole number from 0.", _MEND)
    offset = found.get("clock_offset_s")
    if offset is not None and (type(offset) not in {int, float} or abs(offset) > 1e12):
        what = "'clock_offset_s' is not a number of seconds."
        yield Problem(where, what, "Give seconds the device's clock is ahead, or leave it out.")
    if not isinstance(found.get("body", {}), dict):
        yield Problem(where, "'body' is not an object, as {...}.", _MEND)


def _text_faults(key: str, value: str, where: str) -> Iterable[Problem]:
    if key == "id" and not _ID.fullmatch(value):
        what = f"'id' is not a UUID in lower case with hyphens: {value[:40]!r}."
        yield Problem(where, what, "Ids are made where a thing is recorded; take the line from it.")
    elif key == "kind" and value not in _KINDS:
        yield Problem(where, f"{value[:40]!r} is no kind of event known here.", _UPDATE)
    elif key == "zone" and not _is_zone(value):
        what = f"{value[:40]!r} is not a time zone we know."
        yield Problem(where, what, "Give an IANA name such as America/Denver.")
    elif key in {"occurred_at", "entered_at"} and _read_instant(value) is None:
        what = f"'{key}' is not an instant with a zone: {value[:40]!r}."
        yield Problem(where, what, "Write it as 2027-05-25T14:30:00Z.")


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return False
    return True


def _read_instant(text: str) -> datetime | None:
    try:
        when = datetime.fromisoformat(text)
        return None if when.tzinfo is None else when.astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def _to_event(found: Mapping[str, Any]) -> Event:
    """The event of an object without faults."""
    offset = found.get("clock_offset_s")
    return Event(
        id=found["id"],
        ranch=found["ranch"],
        kind=_KINDS[found["kind"]],
        version=found["version"],
        occurred_at=datetime.fromisoformat(found["occurred_at"]).astimezone(UTC),
        zone=found["zone"],
        entered_at=datetime.fromisoformat(found["entered_at"]).astimezone(UTC),
        entered_by=found.get("entered_by") or "",
        device=found.get("device") or "",
        clock_offset_s=None if offset is None else float(offset),
        female=found.get("female"),
        group=found.get("group"),
        body=found.get("body", {}),
        corrects=found.get("corrects"),
    )

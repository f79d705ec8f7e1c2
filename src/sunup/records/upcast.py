"""Older forms of bodies brought up to the present one, a step at a time.

A body whose form changes gets a new version and a step here from the one before; the step stays for
good, and so does a fixture of every version (``tests/support/event_versions.jsonl``). Stored events
are never rewritten: they are brought up each time they are read.

Version 0 is the form of development versions from before the first release.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

CURRENT: Mapping[Kind, int] = dict.fromkeys(Kind, 1)
FIRST_RELEASED = 1  # what a correction's body is written in where it does not say


def _heat_seen_from_0(body: Mapping[str, Any]) -> dict[str, Any]:
    """Signs were past tense: stood, mounted."""
    words = {"stood": "standing", "mounted": "mounting"}
    sign = body.get("sign")
    return {**body, "sign": words.get(sign, sign) if isinstance(sign, str) else sign}


STEPS: Mapping[tuple[Kind, int], Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    (Kind.HEAT_SEEN, 0): _heat_seen_from_0,
}


def is_newer(kind: Kind, version: int) -> bool:
    """Whether a body's form is newer than this program knows."""
    return version > CURRENT[kind]


def upcast_body(kind: Kind, version: int, body: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a body brought up to the present form of its kind.

    Parameters
    ----------
    kind : Kind
    version : int
        Version the body is written in.
    body : mapping

    Returns
    -------
    mapping
        The body itself where its form is the present one, or newer.
    """
    for step in range(max(version, 0), CURRENT[kind]):
        change = STEPS.get((kind, step))
        if change is not None:
            body = change(body)
    return body


def upcast(event: Event) -> Event:
    """Return an event brought up to the present form; the same event where it has it, or a newer.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> now = datetime(2027, 5, 25, 6, tzinfo=UTC)
    >>> old = Event("1", "r", Kind.HEAT_SEEN, 0, now, "UTC", now, body={"sign": "stood"})
    >>> upcast(old).version, upcast(old).body
    (1, {'sign': 'standing'})
    """
    if event.version >= CURRENT[event.kind]:
        return event
    return replace(
        event,
        version=CURRENT[event.kind],
        body=upcast_body(event.kind, event.version, event.body),
    )

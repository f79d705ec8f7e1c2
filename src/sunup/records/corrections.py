"""Events as they stand after corrections; nothing that was said is lost.

A correction takes its event back, or states it anew: what it does not mention stays as it was. Of
several corrections of one event the one entered last holds. A correction may itself be corrected:
taken back, it is as if never made; stated anew, the newer words replace its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from sunup.records.event import Event, Kind
from sunup.records.forms import has_form
from sunup.records.order import each_once, entered_at, happened_at, right_clock
from sunup.records.state import Versions
from sunup.records.upcast import FIRST_RELEASED, is_newer, upcast, upcast_body

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


class Standing(NamedTuple):
    """One event as it stands, its body in the present form; compares in the order of events.

    Both times are by a right clock; `event` keeps the device's own unless it was corrected.
    """

    at: datetime
    entered_at: datetime
    id: str
    event: Event
    corrected_by: str | None


@dataclass(frozen=True, slots=True)
class Settled:
    """Events as they stand, in order, and what could not be used.

    `loose` are corrections of events that are not here; `unread` corrections that say nothing
    this program can read.
    """

    standing: tuple[Standing, ...]
    corrected: Mapping[str, Versions]
    loose: tuple[Event, ...]
    unread: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class _Word:
    """What a correction says after the corrections of it."""

    taken_back: bool
    body: Mapping[str, Any] | None
    version: int
    at: datetime | None
    female: str | None
    group: str | None


_NO_CHANGE = _Word(
    taken_back=False, body=None, version=FIRST_RELEASED, at=None, female=None, group=None
)


def stand(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return events as they stand, in order, with true times; those taken back are gone.

    Parameters
    ----------
    events : iterable of Event
        Of one ranch, in any order, doubles allowed.

    Returns
    -------
    tuple of Event
        `occurred_at` and `entered_at` by a right clock, `clock_offset_s` None, bodies in the
        present form; no Corrected among them.
    """
    unique, _ = each_once(events)
    return tuple(
        replace(s.event, occurred_at=s.at, entered_at=s.entered_at, clock_offset_s=None)
        for s in settle(unique).standing
    )


def settle(events: Iterable[Event]) -> Settled:
    """Apply corrections and sort.

    Parameters
    ----------
    events : iterable of Event
        Each id once, in any order.
    """
    plain: list[Event] = []
    corrections: list[Event] = []
    for event in events:
        (corrections if event.kind is Kind.CORRECTED else plain).append(event)
    said: dict[str, list[Event]] = {}
    unread: list[Event] = []
    if corrections:
        said, unread = _sort_out(corrections)
    rows: list[Standing] = []
    corrected: dict[str, Versions] = {}
    used: set[str] = set()
    for event in plain:
        now = upcast(event)
        if event.id not in said:
            rows.append(Standing(happened_at(now), entered_at(now), now.id, now, None))
            continue
        told, words = _hear(event.id, said)
        used.update(c.id for c in told)
        by, word = words
        stands = _restate(now, word)
        corrected[event.id] = Versions(
            original=event,
            corrections=tuple(sorted(told, key=_when_entered)),
            in_force=by,
            stands=stands,
        )
        if stands is not None:
            at, entered = stands.occurred_at, stands.entered_at
            rows.append(Standing(at, entered, now.id, stands, by))
    rows.sort()
    readable = [c for told in said.values() for c in told]
    return Settled(
        standing=tuple(rows),
        corrected=corrected,
        loose=tuple(sorted((c for c in readable if c.id not in used), key=_when_entered)),
        unread=tuple(unread),
    )


def _when_entered(event: Event) -> tuple[datetime, str]:
    return entered_at(event), event.id


def _sort_out(corrections: Sequence[Event]) -> tuple[dict[str, list[Event]], list[Event]]:
    """Corrections by the event they name, and those that cannot be read."""
    said: dict[str, list[Event]] = defaultdict(list)
    unread = []
    for event in corrections:
        known = not is_newer(event.kind, event.version)
        if event.corrects is None or not known or not has_form(Kind.CORRECTED, event.body):
            unread.append(event)
        else:
            said[event.corrects].append(event)
    return dict(said), unread


def _hear(
    root: str, said: Mapping[str, Sequence[Event]]
) -> tuple[list[Event], tuple[str | None, _Word | None]]:
    """All corrections that speak of an event, and the one that holds with what it says.

    Each correction names one event, so what hangs on an event that is no correction is a tree; it
    is walked without recursion, for a chain may be longer than Python's stack.
    """
    told = list(said.get(root, ()))
    for correction in told:  # grows while it is walked: parents come before children
        told += said.get(correction.id, ())
    holding: dict[str, tuple[Event, _Word]] = {}
    for correction in reversed(told):
        word = _word(correction.body)
        found = holding.get(correction.id)
        if found is not None:
            if found[1].taken_back:
                continue  # as if never made
            word = _reword(word, found[1])
        target = str(correction.corrects)
        rival = holding.get(target)
        if rival is None or _when_entered(rival[0]) < _when_entered(correction):
            holding[target] = (correction, word)
    if root not in holding:
        return told, (None, None)
    winner, word = holding[root]
    return told, (winner.id, word)


def _word(body: Mapping[str, Any]) -> _Word:
    told = body.get("occurred_at")
    right = body.get("body")
    version = body.get("body_version")
    return _Word(
        taken_back=bool(body.get("taken_back")),
        body=right if isinstance(right, Mapping) else None,
        version=FIRST_RELEASED if version is None else int(version),
        at=right_clock(datetime.fromisoformat(told), None) if told else None,
        female=body.get("female") or None,
        group=body.get("group") or None,
    )


def _reword(old: _Word, new: _Word) -> _Word:
    """What a correction says once it was stated anew."""
    if new.body is not None and "taken_back" in new.body:
        # the right body of the correction itself, whole, not of the event it speaks of
        return _word(new.body) if has_form(Kind.CORRECTED, new.body) else old
    return _Word(
        taken_back=False,
        body=old.body if new.body is None else new.body,
        version=old.version if new.body is None else new.version,
        at=old.at if new.at is None else new.at,
        female=new.female or old.female,
        group=new.group or old.group,
    )


def _restate(event: Event, word: _Word | None) -> Event | None:
    """The event as a correction states it, with right times; as it was where none holds."""
    if word is None:
        word = _NO_CHANGE
    if word.taken_back:
        return None
    return replace(
        event,
        occurred_at=happened_at(event) if word.at is None else word.at,
        entered_at=entered_at(event),
        clock_offset_s=None,
        female=word.female or event.female,
        group=word.group or event.group,
        body=event.body if word.body is None else upcast_body(event.kind, word.version, word.body),
    )

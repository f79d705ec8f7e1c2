"""The ledger as it stands: every event with its corrections applied, in the order of true time.

Files out state what is held to be so now; the corrections themselves stay in the ledger.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


@dataclass(frozen=True, slots=True)
class Standing:
    """One event as corrections left it.

    Parameters
    ----------
    id : str
        Of the event first recorded.
    kind : Kind
    female, group : str or None
        `female` is the one she was found to be, where two were one.
    body : mapping
    at : datetime
        True time, UTC: what the device said less its measured offset.
    zone : str
    by : str
        Who did or entered it.
    created_at, modified_at : datetime
        When it was entered and when it was last corrected.
    is_taken_back : bool
    """

    id: str
    kind: Kind
    female: str | None
    group: str | None
    body: Mapping[str, Any]
    at: datetime
    zone: str
    by: str
    created_at: datetime
    modified_at: datetime
    is_taken_back: bool = False
    filed_under: str | None = None


def stand(events: Iterable[Event]) -> list[Standing]:
    """Apply corrections and found identities.

    Parameters
    ----------
    events : iterable of Event
        In any order, repeats allowed.

    Returns
    -------
    list of Standing
        By true time, then entry, then id; those taken back are kept and marked.
    """
    known = {event.id: event for event in events}
    roots: dict[str, list[Event]] = {}
    for event in known.values():
        if event.kind is Kind.CORRECTED:
            root = _root(event, known)
            if root is not None:
                roots.setdefault(root, []).append(event)
    out = [
        _apply(event, roots.get(event.id, []))
        for event in known.values()
        if event.kind is not Kind.CORRECTED
    ]
    same = {
        one.female: str(one.body.get("same_as"))
        for one in out
        if one.kind is Kind.IDENTIFIED and not one.is_taken_back and one.female
    }
    if same:
        out = [
            replace(one, female=find_same(one.female, same), filed_under=one.female) for one in out
        ]
    out.sort(key=lambda one: (one.at, one.created_at, one.id))
    return out


def find_same(female: str | None, same: Mapping[str, str]) -> str | None:
    """Follow found identities to the last; a ring ends where it began."""
    seen: set[str] = set()
    while female is not None and female in same and female not in seen:
        seen.add(female)
        female = same[female]
    return female


def true_time(event: Event, at: datetime) -> datetime:
    """Take the device's measured offset off a time it gave."""
    return (at - timedelta(seconds=event.clock_offset_s or 0.0)).astimezone(UTC)


def _root(event: Event, known: Mapping[str, Event]) -> str | None:
    """Find the event that a chain of corrections is about."""
    seen = {event.id}
    at = event
    while at.corrects is not None and at.corrects not in seen and at.corrects in known:
        at = known[str(at.corrects)]
        if at.kind is not Kind.CORRECTED:
            return at.id
        seen.add(at.id)
    return None


def _apply(event: Event, corrections: list[Event]) -> Standing:
    """Apply the correction entered last of those not taken back themselves."""
    first = Standing(
        id=event.id,
        kind=event.kind,
        female=event.female,
        group=event.group,
        body=event.body,
        at=true_time(event, event.occurred_at),
        zone=event.zone,
        by=event.entered_by,
        created_at=true_time(event, event.entered_at),
        modified_at=true_time(event, event.entered_at),
    )
    if not corrections:
        return first
    corrections.sort(key=lambda one: (true_time(one, one.entered_at), one.id))
    latest = true_time(corrections[-1], corrections[-1].entered_at)
    first = replace(first, modified_at=max(first.modified_at, latest))
    holds = {one.id for one in corrections}
    for one in reversed(corrections):  # the later word decides on the earlier
        if one.id in holds and one.corrects in holds:
            holds.discard(one.corrects)
    in_force = [one for one in corrections if one.id in holds]
    while in_force:
        word = in_force.pop()
        about_correction = word.corrects != event.id
        if word.body.get("taken_back"):
            if about_correction:
                continue  # it took a correction back: what was before holds
            return replace(first, is_taken_back=True)
        return _restated(first, word)
    return first


def _restated(first: Standing, word: Event) -> Standing:
    body = word.body.get("body")
    when = word.body.get("occurred_at")
    at = first.at
    if isinstance(when, str):
        try:
            moment = datetime.fromisoformat(when)
        except ValueError:
            moment = None
        if moment is not None and moment.tzinfo is not None:
            at = moment.astimezone(UTC)
    return replace(
        first,
        body=body if isinstance(body, dict) else first.body,
        at=at,
        female=word.body.get("female") or first.female,
        group=word.body.get("group") or first.group,
    )

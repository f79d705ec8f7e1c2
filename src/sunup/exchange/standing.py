"""The ledger as it stands: every event with its corrections applied, in the order of true time.

Files out state what is held to be so now; the corrections themselves stay in the ledger.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.records.corrections import Standing as SettledEvent
from sunup.records.corrections import settle
from sunup.records.identity import find_same
from sunup.records.order import each_once, entered_at, happened_at
from sunup.records.upcast import upcast

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from sunup.records.event import Event, Kind
    from sunup.records.state import Versions


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
    unique, _ = each_once(events)
    settled = settle(unique)
    out = [_plain(one, settled.corrected) for one in settled.standing]
    for versions in settled.corrected.values():
        if versions.stands is None:
            first = upcast(versions.original)
            at, entered = happened_at(first), entered_at(first)
            told = SettledEvent(at, entered, first.id, first, versions.in_force)
            out.append(replace(_plain(told, settled.corrected), is_taken_back=True))
    same = find_same(s.event for s in settled.standing)
    if same:
        out = [
            replace(one, female=same.get(one.female or "", one.female), filed_under=one.female)
            for one in out
        ]
    out.sort(key=lambda one: (one.at, one.created_at, one.id))
    return out


def _plain(one: SettledEvent, corrected: Mapping[str, Versions]) -> Standing:
    event = one.event
    words = corrected[one.id].corrections if one.id in corrected else ()
    return Standing(
        id=one.id,
        kind=event.kind,
        female=event.female,
        group=event.group,
        body=event.body,
        at=one.at,
        zone=event.zone,
        by=event.entered_by,
        created_at=one.entered_at,
        modified_at=max([one.entered_at, *(entered_at(word) for word in words)]),
    )

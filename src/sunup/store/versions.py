"""Plans and settings: a change says which version it was made from, and a stale one is refused.

Observations are never judged here. The version that counts is the one the fold shows, so that who
looks at the ledger and changes what it says is never refused.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from sqlalchemy import select

from sunup.base.hours import UnknownZoneError, find_zone, to_local
from sunup.base.problems import Problem
from sunup.records.corrections import settle
from sunup.records.event import Kind
from sunup.store.rows import COLUMNS, to_event
from sunup.store.tables import event_table

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from sunup.records.event import Event

_ADOPTS_OR_CHANGES = (Kind.PLAN_ADOPTED, Kind.PLAN_CHANGED)
_VERSIONED = (*_ADOPTS_OR_CHANGES, Kind.SETTING_CHANGED)
Thing = tuple[str, str]


def find_thing(event: Event) -> Thing | None:
    """Return what an event is a version of: a plan or a setting; None for anything else."""
    if event.kind in _ADOPTS_OR_CHANGES:
        return "plan", str(event.body.get("plan_id"))
    if event.kind is Kind.SETTING_CHANGED:
        return "setting", str(event.body.get("key"))
    return None


class Versions:
    """The versions that count, of every plan and setting of a ranch, kept up within a transaction.

    Parameters
    ----------
    connection : Connection
    ranch : str
    name : str
        The ledger, for messages.
    """

    def __init__(self, connection: Connection, ranch: str, name: str) -> None:
        self._taken: dict[Thing, list[Event]] = defaultdict(list)
        self._corrections: dict[str, list[Event]] = defaultdict(list)
        read = (
            select(*COLUMNS)
            .where(event_table.c.ranch == ranch, event_table.c.kind.in_(list(map(str, _VERSIONED))))
            .order_by(event_table.c.seq)
        )
        wanted: list[str] = []
        for row in connection.execute(read):
            event = to_event(row, name)
            self.take(event)
            wanted.append(event.id)
        while wanted:
            read = select(*COLUMNS).where(event_table.c.corrects.in_(wanted[:500]))
            wanted = wanted[500:]
            for row in connection.execute(read):
                event = to_event(row, name)
                self.take(event)
                wanted.append(event.id)

    def take(self, event: Event) -> None:
        """Take note of an event that was accepted."""
        thing = find_thing(event)
        if thing is not None:
            self._taken[thing].append(event)
        elif event.corrects is not None:
            self._corrections[event.corrects].append(event)

    def find_current(self, thing: Thing) -> Event | None:
        """Return the version that counts now, if there is any: the one the fold shows."""
        bound = list(self._taken.get(thing, ()))
        for event in bound:  # grows: corrections of corrections
            bound += self._corrections.get(event.id, ())
        standing = [s.event for s in settle(bound).standing]
        changes = [event for event in standing if event.kind is not Kind.PLAN_ADOPTED]
        return next(reversed(changes or standing), None)

    def is_stale(self, event: Event) -> bool:
        """Whether an event was made from another version than the one that counts."""
        thing = find_thing(event)
        if thing is None:
            return False
        current = self.find_current(thing)
        return event.body.get("based_on") != (None if current is None else current.id)

    def tell(self, event: Event) -> tuple[Problem, Event | None]:
        """Say why a stale event is refused; return with it the version that counts."""
        kind, key = thing = find_thing(event) or ("", "")
        current = self.find_current(thing)
        words = "The plan" if kind == "plan" else f"The setting '{key}'"
        if current is None:
            return Problem(
                f"{event.kind} {event.id}",
                f"{words} it changes is not in this ledger.",
                "Bring in the ledger it was made on first.",
            ), None
        what = f"{words} was changed in between, {_tell_when(current)}."
        if event.kind is Kind.PLAN_ADOPTED:
            what = f"{words} was adopted before, {_tell_when(current)}."
        return Problem(
            f"{event.kind} {event.id}",
            f"{what} Yours was made from an older version ({_tell_when(event)}) and was not taken.",
            "Look at both, then make your change again from the one that counts.",
        ), current


def _tell_when(event: Event) -> str:
    try:
        at = to_local(event.entered_at, find_zone(event.zone))
    except UnknownZoneError:
        at = event.entered_at
    return f"{event.entered_by or 'somebody'}, {at:%d %b %Y %H:%M}"

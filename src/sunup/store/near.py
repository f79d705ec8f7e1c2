"""Every event that has a say in what some females are: theirs, and what is bound to them.

Bound are the events of a female found to be the same one, and corrections: those of their events,
and the events that a correction gives to another female. So a few females can be folded alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from sunup.records.event import Event, Kind
from sunup.store.rows import COLUMNS, to_event
from sunup.store.tables import also_about, event_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from sqlalchemy import ColumnElement, Connection

AT_ONCE = 500  # values in one question: older SQLite takes 999
_BINDING = frozenset({Kind.IDENTIFIED, Kind.CORRECTED})


def find_bound(event: Event) -> set[str]:
    """Return the females an event names besides the one it is filed under.

    A correction may restate another one whole: names are looked for at any depth.
    """
    if event.kind not in _BINDING:
        return set()
    named: set[str] = set()
    bodies: list[Mapping[str, Any]] = [event.body]
    while bodies:
        body = bodies.pop()
        named |= {v for key in ("same_as", "female") if isinstance(v := body.get(key), str)}
        bodies += [value for value in body.values() if isinstance(value, dict)]
    return named - {event.female or ""}


def find_near(
    connection: Connection, females: Iterable[str], *, ranch: str, name: str
) -> tuple[dict[str, Event], set[str]]:
    """Return the events that have a say in some females, by id, and all females they bind.

    Parameters
    ----------
    connection : Connection
    females : iterable of str
    ranch : str
    name : str
        The ledger, for messages.
    """
    found: dict[str, Event] = {}
    asked: set[str] = set()
    wanted = set(females)
    while wanted:
        asked |= wanted
        fresh: list[Event] = []
        for some in portions(sorted(wanted)):
            fresh += _ask(connection, event_table.c.female.in_(some), found, ranch, name)
            linked = select(also_about.c.event).where(also_about.c.female.in_(some))
            fresh += _ask(connection, event_table.c.id.in_(linked), found, ranch, name)
            theirs = select(event_table.c.id).where(event_table.c.female.in_(some))
            fresh += _ask(connection, event_table.c.corrects.in_(theirs), found, ranch, name)
        bound: set[str] = set()
        while fresh:
            chased = [e for e in fresh if e.kind in _BINDING or e.corrects is not None]
            for event in chased:
                bound |= find_bound(event)
            bound |= {e.female for e in fresh if e.female is not None}
            fresh = []
            for some in portions([e.corrects for e in chased if e.corrects is not None]):
                first = _ask(connection, event_table.c.id.in_(some), found, ranch, name)
                chased += first
                fresh += first
            for some in portions([e.id for e in chased]):
                fresh += _ask(connection, event_table.c.corrects.in_(some), found, ranch, name)
        wanted = bound - asked
    return found, asked


def _ask(
    connection: Connection,
    where: ColumnElement[bool],
    found: dict[str, Event],
    ranch: str,
    name: str,
) -> list[Event]:
    """Events of a question that were not found before; they count as found from now on."""
    fresh: list[Event] = []
    # the ranch is looked at here: asked for in SQL, SQLite would go by its index, all of the table
    for row in connection.execute(select(*COLUMNS).where(where)):
        if row[0] not in found and row[1] == ranch:
            event = found[row[0]] = to_event(row, name)
            fresh.append(event)
    return fresh


def portions(values: Sequence[Any]) -> Iterator[list[Any]]:
    """Values in lists short enough for one question."""
    for start in range(0, len(values), AT_ONCE):
        yield list(values[start : start + AT_ONCE])

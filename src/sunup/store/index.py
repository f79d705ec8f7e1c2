"""The index of females: who wears which tag, where she is, and what was filed last.

It is drawn from the ledger by the fold and holds nothing of its own: within every transaction that
adds events, the females those touch are folded again, each with all events that have a say in her.
A test holds the result against one fold of everything.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, insert, select

from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.store.near import find_bound, find_near, portions
from sunup.store.rows import COLUMNS, to_event
from sunup.store.tables import also_about, event_table, female_index

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from sunup.records.event import Event
    from sunup.records.state import HerdState

_MANY = 2_000  # females folded together: bounds the memory of a rebuild


class Touched:
    """What some added events may have changed in the index.

    Attributes
    ----------
    females : set of str
        Females the events are filed under or name.
    corrected : set of str
        Events that were corrected: the females of those are touched too.
    homeless : set of str
        Events filed under no female: a correction that came before may give them to one.
    """

    def __init__(self) -> None:
        self.females: set[str] = set()
        self.corrected: set[str] = set()
        self.homeless: set[str] = set()

    def note(self, event: Event) -> None:
        """Take note of one added event."""
        if event.female is not None:
            self.females.add(event.female)
        else:
            self.homeless.add(event.id)
        self.females |= find_bound(event)
        if event.corrects is not None:
            self.corrected.add(event.corrects)


def refresh_index(connection: Connection, ranch: str, touched: Touched, *, name: str) -> None:
    """Draw anew the females that were touched, within the caller's transaction."""
    above, roots = _up(connection, touched.corrected)
    females = touched.females | above | _down(connection, touched.homeless | roots)
    _draw(connection, sorted(females), ranch=ranch, name=name)


def _up(connection: Connection, ids: set[str]) -> tuple[set[str], set[str]]:
    """Females of events and of what those correct; and the events that correct nothing."""
    females: set[str] = set()
    roots: set[str] = set()
    seen: set[str] = set()
    while ids:
        seen |= ids
        above: set[str] = set()
        read = select(event_table.c.id, event_table.c.female, event_table.c.corrects)
        for some in portions(sorted(ids)):
            for id_, female, corrects in connection.execute(read.where(event_table.c.id.in_(some))):
                females |= {female} - {None}
                if corrects is None:
                    roots.add(id_)
                else:
                    above.add(corrects)
        ids = above - seen
    return females, roots


def _down(connection: Connection, ids: set[str]) -> set[str]:
    """Females that corrections of events, and corrections of those, are filed under or name."""
    females: set[str] = set()
    seen: set[str] = set()
    while ids:
        seen |= ids
        below: set[str] = set()
        for some in portions(sorted(ids)):
            read = select(event_table.c.id, event_table.c.female)
            for id_, female in connection.execute(read.where(event_table.c.corrects.in_(some))):
                females |= {female} - {None}
                below.add(id_)
            named = select(also_about.c.female).where(also_about.c.event.in_(some))
            females |= set(connection.execute(named).scalars())
        ids = below - seen
    return females


def rebuild_index(connection: Connection, *, name: str) -> None:
    """Throw away all that is drawn from the ledger, of every ranch, and draw it anew."""
    connection.execute(delete(female_index))
    connection.execute(delete(also_about))
    binding = select(*COLUMNS).where(
        event_table.c.kind.in_([str(Kind.IDENTIFIED), str(Kind.CORRECTED)])
    )
    links = [link for row in connection.execute(binding) for link in links_of(to_event(row, name))]
    if links:
        connection.execute(insert(also_about), links)
    for ranch in connection.execute(select(event_table.c.ranch).distinct()).scalars().all():
        read = (
            select(event_table.c.female)
            .where(event_table.c.ranch == ranch, event_table.c.female.is_not(None))
            .distinct()
        )
        _draw(connection, sorted(connection.execute(read).scalars()), ranch=ranch, name=name)


def links_of(event: Event) -> list[dict[str, Any]]:
    """Rows of `also_about` for one event."""
    return [{"event": event.id, "female": female} for female in sorted(find_bound(event))]


def draw_rows(state: HerdState, ranch: str) -> list[dict[str, Any]]:
    """Rows of the index that a state gives."""
    return [
        {
            "id": female.id,
            "ranch": ranch,
            "tag": female.tag,
            "rfid": female.rfid,
            "grp": female.group,
            "here": int(female.is_here),
            "listed": int(female.is_listed),
            "n_events": len(female.log),
            "last_event": female.log[-1].event if female.log else None,
        }
        for known in (state.females, state.unplaced)
        for female in known.values()
    ]


def _draw(connection: Connection, females: list[str], *, ranch: str, name: str) -> None:
    done: set[str] = set()
    for start in range(0, len(females), _MANY):
        some = set(females[start : start + _MANY]) - done
        if not some:
            continue
        near, bound = find_near(connection, some, ranch=ranch, name=name)
        done |= bound
        for ids in portions(sorted(bound)):
            connection.execute(delete(female_index).where(female_index.c.id.in_(ids)))
        rows = [r for r in draw_rows(fold(near.values()), ranch) if r["id"] in bound]
        if rows:
            connection.execute(insert(female_index), rows)

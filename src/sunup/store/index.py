"""The index of females: who wears which tag, where she is, and what was filed last.

It is drawn from the ledger by the fold and holds nothing of its own: within every transaction that
adds events, the females those touch are folded again, each with all events that have a say in her.
A test holds the result against one fold of everything.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, insert, select

from sunup.records.event import Event, Kind

upcast = lambda e: e
from sunup.store.near import find_bound, find_near, portions
from sunup.store.rows import COLUMNS, to_event
from sunup.store.tables import also_about, event_table, female_index

if TYPE_CHECKING:
    from sqlalchemy import Connection

_MANY = 2_000  # females folded together: bounds the memory of a rebuild


class Touched:
    """What some added events may have changed in the index."""

    def __init__(self) -> None:
        self.females: set[str] = set()
        self.corrected: set[str] = set()

    def note(self, event: Event) -> None:
        """Take note of one added event."""
        if event.female is not None:
            self.females.add(event.female)
        self.females |= find_bound(event)
        if event.corrects is not None:
            self.corrected.add(event.corrects)


def refresh_index(connection: Connection, ranch: str, touched: Touched, *, name: str) -> None:
    """Draw anew the females that were touched, within the caller's transaction."""
    females = set(touched.females)
    for some in portions(sorted(touched.corrected)):
        read = select(event_table.c.female).where(
            event_table.c.id.in_(some), event_table.c.female.is_not(None)
        )
        females |= set(connection.execute(read).scalars())
    _draw(connection, sorted(females), ranch=ranch, name=name)


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


def draw_rows(events: Iterable[Event], ranch: str) -> list[dict[str, Any]]:
    """Rows of the index that the fold of some events gives."""
    by = {}
    for e in sorted(events, key=lambda e: (e.occurred_at, e.entered_at, e.id)):
        if e.female:
            r = by.setdefault(
                e.female,
                dict(
                    id=e.female,
                    ranch=ranch,
                    tag="?",
                    rfid=None,
                    grp="",
                    here=1,
                    n_events=0,
                    last_event=None,
                ),
            )
            r["n_events"] += 1
            r["last_event"] = e.id
            r["tag"] = e.body.get("tag", r["tag"])
    return list(by.values())


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
        rows = [r for r in draw_rows(map(upcast, near.values()), ranch) if r["id"] in bound]
        if rows:
            connection.execute(insert(female_index), rows)

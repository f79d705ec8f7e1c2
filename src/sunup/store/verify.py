"""Is a ledger sound: the file itself, its guards, every event, and what is drawn from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select, text

from sunup.base.problems import Problem, Severity
from sunup.records.fold import fold
from sunup.store.index import draw_rows, links_of
from sunup.store.ledger import stored_events
from sunup.store.rows import is_storable_again
from sunup.store.tables import also_about, event_table, female_index

if TYPE_CHECKING:
    from sqlalchemy import Connection, Table

    from sunup.records.event import Event
    from sunup.records.state import HerdState
    from sunup.store.ledger import Ledger

_GUARDS = {
    "sqlite": {"event_not_changed", "event_not_removed", "event_not_replaced"},
    "postgresql": {"event_not_changed"},
}
_SHOWN = 5


@dataclass(frozen=True, slots=True)
class Verified:
    """What verifying found: the events as recorded, what they say, and every problem."""

    events: tuple[Event, ...]
    state: HerdState
    problems: tuple[Problem, ...]


def verify_ledger(ledger: Ledger) -> Verified:
    """Read all of a ledger, in one moment of it, and check it.

    Parameters
    ----------
    ledger : Ledger

    Returns
    -------
    Verified
        A problem for whatever is not as it must be.

    Raises
    ------
    LedgerError
        If it cannot be read at all.
    """
    problems: list[Problem] = []
    with ledger.reading() as connection:
        problems += _check_pages(connection, ledger.name)
        problems += _check_guards(connection, ledger.name)
        events: list[Event] = []
        for event in stored_events(connection, ledger.ranch, ledger.name):
            events.append(event)
            if not is_storable_again(event):
                problems.append(
                    Problem(
                        f"{ledger.name}, {event.kind} {event.id}",
                        "It does not read as it was written.",
                        "Bring back the last backup.",
                    )
                )
        problems += _check_ids(connection, ledger.name)
        state = fold(events)
        drawn = draw_rows(state, ledger.ranch)
        problems += _compare(connection, female_index, drawn, ledger)
        links = [link for event in events for link in links_of(event)]
        problems += _compare(connection, also_about, links, ledger)
    return Verified(tuple(events), state, tuple(problems))


def _check_pages(connection: Connection, name: str) -> list[Problem]:
    if connection.dialect.name != "sqlite":
        return []
    said = [str(row[0]) for row in connection.execute(text("PRAGMA integrity_check(20)"))]
    loose = connection.execute(text("PRAGMA foreign_key_check")).all()
    problems = [
        Problem(name, f"The file is damaged: {line}.", "Bring back the last backup.")
        for line in said
        if line != "ok"
    ]
    if loose:
        problems.append(
            Problem(name, f"{len(loose)} rows point at no event.", "Run: sunup ledger rebuild")
        )
    return problems


def _check_guards(connection: Connection, name: str) -> list[Problem]:
    """The triggers that refuse a change: somebody may have taken them off."""
    kind = connection.dialect.name
    read = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if kind == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE tgrelid = 'event'::regclass AND tgenabled = 'A'"
    )
    there = set(connection.execute(text(read)).scalars())
    return [
        Problem(
            name,
            f"The guard '{guard}' that keeps events from being changed is gone.",
            "Export it and import that into a new ledger; ask who opened it with another program.",
        )
        for guard in sorted(_GUARDS[kind] - there)
    ]


def _check_ids(connection: Connection, name: str) -> list[Problem]:
    ids = event_table.c.id
    total, different = connection.execute(
        select(func.count(ids), func.count(func.distinct(ids)))
    ).one()
    if total == different:
        return []
    what = f"{total - different} events are there twice."
    return [Problem(name, what, "Export it and import that into a new ledger.")]


def _compare(
    connection: Connection, table: Table, drawn: list[dict[str, Any]], ledger: Ledger
) -> list[Problem]:
    """Compare a table drawn from the ledger with what the ledger says now."""
    names = [column.name for column in table.columns]
    read = select(table)
    if "ranch" in names:
        read = read.where(table.c.ranch == ledger.ranch)
    else:
        read = read.join(event_table, event_table.c.id == table.c.event).where(
            event_table.c.ranch == ledger.ranch
        )
    kept = {tuple(row) for row in connection.execute(read)}
    fresh = {tuple(row[name] for name in names) for row in drawn}
    wrong = sorted({str(row[0]) for row in kept ^ fresh})
    if not wrong:
        return []
    shown = ", ".join(wrong[:_SHOWN]) + (", ..." if len(wrong) > _SHOWN else "")
    return [
        Problem(
            ledger.name,
            f"{table.name} differs from the ledger for {len(wrong)} of {len(fresh)}: {shown}.",
            "No event is lost by it. Run: sunup ledger rebuild",
            Severity.ERROR,
        )
    ]

"""Adding events to a ledger, within one transaction.

An event is taken once: the same again is passed over without a word, another under the same id is
handed back, with the one on file. Nothing that is handed back is lost: the caller has it, with why.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, text

from sunup.base.problems import Problem
from sunup.records.event import Event
from sunup.store.engine import copy_rows
from sunup.store.index import Touched, links_of, refresh_index
from sunup.store.near import portions
from sunup.store.rows import COLUMNS, NAMES, UnstorableError, is_same, to_event, to_row
from sunup.store.tables import also_about, event_table
from sunup.store.versions import Versions, find_thing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Connection

_FEW = 1_000  # rows; more go to PostgreSQL by COPY, several times as fast
_INSERT = f"INSERT INTO event ({', '.join(NAMES)}) VALUES ({', '.join('?' * len(NAMES))})"  # noqa: S608  names of ours
Taken = tuple[Event, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Refused:
    """An event that was not taken.

    Parameters
    ----------
    event : Event
        As it was given; it is nowhere else now.
    place : int
        Its place among the events given, from 0.
    problem : Problem
    against : Event or None
        What stands on file instead.
    """

    event: Event
    place: int
    problem: Problem
    against: Event | None = None


@dataclass(frozen=True, slots=True)
class Appended:
    """What became of the events given: `new` and `known` count them, `refused` holds the rest."""

    new: int
    known: int
    refused: tuple[Refused, ...] = ()


class Writing:
    """A transaction that adds events; `finish` before it ends.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    name : str
        The ledger, for messages.
    ranch : str or None
        Whose ledger; None: the first event says.
    """

    def __init__(self, connection: Connection, *, name: str, ranch: str | None) -> None:
        self._connection = connection
        self._name = name
        self.ranch = ranch
        self._place = 0
        self._new = 0
        self._known = 0
        self._refused: list[Refused] = []
        self._waiting: list[tuple[int, Event, dict[str, Any]]] = []
        self._touched = Touched()
        self._versions: Versions | None = None
        self._is_locked = False

    def add(self, events: Sequence[Event]) -> None:
        """Add events, in order."""
        if self.ranch is None and events:
            self.ranch = events[0].ranch
        self._lock()
        on_file = self._find_rows([event.id for event in events])
        taken: list[Taken] = []
        for event in events:
            place, self._place = self._place, self._place + 1
            if event.ranch != self.ranch:
                self._refuse(event, place, _other_ranch(event, self.ranch))
                continue
            try:
                row = to_row(event)
            except UnstorableError as error:
                self._refuse(event, place, _unstorable(event, error.what))
                continue
            there = on_file.get(event.id)
            if there is None:
                on_file[event.id] = row
                self._take(event, place, row, taken)
            elif is_same(row, there):
                self._known += 1
            else:
                other = to_event([there[name] for name in NAMES], self._name)
                self._refuse(event, place, _other_content(event), against=other)
        self._insert(taken)

    def finish(self) -> Appended:
        """Bring what is drawn from the ledger up to it, and tell what became of the events."""
        for place, event, _ in self._waiting:
            problem, current = self._find_versions().tell(event)
            self._refuse(event, place, problem, against=current)
        self._waiting.clear()
        if self.ranch is not None:
            if self._new > _FEW and self._connection.dialect.name == "postgresql":
                self._connection.execute(text("ANALYZE event"))  # or it reads all for one female
            refresh_index(self._connection, self.ranch, self._touched, name=self._name)
        self._touched = Touched()
        self._refused.sort(key=lambda r: r.place)
        return Appended(self._new, self._known, tuple(self._refused))

    def _take(self, event: Event, place: int, row: dict[str, Any], taken: list[Taken]) -> None:
        """Put an event among those to insert; a version that does not follow yet waits."""
        if find_thing(event) is None:
            if self._versions is not None:
                self._versions.take(event)
            taken.append((event, row))
        else:
            self._waiting.append((place, event, row))
            self._find_versions(taken)
        if not self._waiting:
            return
        versions = self._find_versions(taken)
        moved = True
        while moved:  # the version another one waits for may stand later in the file
            moved = False
            for entry in list(self._waiting):
                if not versions.is_stale(entry[1]):
                    self._waiting.remove(entry)
                    versions.take(entry[1])
                    taken.append((entry[1], entry[2]))
                    moved = True

    def _find_versions(self, taken: Sequence[Taken] = ()) -> Versions:
        if self._versions is None:
            self._versions = Versions(self._connection, str(self.ranch), self._name)
            for event, _ in taken:  # not in the database yet
                self._versions.take(event)
        return self._versions

    def _insert(self, taken: Sequence[Taken]) -> None:
        if not taken:
            return
        rows = [row for _, row in taken]
        if len(rows) > _FEW and self._connection.dialect.name == "postgresql":
            copy_rows(self._connection, event_table, rows)
        elif self._connection.dialect.name == "sqlite":
            # past SQLAlchemy's parameters row by row: a tenth of the time of an import
            values = [tuple(row.values()) for row in rows]
            self._connection.exec_driver_sql(_INSERT, values)
        else:
            self._connection.execute(insert(event_table), rows)
        self._new += len(taken)
        links = [link for event, _ in taken for link in links_of(event)]
        if links:
            self._connection.execute(insert(also_about), links)
        for event, _ in taken:
            self._touched.note(event)

    def _find_rows(self, ids: Sequence[str]) -> dict[str, dict[str, Any]]:
        """Rows of events already on file, by id."""
        found: dict[str, dict[str, Any]] = {}
        for some in portions(ids):
            for row in self._connection.execute(select(*COLUMNS).where(event_table.c.id.in_(some))):
                found[row[0]] = dict(zip(NAMES, row, strict=True))
        return found

    def _lock(self) -> None:
        """One writer a ranch at a time, so that the order of a ranch's events is that of commits.

        SQLite has one writer anyhow, since the transaction began.
        """
        if self._is_locked or self._connection.dialect.name != "postgresql":
            return
        key = func.hashtextextended(self.ranch or "", 0)
        self._connection.execute(select(func.pg_advisory_xact_lock(key)))
        self._is_locked = True

    def _refuse(
        self, event: Event, place: int, problem: Problem, *, against: Event | None = None
    ) -> None:
        self._refused.append(Refused(event, place, problem, against))


def _other_ranch(event: Event, ranch: str | None) -> Problem:
    return Problem(
        f"{event.kind} {event.id}",
        f"It is of the ranch '{event.ranch}'; this ledger is open for '{ranch}'.",
        "Name the ranch with --ranch, or use that ranch's own ledger.",
    )


def _unstorable(event: Event, what: str) -> Problem:
    return Problem(f"{event.kind} {event.id}", f"It cannot be kept: {what}.", "Enter it again.")


def _other_content(event: Event) -> Problem:
    return Problem(
        f"{event.kind} {event.id}",
        "Another event is on file under this id. The one on file stays.",
        "If it is wrong, record a correction of it; give a new event an id of its own.",
    )

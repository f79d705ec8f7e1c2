"""A ledger that is open: what may be asked of it, and adding to it.

Everything that reads sees one moment of the ledger; everything that writes is kept whole or not at
all. Events come back as they were recorded, brought up to the present form of their bodies.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from sqlalchemy import func, select

from sunup.records.upcast import upcast
from sunup.store.engine import reading, writing
from sunup.store.faults import LedgerError, RefusedError
from sunup.store.index import rebuild_index
from sunup.store.near import find_near
from sunup.store.rows import COLUMNS, to_event
from sunup.store.tables import event_table, female_index
from sunup.store.writing import Appended, Writing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from sqlalchemy import Connection, Engine

    from sunup.records.event import Event
    from sunup.store.place import Place

DEFAULT_RANCH = "ranch"
_PORTION = 10_000


class SeveralRanchesError(LedgerError):
    """The ledger holds several ranches and nobody said which is meant."""

    def __init__(self, name: str, ranches: Sequence[str]) -> None:
        super().__init__(
            f"The ledger '{name}' holds {len(ranches)} ranches ({', '.join(ranches[:8])}"
            f"{', ...' if len(ranches) > 8 else ''}). Say which with --ranch."
        )


class OtherRanchError(LedgerError):
    """A file is of one ranch, and another was named."""

    def __init__(self, name: str, given: str, ranches: Sequence[str]) -> None:
        super().__init__(
            f"The ledger '{name}' is of the ranch '{ranches[0]}', not of '{given}'. Leave --ranch "
            "out, or name another ledger: a file holds one ranch."
        )


@dataclass(frozen=True, slots=True)
class IndexedFemale:
    """A female as the index knows her.

    `id` is the one she really has, `tag` (empty: nobody said) and `rfid` are what she wears now;
    `group` is empty where she is in none; `is_here` is false once she left the herd; `is_listed` is
    false for a tag met at the chute that nobody put on file; `n_events` counts what stands of her,
    and `last_event` is the id of the last of that.
    """

    id: str
    ranch: str
    tag: str
    rfid: str | None
    group: str
    is_here: bool
    is_listed: bool
    n_events: int
    last_event: str | None


class Ledger:
    """An open ledger of one ranch.

    Parameters
    ----------
    place : Place
    engine : Engine
        Of a ledger in this program's form (``sunup.app.open.open_ledger`` sees to that).
    ranch : str, optional
        Whose events; needed where the ledger holds those of several.
    new_ranch : str, optional
        What the ranch is called where the ledger is empty, or which of several is meant.

    Raises
    ------
    SeveralRanchesError
        If `ranch` is needed.
    OtherRanchError
        If a file is of another ranch.
    """

    def __init__(
        self,
        place: Place,
        engine: Engine,
        *,
        ranch: str | None = None,
        new_ranch: str | None = None,
    ) -> None:
        self.place = place
        self.name = place.name
        self.engine = engine
        self._new_ranch = new_ranch
        try:
            self._ranch = self._pick_ranch(ranch)
        except BaseException:
            self.close()
            raise

    def _pick_ranch(self, given: str | None) -> str | None:
        if given is not None and self.place.path is None:
            return given
        with self.reading() as connection:
            ranches = find_ranches(connection)
        if given is not None:
            if ranches and given not in ranches:
                raise OtherRanchError(self.name, given, ranches)
            return given
        if self._new_ranch in ranches:
            return self._new_ranch
        return only_ranch(ranches, self.name)

    @property
    def ranch(self) -> str:
        """The ranch whose ledger this is; a name that stands for any while it is empty."""
        if self._ranch is None:
            with self.reading() as connection:
                self._ranch = only_ranch(find_ranches(connection), self.name)
        return self._ranch or self._new_ranch or DEFAULT_RANCH

    def append(self, events: Sequence[Event]) -> Appended:
        """Record events: all that are taken are on disk when this returns.

        The same event again is passed over. One under an id that holds something else, a stale
        change of a plan or setting, and an event of another ranch are handed back, not taken; the
        rest is taken all the same.

        Parameters
        ----------
        events : sequence of Event

        Raises
        ------
        LedgerError
            If the database refuses; then nothing of it was recorded.
        """
        with self.writing() as session:
            session.add(events)
            return session.finish()

    def record(self, events: Sequence[Event]) -> Appended:
        """Record events that belong together: all of them, or none.

        Raises
        ------
        RefusedError
            If any is not taken, such as a change of a plan that somebody changed in between; the
            message says why and names both.
        LedgerError
            If the database refuses.
        """
        with self.writing() as session:
            session.add(events)
            result = session.finish()
            if result.refused:
                first = result.refused[0].problem
                raise RefusedError(self.name, f"{first.what} {first.fix}", len(result.refused))
            return result

    @contextmanager
    def writing(self) -> Iterator[Writing]:
        """One transaction for many portions of events: `add` them, then `finish`."""
        with writing(self.engine, self.name) as connection:
            # while it was empty another program may have begun it
            ranch = self._ranch or only_ranch(find_ranches(connection), self.name)
            session = Writing(connection, name=self.name, ranch=ranch)
            yield session
            session.finish()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One moment of the ledger, for several questions."""
        with reading(self.engine, self.name) as connection:
            yield connection

    def events(self) -> tuple[Event, ...]:
        """Every event of the ranch, in the order this ledger took them.

        That is not the order they happened in: ``sunup.records.order`` knows that one.
        """
        return tuple(upcast(event) for event in self.stored_events())

    def stored_events(self) -> Iterator[Event]:
        """Every event of the ranch exactly as recorded, not brought up; read bit by bit."""
        with self.reading() as connection:
            yield from stored_events(connection, self.ranch, self.name)

    def history(self, female: str) -> tuple[Event, ...]:
        """Every event that has a say in one female, as she is known now, in no order."""
        with self.reading() as connection:
            found, _ = find_near(connection, [female], ranch=self.ranch, name=self.name)
        return tuple(upcast(event) for event in found.values())

    def females(self, *, tag: str | None = None, rfid: str | None = None) -> list[IndexedFemale]:
        """Females of the ranch by their present tag or electronic code; all where neither is given.

        Two females may wear the same tag; both are returned.
        """
        read = select(female_index).where(female_index.c.ranch == self.ranch)
        if tag is not None:
            read = read.where(female_index.c.tag == tag)
        if rfid is not None:
            read = read.where(female_index.c.rfid == rfid)
        with self.reading() as connection:
            rows = connection.execute(read.order_by(female_index.c.tag, female_index.c.id)).all()
        return [
            IndexedFemale(
                id=r.id,
                ranch=r.ranch,
                tag=r.tag,
                rfid=r.rfid,
                group=r.grp,
                is_here=bool(r.here),
                is_listed=bool(r.listed),
                n_events=r.n_events,
                last_event=r.last_event,
            )
            for r in rows
        ]

    def find_event(self, event_id: str) -> Event | None:
        """Return one event, brought up; None where there is none of this id."""
        read = select(*COLUMNS).where(
            event_table.c.id == event_id, event_table.c.ranch == self.ranch
        )
        with self.reading() as connection:
            row = connection.execute(read).one_or_none()
        return None if row is None else upcast(to_event(row, self.name))

    def count(self) -> int:
        """Return how many events the ranch has."""
        read = select(func.count()).where(event_table.c.ranch == self.ranch)
        with self.reading() as connection:
            return int(connection.execute(read).scalar_one())

    def rebuild(self) -> None:
        """Draw everything that is drawn from the ledger anew."""
        with writing(self.engine, self.name) as connection:
            rebuild_index(connection, name=self.name)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def find_ranches(connection: Connection) -> list[str]:
    """Return the ranches of a ledger in alphabetical order, the first fifty of more."""
    # one step down the index a ranch: a million events are not read for it
    found: list[str] = []
    while len(found) < 50:
        read = select(func.min(event_table.c.ranch))
        if found:
            read = read.where(event_table.c.ranch > found[-1])
        ranch = connection.execute(read).scalar_one()
        if ranch is None:
            break
        found.append(ranch)
    return found


def only_ranch(ranches: Sequence[str], name: str) -> str | None:
    """Return the only ranch there is; None where there is none yet.

    Raises
    ------
    SeveralRanchesError
        If there are several.
    """
    if len(ranches) > 1:
        raise SeveralRanchesError(name, ranches)
    return ranches[0] if ranches else None


def stored_events(connection: Connection, ranch: str | None, name: str) -> Iterator[Event]:
    """Every event of a ranch (None: of all) as recorded, in the order the ledger took them.

    Read portion by portion, so that a large ledger need not be held whole.
    """
    read = select(event_table.c.seq, *COLUMNS).order_by(event_table.c.seq).limit(_PORTION)
    if ranch is not None and connection.dialect.name == "sqlite":
        # joined to "" so that SQLite walks along seq and does not sort what the ranch's index gives
        read = read.where(event_table.c.ranch + "" == ranch)
    elif ranch is not None:
        read = read.where(event_table.c.ranch == ranch)
    after = 0
    while True:
        rows = connection.execute(read.where(event_table.c.seq > after)).all()
        for row in rows:
            yield to_event(row[1:], name)
        if len(rows) < _PORTION:
            return
        after = rows[-1][0]

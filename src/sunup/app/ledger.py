"""Use-cases about the ledger itself: keep a copy, put one back, verify, draw anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.app.ledger_forms import name_beside
from sunup.app.ledger_lines import write_all_lines
from sunup.app.open import LEDGER_FILE, FileError, open_ledger
from sunup.app.writing import find_now
from sunup.planning.odd_limits import odd_limits
from sunup.records.odd_herd import find_odd
from sunup.store.copies import check_sound, copy_file, open_for_reading, put_back, set_aside
from sunup.store.engine import reading
from sunup.store.faults import DamagedError, LedgerError, NoLedgerError
from sunup.store.place import find_place
from sunup.store.verify import verify_ledger

if TYPE_CHECKING:
    from pathlib import Path

    from sunup.base.problems import Problem
    from sunup.library import Library
    from sunup.store.ledger import Ledger


class NotForServersError(LedgerError):
    """Putting a backup back over a database of PostgreSQL."""

    def __init__(self) -> None:
        super().__init__(
            "A backup is not put back over a PostgreSQL database: nothing in a ledger is ever "
            "overwritten there. Make an empty database and run: sunup ledger import BACKUP.jsonl"
        )


@dataclass(frozen=True, slots=True)
class Restored:
    """A ledger put back: where the former one is kept (None: there was none), events now."""

    ledger: Path
    kept: Path | None
    n_events: int


@dataclass(frozen=True, slots=True)
class LedgerCheck:
    """What a ledger holds and what is wrong or odd with it."""

    name: str
    ranch: str
    n_events: int
    n_females: int
    problems: tuple[Problem, ...]
    odd: tuple[Problem, ...] = ()


def backup_ledger(ledger: Ledger, target: Path | None = None) -> Path:
    """Keep a copy of a ledger, sound also while others write to it; return where.

    Parameters
    ----------
    ledger : Ledger
    target : Path, optional
        If absent a name with date and time beside the ledger. A file that is there is never
        written over. SQLite: a ledger file; PostgreSQL: JSON Lines of all ranches.

    Raises
    ------
    FileError, LedgerError
        If it cannot be read or written; then no copy is left.
    """
    if ledger.place.path is not None:
        path = target or name_beside(ledger.place, "", ".db")
        try:
            copy_file(ledger.place.path, path)
        except FileExistsError:
            message = f"There is a file '{path}' already. Give another name; nothing was written."
            raise FileError(message) from None
        return path
    path = target or name_beside(ledger.place, "", ".jsonl")
    with reading(ledger.engine, ledger.name) as connection:
        write_all_lines(connection, ledger.name, path)
    return path


def restore_ledger(backup: Path, where: str | Path | None = None) -> Restored:
    """Put a backup in the place of a ledger; the one that was there is kept beside it.

    Programs that have the ledger open see the change whole. A ledger too damaged to be copied is
    renamed.

    Parameters
    ----------
    backup : Path
        A ledger file.
    where : str or Path, optional
        The ledger, as ``open_ledger`` takes it.

    Raises
    ------
    LedgerError
        If the backup is no sound ledger, or the place is a PostgreSQL database; nothing changed.
    """
    import os

    place = find_place(where or os.environ.get("SUNUP_LEDGER") or LEDGER_FILE)
    if place.path is None:
        raise NotForServersError
    if not backup.exists():
        raise NoLedgerError(str(backup))
    if place.path.exists() and backup.resolve() == place.path.resolve():
        message = f"'{backup}' is the ledger itself; name a backup of it."
        raise FileError(message)
    source = open_for_reading(backup)
    try:
        check_sound(source, str(backup))
    finally:
        source.close()
    kept: Path | None = None
    if place.path.exists():
        kept = name_beside(place, "before-restore", ".db")
        try:
            copy_file(place.path, kept)
        except LedgerError:
            set_aside(place.path, kept)
    if place.path.exists():
        try:
            put_back(backup, place.path)
        except DamagedError:
            place.path.unlink()  # kept above
            copy_file(backup, place.path)
    else:
        copy_file(backup, place.path)
    with open_ledger(place.path) as ledger:
        return Restored(place.path, kept, ledger.count())


def check_ledger(ledger: Ledger, library: Library | None = None) -> LedgerCheck:
    """Verify a ledger: the file, its guards, every event, and what is drawn from them.

    Parameters
    ----------
    ledger : Ledger
    library : Library, optional
        Where given, what is odd in what was recorded is looked for too, by its figures; not in a
        ledger that is not sound.

    Raises
    ------
    LedgerError
        If it cannot be read at all.
    """
    found = verify_ledger(ledger)
    odd: tuple[Problem, ...] = ()
    if library is not None and not found.problems:
        limits = odd_limits(library)
        odd = tuple(o.problem for o in find_odd(found.state, limits, at=find_now()))
    return LedgerCheck(
        name=ledger.name,
        ranch=ledger.ranch,
        n_events=len(found.events),
        n_females=len(found.state.females),
        problems=found.problems,
        odd=odd,
    )

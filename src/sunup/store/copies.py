"""Copies of a ledger file that are sound while others write to it, and putting one back.

SQLite's own online copy reads one moment of the file; a copy made by the operating system would
miss what still stands in the log beside it. Putting back goes the same way: programs that have the
ledger open see the change whole.
"""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from sunup.store.engine import open_sqlite, put_into_words_sqlite
from sunup.store.faults import DamagedError, FullError, NotALedgerError, ReadOnlyError

if TYPE_CHECKING:
    from pathlib import Path


def copy_file(source: Path, target: Path) -> None:
    """Copy a ledger file as it is at one moment; the target appears whole or not at all.

    Parameters
    ----------
    source : Path
        A ledger, perhaps being written to.
    target : Path
        A file that is not there yet.

    Raises
    ------
    LedgerError
        If the source is damaged or no ledger, or the target cannot be written.
    FileExistsError
        If there is such a file: it is never written over.
    """
    if target.exists():
        raise FileExistsError(str(target))
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        part.unlink(missing_ok=True)
        with (
            closing(open_for_reading(source)) as old,
            closing(open_sqlite(part, mode="rwc")) as new,
        ):
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")  # one file, no log beside it
            check_sound(new, str(target))
        _sync(part)
        part.rename(target)
    except sqlite3.Error as error:
        _discard(part)
        raise put_into_words_sqlite(error, str(target)) from error
    except OSError as error:
        _discard(part)
        if error.errno in {errno.EROFS, errno.EACCES, errno.EPERM}:
            raise ReadOnlyError(str(target)) from error
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            raise FullError(str(target)) from error
        raise
    except BaseException:
        _discard(part)
        raise


def _discard(part: Path) -> None:
    """Remove what there is of a copy; on a disk that cannot be written to there is nothing."""
    with suppress(OSError):
        part.unlink(missing_ok=True)


def put_back(backup: Path, ledger: Path) -> None:
    """Make a ledger file hold what a backup holds, in one step that others see whole.

    Parameters
    ----------
    backup : Path
    ledger : Path
        A sound ledger file, perhaps open elsewhere; keep a copy of it first.

    Raises
    ------
    LedgerError
        If either cannot be used.
    """
    try:
        with closing(open_for_reading(backup)) as old, closing(open_sqlite(ledger)) as new:
            check_sound(old, str(backup))
            old.backup(new)
    except sqlite3.Error as error:
        raise put_into_words_sqlite(error, str(ledger)) from error


def set_aside(ledger: Path, aside: Path) -> None:
    """Rename a damaged ledger with its log, so that another can take its place."""
    for tail in ("", "-wal", "-shm"):
        part = ledger.with_name(ledger.name + tail)
        if part.exists():
            part.rename(aside.with_name(aside.name + tail))


def open_for_reading(path: Path) -> sqlite3.Connection:
    """Connect to a ledger file to read it, also where nothing can be written beside it.

    Raises
    ------
    NotALedgerError
        If it is another database, or no database.
    """
    last: sqlite3.Error | None = None
    for mode in ("rw", "ro", "still"):
        if mode == "still" and _has_log(path):
            break  # what stands in the log would be missed
        connection = open_sqlite(path, mode=mode) if path.exists() else None
        if connection is None:
            break
        try:
            tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
        except sqlite3.Error as error:
            connection.close()
            last = error
            continue
        if {"event", "alembic_version"} <= tables:
            return connection
        connection.close()
        raise NotALedgerError(str(path))
    if last is None or "not a database" in str(last):
        raise NotALedgerError(str(path))
    raise put_into_words_sqlite(last, str(path)) from last


def check_sound(connection: sqlite3.Connection, name: str) -> None:
    """Have SQLite read every page and index.

    Raises
    ------
    DamagedError
        If it finds a fault.
    """
    said = [row[0] for row in connection.execute("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        raise DamagedError(name, "; ".join(said)[:300])


def _has_log(path: Path) -> bool:
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())

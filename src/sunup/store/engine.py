"""Connections to a ledger: what each database is told so that a commit is on disk.

SQLite: write-ahead log, ``synchronous=FULL``, foreign keys, and transactions that take the writer's
lock when they begin, so that none finds out at its end that it may not write. Python's own
transaction handling is off: it would commit before a migration's statements.
PostgreSQL: ``synchronous_commit`` is put on whatever the server's default, and reading happens in
one snapshot.
"""

from __future__ import annotations

import sqlite3
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from sqlalchemy import create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from sunup.store.faults import NoLedgerError, NotALedgerError, put_into_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from sqlalchemy import Connection, Engine, Table

    from sunup.store.place import Place

WAIT_S = 30.0  # how long one writer waits for another
APPLICATION_ID = 0x53756E75  # "Sunu": what `file` and we know a ledger by
_WRITES = "sunup_writes"


def open_sqlite(path: Path, *, mode: str = "rw") -> sqlite3.Connection:
    """Connect to a file of SQLite.

    Parameters
    ----------
    path : Path
    mode : str
        "rw", "rwc" (begin it where it is not there), "ro", or "still": a file on a disk that
        cannot be written to, read without a log beside it.
    """
    query = "mode=ro&immutable=1" if mode == "still" else f"mode={mode}"
    return sqlite3.connect(
        f"{path.resolve().as_uri()}?{query}",
        uri=True,
        timeout=WAIT_S,
        isolation_level=None,
        check_same_thread=False,
    )


def make_engine(place: Place, *, mode: str = "rw") -> Engine:
    """Make the engine of a ledger; nothing is opened yet.

    Parameters
    ----------
    place : Place
    mode : str
        For SQLite, as `open_sqlite` takes it.
    """
    if place.path is None:
        assert place.url is not None  # noqa: S101  a place is one of the two
        engine = create_engine(place.url, pool_pre_ping=True)
        event.listen(engine, "connect", _tell_postgresql)
        return engine
    path = place.path

    def connect() -> sqlite3.Connection:
        connection = open_sqlite(path, mode=mode)
        try:
            _tell_sqlite(connection, place.name, mode=mode)
        except BaseException:
            connection.close()
            raise
        return connection

    engine = create_engine("sqlite://", creator=connect, pool_size=5, poolclass=_queue_pool())
    event.listen(engine, "begin", _begin)
    return engine


@contextmanager
def reading(engine: Engine, name: str) -> Iterator[Connection]:
    """One snapshot to read from.

    Raises
    ------
    LedgerError
        If the database refuses.
    """
    with _worded(name), engine.connect() as connection:
        if connection.dialect.name == "postgresql":
            connection = connection.execution_options(  # noqa: PLW2901
                isolation_level="REPEATABLE READ", postgresql_readonly=True
            )
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine, name: str) -> Iterator[Connection]:
    """One transaction that writes: all of it is kept, or nothing.

    Raises
    ------
    LedgerError
        If the database refuses.
    """
    with _worded(name), engine.connect() as connection:
        connection = connection.execution_options(**{_WRITES: True})  # noqa: PLW2901
        with connection.begin():
            yield connection


@contextmanager
def _worded(name: str) -> Iterator[None]:
    try:
        yield
    except SQLAlchemyError as error:
        raise put_into_words(error, name) from error
    except sqlite3.Error as error:
        raise put_into_words_sqlite(error, name) from error


def put_into_words_sqlite(error: sqlite3.Error, name: str) -> Exception:
    """As `put_into_words`, for what Python's own SQLite raises."""
    return put_into_words(DBAPIError(None, None, error), name)


def copy_rows(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Add many rows to a table of PostgreSQL within the connection's transaction."""
    import psycopg  # takes a while to load: a ledger file never needs it
    from psycopg import sql

    names = tuple(rows[0])
    into = sql.SQL("COPY {} ({}) FROM STDIN").format(
        sql.Identifier(table.name), sql.SQL(", ").join(map(sql.Identifier, names))
    )
    driver = connection.connection.driver_connection
    assert isinstance(driver, psycopg.Connection)  # noqa: S101  the only driver for it here
    try:
        with driver.cursor() as cursor, cursor.copy(into) as copy:
            for row in rows:
                copy.write_row([row[name] for name in names])
    except psycopg.Error as error:
        raise DBAPIError(None, None, error) from error


def check_there(place: Place) -> None:
    """Say where a file is missing, before SQLite calls it "unable to open".

    Raises
    ------
    NoLedgerError
        If there is no such file.
    """
    if place.path is not None and not place.path.exists():
        raise NoLedgerError(place.name)


def _queue_pool() -> Any:
    from sqlalchemy.pool import QueuePool

    return QueuePool


def _tell_sqlite(connection: sqlite3.Connection, name: str, *, mode: str) -> None:
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    if tables and not {"event", "alembic_version"} <= tables:
        raise NotALedgerError(name)  # before its mode is changed: it is somebody else's
    if mode in {"rw", "rwc"}:
        _use_log(connection)
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("PRAGMA fullfsync=ON")  # macOS: past the drive's own cache
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA recursive_triggers=ON")


def _use_log(connection: sqlite3.Connection) -> None:
    """Put the write-ahead log on; two programs that begin a ledger at once wait for each other."""
    until = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            # the change of mode does not wait by itself
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)
        else:
            return


def _tell_postgresql(connection: Any, _record: Any) -> None:
    was = connection.autocommit
    connection.autocommit = True
    connection.execute("SET synchronous_commit = on")
    connection.autocommit = was


def _begin(connection: Connection) -> None:
    is_writing = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if is_writing else "BEGIN")

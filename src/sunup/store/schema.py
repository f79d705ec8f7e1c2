"""Which form a ledger has, and bringing it up to this program's."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text

from sunup.store.engine import APPLICATION_ID
from sunup.store.faults import NewerLedgerError, NotALedgerError
from sunup.store.index import rebuild_index

if TYPE_CHECKING:
    from sqlalchemy import Connection

FORMS = ("0001", "0002")  # a test holds these against the steps in migrations/versions
NEWEST = FORMS[-1]
_MIGRATIONS = Path(__file__).parent / "migrations"
_LOCK = 7_311_960_411  # PostgreSQL: who brings a ledger up


def find_form(connection: Connection, name: str) -> str | None:
    """Return the form of the ledger behind a connection; None: an empty database.

    Raises
    ------
    NotALedgerError
        If other tables stand there.
    NewerLedgerError
        If a newer program brought it up.
    """
    tables = set(inspect(connection).get_table_names())
    if not tables:
        return None
    if "alembic_version" not in tables or "event" not in tables:
        raise NotALedgerError(name)
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
    if len(found) != 1:
        raise NotALedgerError(name)
    if found[0] not in FORMS:
        raise NewerLedgerError(name, f"form {found[0]}")
    return str(found[0])


def bring_up(connection: Connection, name: str, *, to: str = NEWEST) -> None:
    """Bring a ledger up within the caller's transaction, from nothing where it is empty.

    What is drawn from the ledger is drawn anew. Two programs that do it at once wait for each
    other; the second finds nothing left to do.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    name : str
    to : str
        A form, for tests of older ledgers.
    """
    from alembic import command
    from alembic.config import Config

    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
    if find_form(connection, name) == to:
        return
    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)
    if connection.dialect.name == "sqlite":
        connection.execute(text(f"PRAGMA application_id={APPLICATION_ID}"))
    if to == NEWEST:
        rebuild_index(connection, name=name)

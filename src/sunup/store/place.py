"""Where a ledger is: a file of SQLite, or a database of PostgreSQL by its URL."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from sunup.store.faults import LedgerError


class PlaceError(LedgerError):
    """What was given as a ledger is neither a file nor a database we know."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"'{text}' is no place for a ledger. Give a file such as sunup.db, or "
            "postgresql://SERVER/DATABASE."
        )


@dataclass(frozen=True, slots=True)
class Place:
    """Where a ledger is.

    Parameters
    ----------
    path : Path or None
        The file, for SQLite.
    url : URL or None
        The database, for PostgreSQL.
    """

    path: Path | None = None
    url: URL | None = None

    @property
    def name(self) -> str:
        """The place as it may be shown: a password is left out."""
        if self.path is not None:
            return str(self.path)
        return "" if self.url is None else self.url.render_as_string(hide_password=True)


def find_place(text: str | Path) -> Place:
    """Read what was given as a ledger.

    Parameters
    ----------
    text : str or Path
        A path, ``sqlite:///PATH`` or ``postgresql://...``.

    Raises
    ------
    PlaceError
        If it is an address of anything else.
    """
    given = str(text)
    if "://" not in given:
        return Place(path=Path(text))
    try:
        url = make_url(given)
    except (ArgumentError, ValueError):
        raise PlaceError(given.partition("@")[2] or given) from None
    kind = url.get_backend_name()
    if kind == "sqlite" and url.database:
        return Place(path=Path(url.database))
    if kind in {"postgresql", "postgres"}:
        return Place(url=url.set(drivername="postgresql+psycopg"))
    raise PlaceError(url.render_as_string(hide_password=True))

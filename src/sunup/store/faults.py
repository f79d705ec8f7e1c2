"""What can go wrong with a ledger, in words; what a database says is put into them here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from sunup.base.problems import UsageError

if TYPE_CHECKING:
    from sqlalchemy.exc import SQLAlchemyError


class LedgerError(UsageError):
    """A ledger cannot be opened, read or written; the message says why and what to do."""


class NoLedgerError(LedgerError):
    """There is no ledger where one was looked for."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"There is no ledger '{name}'. Name yours with --ledger, or go to its folder; "
            "the first thing recorded begins a new one."
        )


class EmptyLedgerError(LedgerError):
    """The file is there and holds nothing: it was cut, or a ledger never began in it."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"'{name}' is there and empty (0 bytes). Was it cut, by a failed copy or a full disk? "
            "Then bring back the last backup: sunup ledger restore BACKUP. If it never was a "
            "ledger, remove it; the first thing recorded begins one."
        )


class NotALedgerError(LedgerError):
    """The file or database is something else."""

    def __init__(self, name: str) -> None:
        super().__init__(f"'{name}' is not a ledger of Sunup; nothing in it was touched.")


class NewerLedgerError(LedgerError):
    """A newer program wrote it."""

    def __init__(self, name: str, found: str) -> None:
        super().__init__(
            f"The ledger '{name}' was written by a newer Sunup ({found} is not known here). "
            "Update the program on this computer; nothing was changed."
        )


class OlderLedgerError(LedgerError):
    """It must be brought up first, and nobody said that it may be."""

    def __init__(self, name: str, version: str) -> None:
        super().__init__(
            f"The ledger '{name}' is of form {version} and has to be brought up to this program's. "
            "On PostgreSQL that waits for your word: back the database up, then run "
            "`sunup ledger upgrade`."
        )


class FullError(LedgerError):
    """No room left."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"No room is left on the disk of '{name}'. What was being entered is NOT recorded; "
            "everything before it is. Free some space and enter it again."
        )


class ReadOnlyError(LedgerError):
    """May not be written to."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"'{name}', or its folder, cannot be written to, so nothing was recorded. Check who "
            "owns it and whether the disk is write-protected, or copy it to a place of your own."
        )


class BusyError(LedgerError):
    """Another program held it for too long."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"Another program is writing to '{name}' and did not finish in time. Nothing was "
            "recorded; try again when it is done."
        )


class DamagedError(LedgerError):
    """The file is damaged."""

    def __init__(self, name: str, said: str) -> None:
        super().__init__(
            f"The ledger '{name}' is damaged ({said}). Do not write to it. Bring back the last "
            "backup: sunup ledger restore BACKUP"
        )


class UnreachableError(LedgerError):
    """The database does not answer."""

    def __init__(self, name: str, said: str) -> None:
        super().__init__(
            f"The database '{name}' cannot be used: {said}. Nothing was recorded; check the "
            "address, the user and that the server runs."
        )


class RefusedError(LedgerError):
    """Something was not taken, and with it nothing was."""

    def __init__(self, name: str, said: str, n: int) -> None:
        more = f" (and {n - 1} more)" if n > 1 else ""
        super().__init__(f"Nothing was recorded in '{name}'. {said}{more}")


class DiskError(LedgerError):
    """The disk does not do what it is asked."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"The ledger '{name}': the disk refuses to write or read (full, or failing). Nothing "
            "was recorded."
        )


class UnexpectedError(LedgerError):
    """The database said something we have no words for."""

    def __init__(self, name: str, said: str) -> None:
        super().__init__(f"The ledger '{name}': {said}. Nothing was recorded.")


_FULL = (
    "database or disk is full",
    "no space left",
    "could not extend file",
    "could not write init file",  # PostgreSQL, of a connection begun while its disk is full
    "disk full",
)
_READ_ONLY = ("readonly database", "read-only", "unable to open database file")
_DAMAGED = ("malformed", "disk image", "file is encrypted")


def put_into_words(error: SQLAlchemyError, name: str) -> LedgerError:
    """Return the error of ours that tells what a database's error means.

    Parameters
    ----------
    error : SQLAlchemyError
        As raised.
    name : str
        The ledger as people know it; no password in it.
    """
    if isinstance(error, PoolTimeoutError):
        return BusyError(name)
    said = str(error.orig if isinstance(error, DBAPIError) else error).strip()
    line = said.splitlines()[0] if said else type(error).__name__
    low = said.lower()
    if any(words in low for words in _FULL):
        return FullError(name)
    if "not a database" in low:
        return NotALedgerError(name)
    if any(words in low for words in _DAMAGED):
        return DamagedError(name, line)
    if any(words in low for words in _READ_ONLY):
        return ReadOnlyError(name)
    if "is locked" in low or "lock timeout" in low or "deadlock" in low:
        return BusyError(name)
    if "disk i/o error" in low:
        return DiskError(name)
    if getattr(error, "connection_invalidated", False) or "connection" in low:
        return UnreachableError(name, line)
    return UnexpectedError(name, line)

"""Opening the library (the shipped files and a ranch's overlay) and the ledger."""

from __future__ import annotations

import os
import sys
from functools import cache, wraps
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

from sunup.base.problems import Problem, UsageError
from sunup.library import Library, build_library

if TYPE_CHECKING:
    from collections.abc import Callable

    from sunup.store.ledger import Ledger

P = ParamSpec("P")
T = TypeVar("T")

LEDGER_FILE = "sunup.db"


class FileError(UsageError):
    """A file cannot be read or written; the message says which and what to do."""


def read_bytes(path: Path) -> bytes:
    """Read a file ("-": what is piped in), turning what the system says into words.

    Raises
    ------
    FileError
        If it is missing, a folder, or may not be read.
    """
    try:
        return sys.stdin.buffer.read() if str(path) == "-" else path.read_bytes()
    except FileNotFoundError:
        message = f"There is no file '{path}'. Check the name and the folder."
    except IsADirectoryError:
        message = f"'{path}' is a folder; give a file."
    except OSError as error:
        message = f"'{path}' cannot be read: {error.strerror or error}."
    raise FileError(message)


@cache
def shipped_texts() -> dict[str, str]:
    """The texts of the shipped library, by path inside it."""
    root = files("sunup.library") / "data"
    texts: dict[str, str] = {}
    for entry in sorted(root.iterdir(), key=lambda e: e.name):
        if entry.is_dir():
            for inner in sorted(entry.iterdir(), key=lambda e: e.name):
                if inner.name.endswith(".toml"):
                    texts[f"{entry.name}/{inner.name}"] = inner.read_text(encoding="utf-8")
        elif entry.name.endswith(".toml"):
            texts[entry.name] = entry.read_text(encoding="utf-8")
    return texts


@cache
def _shipped_library() -> tuple[Library, tuple[Problem, ...]]:
    """The library without an overlay: read once, it cannot change while the program runs."""
    library, problems = build_library(shipped_texts(), None)
    return library, tuple(problems)


def open_library(overlay: Path | None = None) -> tuple[Library, list[Problem]]:
    """Build the library from the shipped files and a ranch's overlay, if one is given.

    Raises
    ------
    FileError
        If the overlay cannot be read.
    """
    if overlay is None:
        library, problems = _shipped_library()
        return library, list(problems)
    try:
        text = read_bytes(overlay).decode("utf-8-sig")
    except UnicodeDecodeError:
        message = f"'{overlay}' is not UTF-8 text. Save it as UTF-8."
        raise FileError(message) from None
    return build_library(shipped_texts(), text)


def tells_faults(use_case: Callable[P, T]) -> Callable[P, T]:
    """Name the faults of a use-case's `overlay` beside what it refuses.

    What is faulty in an overlay is left out, so a protocol of it may not be known.
    """

    @wraps(use_case)
    def told(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return use_case(*args, **kwargs)
        except UsageError as error:
            overlay = kwargs.get("overlay")
            if isinstance(overlay, Path) and not isinstance(error, FileError):
                error.problems = tuple(open_library(overlay)[1])
            raise

    return told


def find_ledger() -> str | None:
    """The ledger that SUNUP_LEDGER names or that is in the current folder, if there is one."""
    named = os.environ.get("SUNUP_LEDGER")
    return named or (LEDGER_FILE if os.path.exists(LEDGER_FILE) else None)  # noqa: PTH110


def open_ledger(
    where: str | Path | None = None,
    *,
    ranch: str | None = None,
    new_ranch: str | None = None,
    create: bool = False,
    read_only: bool = False,
    upgrade: bool = False,
    tell: Callable[[str], object] | None = None,
) -> Ledger:
    """Open a ledger, in the form this program knows; `close` it or use it in a ``with``.

    A file of an older form is backed up beside itself and brought up. A database of PostgreSQL is
    brought up only where `upgrade` says so, and written out as JSON Lines before.

    Parameters
    ----------
    where : str or Path, optional
        A file, or the URL of a database; if absent what SUNUP_LEDGER says, else ``sunup.db`` in
        the current folder.
    ranch : str, optional
        If absent what SUNUP_RANCH says, else the only ranch there is.
    new_ranch : str, optional
        What the ranch is called where the ledger is begun, or which of several is meant; another
        name than that of the only ranch there is does not count.
    create : bool
        Begin a new ledger where there is none.
    read_only : bool
        Only to be read: opens also on a disk that cannot be written to.
    upgrade : bool
        PostgreSQL: bring an older form up.
    tell : callable, optional
        Is given a sentence when the ledger had to be brought up.

    Raises
    ------
    LedgerError
        If there is none and none may be begun, it is no ledger, a newer program wrote it, or it
        cannot be read or written. The message says what to do.
    """
    from sunup.app.ledger_forms import open_in_form
    from sunup.store.ledger import Ledger
    from sunup.store.place import find_place

    place = find_place(where or os.environ.get("SUNUP_LEDGER") or LEDGER_FILE)
    engine = open_in_form(place, create=create, read_only=read_only, upgrade=upgrade, tell=tell)
    ranch = ranch or os.environ.get("SUNUP_RANCH") or None
    return Ledger(place, engine, ranch=ranch, new_ranch=new_ranch)

"""Bringing a ledger to this program's form before it is used: begin it, or back up and bring up."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from sunup.store.copies import copy_file
from sunup.store.engine import check_there, make_engine, reading, writing
from sunup.store.faults import (
    DiskError,
    EmptyLedgerError,
    FullError,
    LedgerError,
    NoLedgerError,
    OlderLedgerError,
    ReadOnlyError,
    UnexpectedError,
)
from sunup.store.schema import NEWEST, bring_up, find_form

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sqlalchemy import Engine

    from sunup.store.place import Place


class NoFolderError(LedgerError):
    """The folder a ledger is to be begun in is not there."""

    def __init__(self, folder: Path) -> None:
        super().__init__(f"There is no folder '{folder}' to begin a ledger in. Make it first.")


def open_in_form(
    place: Place,
    *,
    create: bool,
    read_only: bool,
    upgrade: bool,
    tell: Callable[[str], object] | None,
) -> Engine:
    """Return an engine on a ledger of this program's form; as ``open_ledger`` says."""
    if not create:
        check_there(place)
    elif place.path is not None and not place.path.resolve().parent.is_dir():
        raise NoFolderError(place.path.resolve().parent)
    _check_not_cut(place, create=create)
    engine, form = _open(place, create=create, read_only=read_only)
    if form == NEWEST:
        return engine
    try:
        _check_may_bring_up(place, form, create=create, may=not read_only, upgrade=upgrade)
        kept = None if form is None else _keep(place, engine)
        with writing(engine, place.name) as connection:
            bring_up(connection, place.name)
    except BaseException:
        engine.dispose()
        raise
    if kept is not None and tell is not None:
        tell(
            f"The ledger was brought from form {form} to {NEWEST}; "
            f"as it was before it is kept in {kept}."
        )
    return engine


_BEGINS_S = 60.0  # another program may be beginning a file as young as this


def _check_not_cut(place: Place, *, create: bool) -> None:
    """Say where a file is empty: a new ledger in it would hide that the old one is gone.

    Raises
    ------
    EmptyLedgerError
        If it is there with nothing in it.
    """
    path = place.path
    if path is None or not path.exists() or path.stat().st_size or _log_size(place):
        return
    if create and time.time() - path.stat().st_mtime < _BEGINS_S:
        return
    raise EmptyLedgerError(place.name)


def _check_may_bring_up(
    place: Place, form: str | None, *, create: bool, may: bool, upgrade: bool
) -> None:
    if form is None and not create:
        raise NoLedgerError(place.name)
    if form is not None and (not may or (place.path is None and not upgrade)):
        raise OlderLedgerError(place.name, form)


def stamp() -> str:
    """The computer's time as it stands in names of files: 20270525-143000."""
    return f"{datetime.now(UTC).astimezone():%Y%m%d-%H%M%S}"


def name_beside(place: Place, what: str, ending: str) -> Path:
    """A name for a copy beside the ledger that is not taken: sunup-20270525-143000-WHAT.db."""
    from pathlib import Path

    home = Path() if place.path is None else place.path.parent
    stem = "sunup" if place.path is None else place.path.stem
    name = f"{stem}-{stamp()}" + (f"-{what}" if what else "")
    path, n = home / f"{name}{ending}", 1
    while path.exists():
        n += 1
        path = home / f"{name}-{n}{ending}"
    return path


def _open(place: Place, *, create: bool, read_only: bool) -> tuple[Engine, str | None]:
    modes = ("rwc",) if create else ("rw", "ro", "still") if read_only else ("rw",)
    last: LedgerError = UnexpectedError(place.name, "it cannot be opened")
    for mode in modes if place.path is not None else ("rw",):
        if mode == "still" and _log_size(place):
            break
        engine = make_engine(place, mode=mode)
        try:
            with reading(engine, place.name) as connection:
                return engine, find_form(connection, place.name)
        except (ReadOnlyError, FullError, DiskError) as error:
            engine.dispose()  # a log beside it cannot be begun: read it without one
            last = error
        except BaseException:
            engine.dispose()
            raise
    raise last


def _log_size(place: Place) -> int:
    assert place.path is not None  # noqa: S101  only asked of files
    log = place.path.with_name(place.path.name + "-wal")
    return log.stat().st_size if log.exists() else 0


def _keep(place: Place, engine: Engine) -> Path:
    """Keep the ledger as it is before it is brought up; return where."""
    if place.path is not None:
        kept = name_beside(place, f"before-{NEWEST}", ".db")
        copy_file(place.path, kept)
        return kept
    from sunup.app.ledger_lines import write_all_lines

    kept = name_beside(place, f"before-{NEWEST}", ".jsonl")
    with reading(engine, place.name) as connection:
        write_all_lines(connection, place.name, kept)
    return kept

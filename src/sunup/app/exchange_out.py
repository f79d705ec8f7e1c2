"""Use-cases of files going out: ADE, lists and events, as a file that is written whole or not."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.app.exchange_ade import shows_heat_of
from sunup.app.exchange_in import zone_of
from sunup.app.herd_list import find_herd_list
from sunup.app.open import FileError
from sunup.base.hours import find_zone
from sunup.base.problems import UsageError
from sunup.exchange.ade_file import render_ade
from sunup.exchange.ade_out import by_type, export_ade
from sunup.exchange.lists_out import events_table, herd_table, result_table
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.roster import build_roster
from sunup.exchange.standing import stand
from sunup.exchange.table_out import render_csv, render_xlsx

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from sunup.app.herd_list import HerdList
    from sunup.exchange.ade_lost import Lost
    from sunup.records.event import Event

LISTS = ("herd", *(kind.value for kind in ResultKind), "events")


class NotATargetError(UsageError):
    """A file of a name we write nothing under, or one that is there."""


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: files with how much each holds; what they do not hold.

    `lost` is of ADE, `said` of lists, in words.
    """

    files: tuple[tuple[Path, int], ...]
    lost: tuple[Lost, ...] = ()
    said: tuple[str, ...] = ()


def write_ade(events: Sequence[Event], target: Path, *, ranch: str, over: bool = False) -> Written:
    """Write a ledger as ADE: one file, or a folder with one a resource type.

    Parameters
    ----------
    events : sequence of Event
    target : Path
        A file ending in .json, or a folder (made where it is not there).
    ranch : str
    over : bool
        Write over files that are there.

    Raises
    ------
    FileError
        If a file cannot be written.
    NotATargetError
        If it is there and `over` was not said, or ends in something else.
    """
    export = export_ade(events, ranch=ranch, shows_heat=shows_heat_of())
    if target.suffix.lower() == ".json":
        parts = {target: list(export.resources)}
    elif target.suffix and not target.is_dir():
        message = f"'{target.name}': ADE is written to a file ending in .json, or to a folder."
        raise NotATargetError(message)
    else:
        parts = {target / f"{name}.json": part for name, part in by_type(export.resources).items()}
    for path in parts:
        _check(path, over=over)
    for path, part in parts.items():
        _write(path, render_ade(part).encode())
    return Written(tuple((path, len(part)) for path, part in parts.items()), export.lost)


def write_list(
    what: str,
    events: Sequence[Event],
    target: Path,
    *,
    ranch: str = "",
    zone: str | None = None,
    over: bool = False,
) -> Written:
    """Write a list as CSV or XLSX.

    Parameters
    ----------
    what : str
        One of ``LISTS``.
    events : sequence of Event
    target : Path
        Ending in .csv or .xlsx.
    ranch : str
    zone : str, optional
        IANA zone of the clock times; that of the ledger where absent.
    over : bool
        Write over a file that is there.

    Raises
    ------
    FileError, NotATargetError
        As `write_ade`.
    """
    place = find_zone(zone or zone_of(events) or "UTC")
    standing = stand(events)
    roster = build_roster(standing)
    said: tuple[str, ...] = ()
    if what == "herd":
        herd = find_herd_list(events, ranch=ranch, zone=place.key)
        table = herd_table(herd.females, unclassed=herd.unclassed)
        said = _say_left_out(herd)
    elif what == "events":
        table = events_table(standing, roster, place)
    else:
        table = result_table(ResultKind(what), roster, place)
    kind = target.suffix.lower()
    if kind not in {".csv", ".xlsx"}:
        message = f"'{target.name}': lists are written to a file ending in .csv or .xlsx."
        raise NotATargetError(message)
    _check(target, over=over)
    _write(target, render_csv(table) if kind == ".csv" else render_xlsx([table]))
    return Written(((target, len(table.rows)),), said=said)


def _say_left_out(herd: HerdList) -> tuple[str, ...]:
    """Words for what a list with no column for its day does not say any more."""
    if not herd.left_out:
        return ()
    facts = ", ".join(f"{what} of {n}" for what, n in herd.left_out)
    words = (
        f"left empty, as the last is more than {herd.old_days:g} days old and the list has no "
        f"column for its day: {facts}"
    )
    return (words,)


def keep_aside(sources: Sequence[object], target: Path, *, over: bool = False) -> None:
    """Write what was put aside as JSON: ADE resources as they came, rows with their reason."""
    _check(target, over=over)
    _write(target, render_ade(sources).encode())


def _check(path: Path, *, over: bool) -> None:
    if path.exists() and not over:
        message = f"'{path}' is there already. Say --over to write over it, or give another name."
        raise NotATargetError(message)


def _write(path: Path, data: bytes) -> None:
    """Write beside the file and let it take its name when it is whole."""
    temporary = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, path)  # noqa: PTH105 - Path.replace gives no other behaviour
    except OSError as error:
        if temporary is not None and os.path.exists(temporary):  # noqa: PTH110
            os.unlink(temporary)  # noqa: PTH108
        message = f"'{path}' cannot be written: {error.strerror or error}."
        raise FileError(message) from None

"""A ledger as JSON Lines, one event a line, lossless both ways."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, BinaryIO

from sunup.app.open import FileError
from sunup.base.problems import Problem, Severity
from sunup.records.forms import has_form
from sunup.records.reading import check_event
from sunup.store.ledger import stored_events
from sunup.store.lines import read_line, write_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from sqlalchemy import Connection

    from sunup.records.event import Event
    from sunup.store.ledger import Ledger
    from sunup.store.writing import Refused

_PORTION = 10_000


@dataclass(frozen=True, slots=True)
class RefusedLine:
    """A line that was not taken: its number from 1, why, and what stands on file instead."""

    line: int
    problem: Problem
    against: Event | None = None


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of the lines of a file.

    `new` and `known` count events; `odd` says of lines that were taken what no reader will use: a
    body that is not of its form is kept all the same, and can be corrected.
    """

    new: int
    known: int
    refused: tuple[RefusedLine, ...]
    odd: tuple[Problem, ...] = ()


def export_lines(ledger: Ledger, target: Path) -> int:
    """Write every event of a ledger's ranch, exactly as recorded; return how many.

    Parameters
    ----------
    ledger : Ledger
    target : Path
        "-" writes to standard output. A file is written whole, then put in place; one that is
        there is never written over.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    with ledger.reading() as connection, _open_to_write(target) as file:
        return _write(file, stored_events(connection, ledger.ranch, ledger.name))


def write_all_lines(connection: Connection, name: str, target: Path) -> int:
    """Write every event behind a connection, of all ranches; return how many."""
    with _open_to_write(target) as file:
        return _write(file, stored_events(connection, None, name))


def import_lines(ledger: Ledger, source: Path) -> Imported:
    """Read events from JSON Lines into a ledger, in one transaction.

    Lines that cannot be taken are named with their numbers; all others are taken. Either all of
    those are on disk when this returns, or, where it fails, none.

    Parameters
    ----------
    ledger : Ledger
    source : Path
        "-" reads standard input.

    Raises
    ------
    FileError
        If the file cannot be read.
    LedgerError
        If the ledger cannot be written.
    """
    bad: list[RefusedLine] = []
    odd: list[Problem] = []
    numbers: list[int] = []  # of the lines that hold an event
    with ledger.writing() as session:
        portion: list[Event] = []
        for number, line in enumerate(_read_lines(source), start=1):
            if not line.strip():
                continue
            found = read_line(line, f"{_tell(source)} line {number}")
            if isinstance(found, Problem):
                bad.append(RefusedLine(number, found))
                continue
            odd += _find_odd(found, f"{_tell(source)} line {number}")
            portion.append(found)
            numbers.append(number)
            if len(portion) == _PORTION:
                session.add(portion)
                portion = []
        session.add(portion)
        result = session.finish()
    handed_back = [
        _name_line(refused, numbers[refused.place], source) for refused in result.refused
    ]
    refused = sorted(bad + handed_back, key=lambda r: r.line)
    return Imported(result.new, result.known, tuple(refused), tuple(odd))


def _find_odd(event: Event, where: str) -> Iterator[Problem]:
    if has_form(event.kind, event.body) and event.corrects is None:
        return  # nearly all, and fast
    for problem in check_event(event, where):
        yield replace(problem, severity=Severity.WARNING)


def _name_line(refused: Refused, line: int, source: Path) -> RefusedLine:
    said = refused.problem
    where = f"{_tell(source)} line {line}, {said.where}"
    return RefusedLine(line, Problem(where, said.what, said.fix, said.severity), refused.against)


def _tell(source: Path) -> str:
    return "input" if str(source) == "-" else source.name


def _read_lines(source: Path) -> Iterator[bytes]:
    try:
        if str(source) == "-":
            yield from sys.stdin.buffer
            return
        with source.open("rb") as file:
            yield from file
    except OSError as error:
        message = (
            f"'{source}' cannot be read: {error.strerror or error}. Nothing was taken from it."
        )
        raise FileError(message) from None


@contextmanager
def _open_to_write(target: Path) -> Iterator[BinaryIO]:
    if str(target) == "-":
        yield sys.stdout.buffer
        sys.stdout.buffer.flush()
        return
    if target.exists():
        message = f"There is a file '{target}' already. Give another name; nothing was written."
        raise FileError(message)
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.rename(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        message = f"'{target}' cannot be written: {error.strerror or error}. Nothing was written."
        raise FileError(message) from None
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def _write(file: BinaryIO, events: Iterable[Event]) -> int:
    n = 0
    for n, event in enumerate(events, start=1):  # noqa: B007  counted
        file.write(write_line(event).encode())
    return n

"""Column headers: which fact each one holds, in the many ways people write it."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.exchange.fields import HERD_FIELDS, Field, FieldSet, Stakes, squash

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence


_UNITS = {
    "lb": "lb",
    "lbs": "lb",
    "pound": "lb",
    "pounds": "lb",
    "kg": "kg",
    "kgs": "kg",
    "kilo": "kg",
    "kilos": "kg",
    "kilogram": "kg",
    "kilograms": "kg",
}
_DATE_ORDERS = {
    "mdy": "mdy",
    "mmddyyyy": "mdy",
    "mdyyyy": "mdy",
    "dmy": "dmy",
    "ddmmyyyy": "dmy",
    "dmyyyy": "dmy",
    "ymd": "iso",
    "yyyymmdd": "iso",
    "iso": "iso",
}
_SCALES = {"15": "1-5", "1to5": "1-5", "19": "1-9", "1to9": "1-9"}
_HARMLESS = frozenset(["cm2", "sqcm", "squarecm", "date", "yesno", "yn", "score", "days"])
_WORDS = re.compile(r"[a-z0-9]+")


@dataclass(frozen=True, slots=True)
class Known:
    """What a header stands for, with the unit, date order or scale it states."""

    key: str
    rank: int
    unit: str | None = None
    date_order: str | None = None
    scale: str | None = None


def read_header(text: str, fields: FieldSet = HERD_FIELDS) -> Known | None:
    """Tell what a header stands for.

    Parameters
    ----------
    text : str
        As it stands in the file, for example "Weight (lb)" or "Calved dd/mm/yyyy".
    fields : FieldSet
        What this kind of file may hold; a herd list unless said.

    Returns
    -------
    Known or None
        None where the header is not known.
    """
    whole = squash(text)
    if whole in fields.known:
        return Known(*fields.known[whole])
    for cut in range(1, min(len(whole), 10)):
        name, tail = whole[:-cut], whole[-cut:]
        if name not in fields.known:
            continue
        key, rank = fields.known[name]
        one = fields.by_key[key]
        if one.is_weight and tail in _UNITS:
            return Known(key, rank, unit=_UNITS[tail])
        if one.is_date and tail in _DATE_ORDERS:
            return Known(key, rank, date_order=_DATE_ORDERS[tail])
        if tail in _SCALES:
            return Known(key, rank, scale=_SCALES[tail])
        if tail in _HARMLESS and tail != "days":
            return Known(key, rank)
    return None


def nearest_header(text: str, fields: FieldSet = HERD_FIELDS) -> tuple[Field, str] | None:
    """Find the known header most like one that is not known."""
    squashed = squash(text)
    if len(squashed) < 3:
        return None
    close = difflib.get_close_matches(squashed, fields.shown, n=1, cutoff=0.8)
    if not close:
        return None
    return fields.by_key[fields.known[close[0]][0]], fields.shown[close[0]]


@dataclass(frozen=True, slots=True)
class Column:
    """A column taken: where it stands, its header, and what the header states."""

    index: int
    header: str
    known: Known


@dataclass(slots=True)
class Headers:
    """The header row read: columns by field, rivals (second columns of a field), and the rest."""

    row: int
    cells: tuple[str, ...]
    columns: dict[str, Column] = field(default_factory=dict)
    rivals: list[Column] = field(default_factory=list)
    passed_over: list[tuple[Column, Column]] = field(default_factory=list)  # (not used, used)
    unknown: list[tuple[int, str]] = field(default_factory=list)
    missing: list[tuple[str, str]] = field(default_factory=list)  # (field, header asked for)
    fields: FieldSet = HERD_FIELDS


def read_headers(
    row: int, cells: Sequence[str], asked: Mapping[str, str], fields: FieldSet = HERD_FIELDS
) -> Headers:
    """Match a header row with the fields.

    Parameters
    ----------
    row : int
        Its number.
    cells : sequence of str
    asked : mapping
        Field to header, as the user said; it goes before what is recognised.
    fields : FieldSet

    Returns
    -------
    Headers
        Of two columns for one field the better name is taken, of two equally good ones the left;
        the other is then a rival whose cells are compared, as is every second column of a field
        on which safety depends.
    """
    headers = Headers(row=row, cells=tuple(cell.strip() for cell in cells), fields=fields)
    by_squash: dict[str, list[int]] = {}
    for index, cell in enumerate(headers.cells):
        by_squash.setdefault(squash(cell), []).append(index)
    taken: set[int] = set()
    for key, wanted in asked.items():
        places = [at for at in by_squash.get(squash(wanted), []) if at not in taken]
        if not places:
            headers.missing.append((key, wanted))
            continue
        header = headers.cells[places[0]]
        told = read_header(header, fields) or _stated(header, fields.by_key[key])
        known = Known(key, -1, unit=told.unit, date_order=told.date_order, scale=told.scale)
        headers.columns[key] = Column(places[0], header, known)
        taken.add(places[0])
    candidates: dict[str, list[Column]] = {}
    for index, cell in enumerate(headers.cells):
        if index in taken:
            continue
        found = read_header(cell, fields) if cell else None
        if found is None:
            headers.unknown.append((index, cell))
        else:
            candidates.setdefault(found.key, []).append(Column(index, cell, found))
    for key, columns in candidates.items():
        columns.sort(key=lambda column: (column.known.rank, column.index))
        if key in headers.columns:
            first, others = headers.columns[key], columns
        else:
            first, others = columns[0], columns[1:]
            headers.columns[key] = first
        is_safety = fields.by_key[key].stakes is Stakes.SAFETY
        for other in others:
            equal = other.known.rank == first.known.rank
            if first.known.rank >= 0 and (equal or is_safety):
                headers.rivals.append(other)
            else:
                headers.passed_over.append((other, first))
    return headers


def _stated(header: str, one: Field) -> Known:
    """Find the unit or date order that a header of the user's own naming ends in."""
    last = _WORDS.findall(header.casefold())[-1:] or [""]
    return Known(
        one.key,
        -1,
        unit=_UNITS.get(last[0]) if one.is_weight else None,
        date_order=_DATE_ORDERS.get(last[0]) if one.is_date else None,
    )


def header_score(
    cells: Iterable[str], asked: Mapping[str, str], fields: FieldSet = HERD_FIELDS
) -> int:
    """Count the fields a row would name as a header; 0 where it names nobody.

    A loose name such as "cow" or "no" counts as the tag only beside another known header: a list
    without a header row may hold such words.
    """
    wanted = {squash(header): key for key, header in asked.items()}
    keys, filled, is_loose = set(), 0, True
    for cell in cells:
        if not cell or len(cell) > 80:
            continue
        filled += 1
        squashed = squash(cell)
        if squashed in wanted:
            keys.add(wanted[squashed])
            is_loose &= wanted[squashed] not in fields.names_her
        elif (known := read_header(cell, fields)) is not None:
            keys.add(known.key)
            is_loose &= known.key not in fields.names_her or known.rank > 1
    if not keys & fields.names_her or (is_loose and len(keys) == 1 < filled):
        return 0
    return len(keys)

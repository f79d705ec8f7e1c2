"""A herd file in: every bad cell is reported at its row and column, and the good rows load."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.exchange.columns import column_for
from sunup.exchange.date_columns import mixed_orders, orders_shown
from sunup.exchange.fields import BY_KEY
from sunup.exchange.header_problems import header_problems, usable_columns
from sunup.exchange.headers import header_score, read_header, read_headers
from sunup.exchange.herd_rows import HerdRows
from sunup.exchange.report import Report
from sunup.exchange.rows_below import count_named
from sunup.exchange.sheets import NotATableError, Row, Sheet
from sunup.exchange.tables import PEEK_ROWS, open_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from sunup.base.problems import Problem
    from sunup.exchange.plausible import Limits
    from sunup.records.female import Female

_DATE_ORDERS = (None, "iso", "mdy", "dmy")
_WEIGHT_UNITS = (None, "lb", "kg")


@dataclass(frozen=True, slots=True)
class HerdReading:
    """How a herd file is to be read.

    Parameters
    ----------
    date_order : str or None
        "mdy" or "dmy" for dates such as 03/04/2027; "iso" or None: such dates are reported.
    weight_unit : str or None
        "lb" or "kg" for weight columns whose header states no unit; None: they are reported.
    columns : mapping
        Field to header, where a header is not recognised or two are.
    sheet : str or None
        The workbook's sheet; None: the only one that names females.
    """

    date_order: str | None = None
    weight_unit: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class HerdFile:
    """What a herd file held.

    `rows` counts rows with something in them below the header; `columns` are (header, field) as
    taken, in the file's order; `unused` are the headers of columns not taken.
    """

    females: tuple[Female, ...]
    problems: tuple[Problem, ...]
    rows: int = 0
    columns: tuple[tuple[str, str], ...] = ()
    unused: tuple[str, ...] = ()


def read_herd(
    data: bytes, name: str, *, on: date, limits: Limits, reading: HerdReading | None = None
) -> HerdFile:
    """Read a herd list from the bytes of a CSV or XLSX file.

    Parameters
    ----------
    data : bytes
    name : str
        The file's name, for problems; what the file is, is told by its bytes.
    on : date
        Today; nothing in a herd file may lie after it.
    limits : Limits
        What is believed.
    reading : HerdReading, optional
        How to read dates, weights and columns.

    Returns
    -------
    HerdFile
        Never raises for what a file may hold; mistakes are in `problems`. An unreadable tag keeps
        the row out; an unreadable class, calving date, exposure, pregnancy or hold puts her on
        hold; any other unreadable cell is left unknown.
    """
    how = reading or HerdReading()
    asked, strange = _asked(how.columns)
    try:
        sheet = open_table(
            data,
            name,
            score=lambda rows: _best_header(rows, asked)[0],
            count=lambda one: _count_females(one, asked),
            sheet=how.sheet,
        )
        report = Report(f"{name} sheet '{sheet.name}'" if sheet.name else name)
        _check_reading(how, strange, report)
        return _read_sheet(sheet, report, on=on, limits=limits, how=how, asked=asked)
    except NotATableError as fault:
        return HerdFile((), (fault.to_problem(name),))


def _asked(columns: Mapping[str, str]) -> tuple[dict[str, str], list[str]]:
    """Bring the fields a user named to ours ("bull in" is bull_in); the second part is unknown."""
    asked: dict[str, str] = {}
    strange = []
    for key, header in columns.items():
        known = key if key in BY_KEY else getattr(read_header(key), "key", None)
        if known is None:
            strange.append(key)
        else:
            asked[known] = header
    return asked, strange


def _check_reading(how: HerdReading, strange: list[str], report: Report) -> None:
    """Report what was asked for and is not to be had."""
    for key in strange:
        report.file(
            f"There is no field '{key}' to take a column for.", f"Fields: {', '.join(BY_KEY)}."
        )
    if how.date_order not in _DATE_ORDERS:
        report.file(f"'{how.date_order}' is no order of dates.", "Say mdy, dmy or iso.")
    if how.weight_unit not in _WEIGHT_UNITS:
        report.file(f"'{how.weight_unit}' is no unit of weight here.", "Say lb or kg.")


def _best_header(rows: Iterable[Row], asked: Mapping[str, str]) -> tuple[int, int, list[str]]:
    """Find the row with most known headers: (score, row number, cells)."""
    best: tuple[int, int, list[str]] = (0, 0, [])
    for count, (number, cells) in enumerate(rows):
        if count == PEEK_ROWS:
            break
        score = header_score(cells, asked)
        if score > best[0]:
            best = (score, number, cells)
    return best


def _count_females(sheet: Sheet, asked: Mapping[str, str]) -> int:
    """Count the rows of a sheet that name a female."""
    _, number, cells = _best_header(sheet.rows(), asked)
    return count_named(sheet.rows(), read_headers(number, cells, asked), ("tag",))


def _read_sheet(
    sheet: Sheet,
    report: Report,
    *,
    on: date,
    limits: Limits,
    how: HerdReading,
    asked: Mapping[str, str],
) -> HerdFile:
    """Read header and rows of one table."""
    score, number, cells = _best_header(sheet.rows(), asked)
    headers = read_headers(number, cells, asked)
    taken = usable_columns(headers)
    if not score or "tag" not in taken:
        report.file(
            f"No header row with a column for the tag in the first {PEEK_ROWS} rows.",
            "Name the column 'Tag', or say --column tag=HEADER.",
        )
        return HerdFile((), report.in_order())
    weight_unit = how.weight_unit if how.weight_unit in _WEIGHT_UNITS else None
    for problem, index in header_problems(headers, report.place, weight_unit):
        report.add(problem, index)
    shown = orders_shown(sheet.rows(), headers, taken, how.date_order)
    for problem, index in mixed_orders(shown, headers, taken, report.place):
        report.add(problem, index)
    readers = {
        key: column_for(
            column.known,
            on=on,
            date_order=how.date_order,
            weight_unit=weight_unit,
            limits=limits,
            shown=shown.get(key),
        )
        for key, column in taken.items()
    }
    places = {key: column.index for key, column in taken.items()}
    sheet.problems[:] = [one for one in sheet.problems if one.row is None]  # found again below
    rows = HerdRows(headers, places, readers, report, on, limits).read(sheet.rows())
    n_unread = 0
    for one in sheet.problems:
        report.add(one)
        n_unread += one.row is not None and one.row > number
    if not rows.lines and not n_unread:
        report.file(
            f"There is a header on row {number} but no row below it.", "Give one row a female."
        )
    used = set(places.values())
    return HerdFile(
        females=tuple(one for one in rows.females if one is not None),
        problems=report.in_order(),
        rows=len(rows.lines) + n_unread,
        columns=tuple(
            (column.header, key)
            for key, column in sorted(taken.items(), key=lambda pair: pair[1].index)
        ),
        unused=tuple(cell for at, cell in enumerate(headers.cells) if cell and at not in used),
    )

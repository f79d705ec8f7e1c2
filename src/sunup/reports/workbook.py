"""The workbook: the plan as sheets of typed cells, to sort, filter and hand on.

Dates are dates, numbers are numbers. A text cell that a spreadsheet could take for a formula
(beginning with ``= + - @``, a tab or a line end) is written as text and marked so with the
spreadsheet's own quote mark, which keeps the text itself unharmed (OWASP ASVS 5.0.0, 1.2.10).
Negative amounts are numbers and are not touched.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime
from io import BytesIO
from textwrap import wrap
from typing import TYPE_CHECKING

import xlsxwriter  # type: ignore[import-untyped]  # the package ships no types
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from sunup.base.hours import find_zone
from sunup.reports import workbook_rows
from sunup.reports.workbook_rows import Amount, Cell, Table, Whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from xlsxwriter.format import Format  # type: ignore[import-untyped]
    from xlsxwriter.workbook import Workbook  # type: ignore[import-untyped]
    from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

    from sunup.planning.plan import Plan

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
_LONGEST_CELL = 32_767  # characters a cell may hold in this file format
_LINE_PT, _HIGHEST_PT = 15.0, 409.0  # a line of 11 points; the highest row there may be
_INK, _HEAD = "#1F1A14", "#F9E8C0"
_BUTTON = 3  # characters that the filter's button takes of a head
_DAY, _MOMENT = 17.0, 22.0  # characters of "Wed 26 May 2027", and with its clock time
_CAPITAL = 0.3  # how much more than a figure a capital takes
_PAGE = 230  # characters on a page that lies down, in type that is still read


@dataclass(frozen=True, slots=True)
class _Looks:
    """The formats of one workbook."""

    head: Format
    text: Format
    guarded: Format
    day: Format
    moment: Format
    whole: Format
    amount: Format
    money: Format
    total: Format
    total_name: Format


def render_workbook(plan: Plan) -> bytes:
    """Render the plan as an XLSX workbook.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    bytes
        Sheets Summary, Schedule, Females, Shopping, Run-up, Clashes, Choices and Costs. Clock times
        are the ranch's. The same plan gives the same bytes.
    """
    out = BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False,
                                     "strings_to_urls": False})  # fmt: skip
    made = plan.made_at_utc.astimezone(UTC).replace(tzinfo=None)
    book.set_properties({"title": f"{plan.ranch}: {plan.season}", "created": made})
    looks, among_words = _looks(book), _looks(book, numbers="left")
    for table in workbook_rows.tables(plan, find_zone(plan.zone)):
        _write(book, table, among_words if table.mixed else looks)
    book.close()
    return out.getvalue()


def _looks(book: Workbook, *, numbers: str = "right") -> _Looks:
    base = {"font_name": "Calibri", "font_size": 11, "font_color": _INK, "valign": "top"}
    wrapped = base | {"text_wrap": True}
    strong = {"bold": True, "bg_color": _HEAD}
    # a number that stands right would touch the words of the next column
    number = base | {"align": numbers, "indent": 1 if numbers == "right" else 0}
    return _Looks(
        head=book.add_format(wrapped | strong | {"bottom": 1}),
        text=book.add_format(wrapped),
        guarded=book.add_format(wrapped | {"quote_prefix": True}),
        day=book.add_format(base | {"num_format": "ddd d mmm yyyy", "align": "left"}),
        moment=book.add_format(base | {"num_format": "ddd d mmm yyyy hh:mm", "align": "left"}),
        whole=book.add_format(number | {"num_format": "#,##0"}),
        amount=book.add_format(number | {"num_format": "#,##0.##"}),
        money=book.add_format(number | {"num_format": "#,##0.00"}),
        total=book.add_format(number | strong | {"num_format": "#,##0.00", "top": 1}),
        total_name=book.add_format(base | strong | {"top": 1}),
    )


def _write(book: Workbook, table: Table, looks: _Looks) -> None:
    sheet = book.add_worksheet(table.name)
    widths = _widths(table)
    for column, (title, _) in enumerate(table.columns):
        sheet.set_column(column, column, widths[column])
        sheet.write_string(0, column, title, looks.head)
    _set_height(sheet, 0, [title for title, _ in table.columns], widths)
    for row, cells in enumerate(table.rows, start=1):
        _set_height(sheet, row, cells, widths)
        for column, cell in enumerate(cells):
            _write_cell(sheet, row, column, cell, looks)
    if table.total and table.rows:
        _write_total(sheet, table, looks)
    sheet.freeze_panes(1, table.named_by)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(_pages_wide(table, widths), 0)
    sheet.repeat_rows(0)
    if table.named_by:
        sheet.repeat_columns(0, table.named_by - 1)
    sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.6)
    sheet.set_footer("&L&A&RPage &P of &N")


def _widths(table: Table) -> list[float]:
    """As wide as each column's longest word or number asks, at most as wide as it may be."""
    return [
        min(most, max(_head_width(title), *(_cell_width(row[i]) for row in table.rows), 0.0))
        for i, (title, most) in enumerate(table.columns)
    ]


def _head_width(title: str) -> float:
    return max(_text_width(word) for word in title.split()) + _BUTTON


def _text_width(text: str) -> float:
    return 1 + max(len(x) + _CAPITAL * sum(map(str.isupper, x)) for x in text.split("\n"))


def _cell_width(cell: Cell) -> float:
    match cell:
        case None | "":
            return 0.0
        case str():
            return _text_width(cell)
        case datetime():
            return _MOMENT
        case date():
            return _DAY
        case Whole():
            return len(f"{cell.value:,.0f}") + 3.0
        case Amount():
            return len(f"{cell.value:,.2f}") + 3.0
        case int() | float():
            return len(f"{cell:,.2f}".rstrip("0")) + 3.0


def _pages_wide(table: Table, widths: Sequence[float]) -> int:
    """On how many pages beside each other a sheet is printed, so that it can be read."""
    named, rest = sum(widths[: table.named_by]), sum(widths[table.named_by :])
    return max(1, math.ceil(rest / (_PAGE - named))) if named < _PAGE else 1


def _set_height(sheet: Worksheet, row: int, cells: Sequence[Cell], widths: Sequence[float]) -> None:
    """Give a row the height of its longest text: not every program grows it when it opens a file.

    A width counts digits; letters are narrower in the mean, so that it is never too low.
    """
    texts = zip(cells, widths, strict=True)
    lines = max(
        (
            len(wrap(cell, int(width)))
            for cell, width in texts
            if isinstance(cell, str) and _text_width(cell) > width
        ),
        default=1,
    )
    if lines > 1:
        sheet.set_row(row, min(lines * _LINE_PT, _HIGHEST_PT))


def _write_total(sheet: Worksheet, table: Table, looks: _Looks) -> None:
    """Sum a column below its rows, as a formula: own prices typed over the examples count."""
    column = [title for title, _ in table.columns].index(table.total)
    last = len(table.rows)
    cells = (row[column] for row in table.rows)
    value = sum(cell.value for cell in cells if isinstance(cell, Amount))
    span = f"{xl_rowcol_to_cell(1, column)}:{xl_rowcol_to_cell(last, column)}"
    for i in range(len(table.columns)):
        sheet.write_blank(last + 1, i, None, looks.total)
    sheet.write_string(last + 1, 0, "In all", looks.total_name)
    sheet.write_formula(last + 1, column, f"=SUBTOTAL(109,{span})", looks.total, value)


def _write_cell(sheet: Worksheet, row: int, column: int, cell: Cell, looks: _Looks) -> None:
    match cell:
        case None | "":
            return
        case str():
            look = looks.guarded if cell.startswith(_FORMULA_STARTS) else looks.text
            sheet.write_string(row, column, cell[:_LONGEST_CELL], look)
        case Amount():
            sheet.write_number(row, column, cell.value, looks.money)
        case Whole():
            sheet.write_number(row, column, cell.value, looks.whole)
        case datetime():
            sheet.write_datetime(row, column, cell, looks.moment)
        case date():
            sheet.write_datetime(row, column, cell, looks.day)
        case int():
            sheet.write_number(row, column, cell, looks.whole)
        case float():
            # an amount without a fraction would show its bare point: "2."
            look = looks.whole if cell.is_integer() else looks.amount
            sheet.write_number(row, column, cell, look)

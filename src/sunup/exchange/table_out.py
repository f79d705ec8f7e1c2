"""Tables out as CSV or XLSX that no spreadsheet takes for formulas.

A text that begins with =, +, -, @, a tab or a line break would be run when the file is opened
(formula injection). In CSV such a text gets an apostrophe in front, which spreadsheets show as
text and our own readers take off again. Numbers are numbers: -5.5 stays as it is. In XLSX texts are
stored as texts, so nothing needs to be put in front.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

Cell = str | int | float | bool | date | datetime | None
_RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NARROW, _WIDE = 8, 44  # characters of a column; a date cut short would show as a row of marks
DECIMALS = 2  # of kilograms, so that pounds typed come back as typed
_LONGEST_CELL = 32_767  # characters a cell of the usual spreadsheets holds


@dataclass(frozen=True, slots=True)
class OutTable:
    """A table to be written: its name, the headers, the rows."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def guard(value: Cell) -> str:
    """Return a cell as CSV text that is read, not run.

    Examples
    --------
    >>> guard("=1+1"), guard(-5.5), guard("-5.5"), guard("-cow")
    ("'=1+1", '-5.5', '-5.5', "'-cow")
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{round(value, DECIMALS):.10g}"
    text = str(value)
    if isinstance(value, int) or _NUMBER.fullmatch(text):
        return text
    bare = text.lstrip(" \u00a0\u200b\ufeff")
    return f"'{text}" if bare.startswith(_RISKY) or text.startswith("'") else text


def render_csv(table: OutTable) -> bytes:
    """Write a table as CSV, UTF-8 with its mark (spreadsheets ask for it)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([guard(one) for one in table.headers])
    writer.writerows([guard(cell) for cell in row] for row in table.rows)
    return "\ufeff".encode() + out.getvalue().encode("utf-8", "replace")


def render_xlsx(tables: Sequence[OutTable]) -> bytes:
    """Write tables as the sheets of a workbook; texts are texts, codes of digits too."""
    import xlsxwriter  # type: ignore[import-untyped]  # the package ships no types

    out = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_numbers": False,
        "strings_to_urls": False,
        "default_date_format": "yyyy-mm-dd",
    }
    with xlsxwriter.Workbook(out, options) as book:
        head = book.add_format({"bold": True, "bottom": 1})
        as_text = book.add_format({"num_format": "@"})
        instants = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        for table in tables:
            sheet = book.add_worksheet(table.name[:31])
            sheet.freeze_panes(1, 0)
            sheet.autofilter(0, 0, max(1, len(table.rows)), len(table.headers) - 1)
            sheet.set_landscape()
            sheet.fit_to_pages(1, 0)
            sheet.repeat_rows(0)
            for column, header in enumerate(table.headers):
                sheet.write_string(0, column, header, head)
                sheet.set_column(column, column, _width(table, column))
            for number, row in enumerate(table.rows, start=1):
                for column, cell in enumerate(row):
                    if cell is None:
                        continue
                    if isinstance(cell, bool):
                        sheet.write_string(number, column, "yes" if cell else "no")
                    elif isinstance(cell, datetime):
                        sheet.write_datetime(number, column, cell, instants)
                    elif isinstance(cell, date):
                        sheet.write_datetime(number, column, cell)
                    elif isinstance(cell, int | float):
                        sheet.write_number(number, column, round(cell, DECIMALS))
                    else:
                        sheet.write_string(number, column, cell[:_LONGEST_CELL], as_text)
    return out.getvalue()


def _width(table: OutTable, column: int) -> int:
    """Characters a column needs for its header, with its arrow to filter, and its longest cell."""
    longest = max((len(guard(row[column])) for row in table.rows), default=0)
    return max(_NARROW, min(_WIDE, max(len(table.headers[column]) + 4, longest + 2)))

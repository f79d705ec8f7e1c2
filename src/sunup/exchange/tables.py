"""What kind of file it is, and the sheet that holds the herd."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.exchange.delimited import open_delimited
from sunup.exchange.sheets import NotATableError, Row, Sheet

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_BYTES = 300_000_000
PEEK_ROWS = 60
_OTHER_KINDS = (
    (b"%PDF", "The file is a PDF.", "Ask for the list as CSV or XLSX; a PDF cannot be read."),
    (
        b"\xd0\xcf\x11\xe0",
        "The file is an old .xls workbook, or a workbook locked with a password.",
        "Open it, take the password off if there is one, and save it as XLSX or CSV.",
    ),
    (b"\x89PNG", "The file is a picture.", "Give the list as CSV or XLSX."),
    (b"\xff\xd8\xff", "The file is a picture.", "Give the list as CSV or XLSX."),
    (b"{\\rtf", "The file is a word-processor document.", "Save the list as CSV or XLSX."),
    (b"\x1f\x8b", "The file is compressed.", "Unpack it and give the CSV or XLSX inside."),
)
_PAGE_STARTS = (b"<html", b"<!doctype html", b"<table", b"<?xml")


def open_table(
    data: bytes,
    name: str,
    *,
    score: Callable[[list[Row]], int],
    count: Callable[[Sheet], int] | None = None,
    sheet: str | None = None,
) -> Sheet:
    """Open a CSV or XLSX and choose the sheet whose headers are known best.

    Parameters
    ----------
    data : bytes
    name : str
        The file's name, for problems; what the file is, is told by its bytes.
    score : callable
        How many headers are known among the first rows.
    count : callable, optional
        How many animals a sheet names; of several sheets that name some none is chosen.
    sheet : str, optional
        The sheet to take, by name.

    Returns
    -------
    Sheet

    Raises
    ------
    NotATableError
        If there is no table, or more than one sheet could be meant.
    """
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise NotATableError(
            "The file is empty.", "Give a file with a header row and one row a female."
        )
    if len(data) > MOST_BYTES:
        raise NotATableError(
            f"The file is {len(data) / 1e6:,.0f} MB, more than we open.",
            "Give only the rows and columns of the herd.",
        )
    for start, what, fix in _OTHER_KINDS:
        if data.startswith(start):
            raise NotATableError(what, fix)
    if data.lstrip()[:20].lower().startswith(_PAGE_STARTS):
        raise NotATableError(
            "The file is a web page or XML, whatever its name says.",
            "Open it in a spreadsheet and save it as XLSX or CSV.",
        )
    if data.startswith(b"PK"):
        from sunup.exchange.workbook import open_workbook

        return _choose(open_workbook(data), score=score, count=count, sheet=sheet)
    if sheet is not None:
        raise NotATableError(
            f"The file is no workbook: it has no sheet '{sheet}'.", "Leave --sheet out."
        )
    return open_delimited(data, name, score=score)


def _choose(
    sheets: list[Sheet],
    *,
    score: Callable[[list[Row]], int],
    count: Callable[[Sheet], int] | None,
    sheet: str | None,
) -> Sheet:
    """Take the sheet asked for, else the only one it can be; never toss a coin."""
    names = ", ".join(f"'{one.name}'" for one in sheets)
    if sheet is not None:
        for one in sheets:
            if one.name.strip().casefold() == sheet.strip().casefold():
                return one
        raise NotATableError(f"There is no sheet '{sheet}'.", f"The workbook has {names}.")
    if not sheets:
        raise NotATableError("The workbook has no visible sheet.", "Unhide the herd's sheet.")
    if len(sheets) == 1:
        return sheets[0]
    points = [score(_peek(one)) for one in sheets]
    head = [
        count(one) if count is not None and its_points else 0
        for one, its_points in zip(sheets, points, strict=True)
    ]
    named = [place for place, n in enumerate(head) if n]
    if len(named) == 1:
        return sheets[named[0]]
    if named:
        told = ", ".join(
            f"'{sheets[place].name}' ({head[place]} row{'s' * (head[place] != 1)})"
            for place in named
        )
        raise NotATableError(
            f"More than one sheet names animals: {told}. Nothing was read.",
            "Put them all on one sheet; or say which to read with --sheet, and the others are not.",
        )
    best = max(points)
    tied = [place for place, its_points in enumerate(points) if its_points == best]
    if best and len(tied) > 1:
        told = ", ".join(f"'{sheets[place].name}'" for place in tied)
        raise NotATableError(
            f"More than one sheet could be the herd: {told}.", "Say which one with --sheet."
        )
    return sheets[tied[0]]


def _peek(sheet: Sheet) -> list[Row]:
    rows = []
    for row in sheet.rows():
        rows.append(row)
        if len(rows) == PEEK_ROWS:
            break
    return rows

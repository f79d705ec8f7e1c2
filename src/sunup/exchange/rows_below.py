"""The rows below a header that have something in them, each as wide as the header."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.exchange.columns import bare
from sunup.exchange.faults import Fault
from sunup.exchange.headers import read_header

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from sunup.exchange.headers import Headers
    from sunup.exchange.report import Report
    from sunup.exchange.sheets import Row


_SECOND_LINE = Fault(
    "The row reads as a second line of the header; no animal was taken from it, and its headers "
    "were not used.",
    "Put the header on one line.",
    severity=Severity.WARNING,
)


def rows_below(
    table: Iterable[Row], headers: Headers, report: Report
) -> Iterator[tuple[int, list[str] | None]]:
    """Yield each row's number and cells; None for cells that may have slipped sideways.

    Parameters
    ----------
    table : iterable of Row
    headers : Headers
    report : Report
        Is told of rows that are too short or too long. The header printed again is passed over.
    """
    header = list(headers.cells)
    while not header[-1]:
        header.pop()
    width = len(header)
    for number, found in table:
        if number <= headers.row or not any(map(str.strip, found)):
            continue
        cells = found
        if cells[0].strip() == header[0] and [one.strip() for one in cells[:width]] == header:
            continue
        if _is_second_line(number, cells, headers):
            report.row(number, 0, _SECOND_LINE)
            continue
        if len(cells) < width:
            _say_short(report, number, len(cells), width)
            cells = [*cells, *[""] * (width - len(cells))]
        if len(cells) > width and any(map(str.strip, cells[width:])):
            _say_long(report, number, cells, width)
            yield number, None
            continue
        yield number, cells


def count_named(table: Iterable[Row], headers: Headers, keys: Collection[str]) -> int:
    """Count the rows below a header that have something in a column of one of the fields."""
    places = [headers.columns[key].index for key in keys if key in headers.columns]
    return sum(
        number > headers.row
        and any(at < len(cells) and bare(cells[at]) for at in places)
        and not _is_second_line(number, cells, headers)
        for number, cells in table
    )


def _is_second_line(number: int, cells: Sequence[str], headers: Headers) -> bool:
    """Whether the row right below the header goes on with it: "Tag" stands where a tag should."""
    tag = headers.columns.get("tag")
    if number != headers.row + 1 or tag is None or tag.index >= len(cells):
        return False
    found = read_header(cells[tag.index], headers.fields)
    return found is not None and found.key == "tag" and found.rank <= 1


def _say_short(report: Report, number: int, found: int, width: int) -> None:
    fault = Fault(
        f"The row has {found} cells, the header {width}; the rest was taken as empty.",
        "See that no cell or separator is missing.",
        severity=Severity.WARNING,
    )
    report.row(number, found, fault)


def _say_long(report: Report, number: int, cells: list[str], width: int) -> None:
    fault = Fault(
        f"The row has {len(cells)} cells, the header {width}: cells may have slipped sideways."
        " The row was left out.",
        "A separator inside a cell needs quotation marks around the cell.",
    )
    report.row(number, width, fault, cells[width])

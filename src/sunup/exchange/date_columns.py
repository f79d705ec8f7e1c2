"""What the date columns of a table show of the order of day and month, before they are read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity
from sunup.exchange.columns import bare
from sunup.exchange.dates import OrdersShown, find_orders

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from sunup.exchange.headers import Column, Headers
    from sunup.exchange.sheets import Row


def orders_shown(
    table: Iterable[Row], headers: Headers, taken: Mapping[str, Column], declared: str | None
) -> dict[str, OrdersShown]:
    """Look through the date columns for which nobody said an order.

    Parameters
    ----------
    table : iterable of Row
    headers : Headers
    taken : mapping
        Columns by field.
    declared : str or None
        The order declared for the whole file.

    Returns
    -------
    dict
        By field.
    """
    places = {
        key: column.index
        for key, column in taken.items()
        if headers.fields.by_key[key].is_date
        and not {column.known.date_order, declared} & {"mdy", "dmy"}
    }
    if not places:
        return {}
    seen: dict[str, dict[str, int]] = {key: {} for key in places}
    for number, cells in table:
        if number > headers.row:
            for key, at in places.items():
                if at < len(cells):
                    seen[key].setdefault(cells[at], number)
    return {
        key: find_orders((row, bare(text)) for text, row in texts.items())
        for key, texts in seen.items()
    }


def mixed_orders(
    shown: Mapping[str, OrdersShown], headers: Headers, taken: Mapping[str, Column], place: str
) -> Iterator[tuple[Problem, int]]:
    """Yield a warning for each column that holds both orders, with the index of the column."""
    for key, one in shown.items():
        if one.is_mixed:
            column = taken[key]
            problem = Problem(
                where=f"{place} row {headers.row}, column '{column.header}'",
                what=f"The column mixes orders of day and month: {one.words}.",
                fix="Those were read, as each can be read in one way only; write every date as "
                "2027-03-04.",
                severity=Severity.WARNING,
                row=headers.row,
                column=column.header,
            )
            yield problem, column.index

"""The day a herd list is of, where the list itself says so above its header.

A list drawn up on one day is often planned from on another. A line above the header such as
``Herd list as of 2027-04-19`` makes that day the one nothing in the list may lie after.
"""

from __future__ import annotations

import re
from datetime import date
from itertools import islice

from sunup.exchange.headers import header_score
from sunup.exchange.sheets import NotATableError
from sunup.exchange.tables import open_table

_AS_OF = re.compile(r"\bas of (\d{4}-\d{2}-\d{2})\b", re.IGNORECASE)
_TITLE_ROWS = 10


def find_list_date(data: bytes, name: str, *, sheet: str | None = None) -> date | None:
    """Return the date stated above the header of a herd list, or None.

    Parameters
    ----------
    data : bytes
    name : str
    sheet : str, optional
        The workbook's sheet.

    Returns
    -------
    date or None
        None also for a file that is no table or a date that does not exist.
    """
    try:
        table = open_table(
            data,
            name,
            score=lambda rows: max(
                (header_score(cells, {}) for _, cells in islice(rows, 20)), default=0
            ),
            sheet=sheet,
        )
    except NotATableError:
        return None
    for _, cells in islice(table.rows(), _TITLE_ROWS):
        if header_score(cells, {}) > 1:
            return None
        match = _AS_OF.search(" ".join(cells))
        if match:
            try:
                return date.fromisoformat(match[1])
            except ValueError:
                return None
    return None

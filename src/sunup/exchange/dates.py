"""Dates as people and spreadsheets write them; an order of day and month is never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.exchange.faults import Fault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

LONGEST_GESTATION_DAYS = 310  # assumed: past every breed's range (about 270 to 304 days)
OLDEST_YEARS = 25  # assumed: longer than a cow lives; catches slips of the century
_SERIAL_ZERO = date(
    1899, 12, 30
)  # day 0 of the 1900 system of spreadsheets, as counted since 1900-03
_YEAR_FIRST = re.compile(
    r"([0-9]{4})([-/. ])([0-9]{1,2})\2([0-9]{1,2})(?:[T ]+[0-9]{1,2}:[0-9]{2}.*)?"
)
_COMPACT = re.compile(r"((?:19|20)[0-9]{2})([0-9]{2})([0-9]{2})")
_NUMERIC = re.compile(
    r"([0-9]{1,2})([-/. ])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})(?:[T ]+[0-9]{1,2}:[0-9]{2}.*)?"
)
_DAY_MONTH = re.compile(
    r"([0-9]{1,2})(?:st|nd|rd|th)?[-/. ]*([a-z]{3,9})\.?[-/., ]*([0-9]{4}|[0-9]{2})"
)
_MONTH_DAY = re.compile(
    r"([a-z]{3,9})\.?[-/. ]*([0-9]{1,2})(?:st|nd|rd|th)?[-/., ]+([0-9]{4}|[0-9]{2})"
)
_SERIAL = re.compile(r"([0-9]{5})(?:\.[0-9]+)?")
_MONTHS = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
]
_ISO_FIX = "Write it as 2027-03-04 (year-month-day)."


@dataclass(frozen=True, slots=True)
class OrdersShown:
    """Where a column shows an order of day and month by a number past twelve: row and text."""

    day_first: tuple[int, str] | None = None
    month_first: tuple[int, str] | None = None

    @property
    def is_mixed(self) -> bool:
        """Whether it holds both."""
        return self.day_first is not None and self.month_first is not None

    @property
    def words(self) -> str:
        """What is shown where: "row 3 (25/02/2027) has the day first"."""
        told = ((self.day_first, "day"), (self.month_first, "month"))
        return " and ".join(
            f"row {place[0]} ({place[1][:20]}) has the {part} first"
            for place, part in told
            if place is not None
        )


def find_orders(cells: Iterable[tuple[int, str]]) -> OrdersShown:
    """Find the first cell of a column that can only be day first, and the first month first.

    Parameters
    ----------
    cells : iterable of (int, str)
        Row and text of each cell.
    """
    shown: dict[str, tuple[int, str]] = {}
    for row, text in cells:
        match = _NUMERIC.fullmatch(text)
        order = None if match is None else _only_order(int(match[1]), int(match[3]))
        if order is not None:
            shown.setdefault(order, (row, text))
    return OrdersShown(shown.get("dmy"), shown.get("mdy"))


def _only_order(first: int, second: int) -> str | None:
    """The one order in which two numbers can be day and month; None where both or neither is."""
    if first > 12 >= second:
        return "dmy"
    return "mdy" if second > 12 >= first else None


def date_reader(
    on: date, order: str | None, shown: OrdersShown | None = None
) -> Callable[[str], object]:
    """Make the reader of a date column.

    Parameters
    ----------
    on : date
        Today: every date of a herd file lies in the past.
    order : str or None
        "mdy" or "dmy" as declared for dates such as 03/04/2027; "iso" or None: none is declared.
    shown : OrdersShown, optional
        What the column's own dates show, for what is said where none is declared.

    Returns
    -------
    callable
        Text to date or Fault. Year first, the month in letters, a number past twelve and two equal
        numbers need no order.
    """
    earliest = date(on.year - OLDEST_YEARS, 1, 1)

    def read(text: str) -> object:
        found = _read(text, order, on, shown or OrdersShown())
        day = found.value if isinstance(found, Fault) else found
        if not isinstance(day, date):
            return found
        if day > on:
            return Fault(
                f"{day.isoformat()} is after {on.isoformat()}, the day of the list.",
                "Herd files hold what has happened; check the year, or the day the list says it "
                "is of (where it says none, give it with --as-of).",
            )
        if day < earliest:
            return Fault(
                f"{day.isoformat()} is more than {OLDEST_YEARS} years ago.", "Check the year."
            )
        return found

    return read


def due_reader(
    on: date, order: str | None, shown: OrdersShown | None = None
) -> Callable[[str], object]:
    """Make the reader of a column of expected calvings, which may lie ahead of today."""
    last = on + timedelta(days=LONGEST_GESTATION_DAYS)
    read_any = date_reader(last + timedelta(days=3650), order, shown)

    def read(text: str) -> object:
        found = read_any(text)
        day = found.value if isinstance(found, Fault) else found
        if isinstance(day, date) and day > last:
            return Fault(
                f"{day.isoformat()} is more than {LONGEST_GESTATION_DAYS} days ahead; no cow "
                "carries a calf so long.",
                "Check the year.",
            )
        return found

    return read


def _read(text: str, order: str | None, on: date, shown: OrdersShown) -> date | Fault:
    match = _YEAR_FIRST.fullmatch(text)
    if match:
        return _day(text, int(match[1]), int(match[3]), int(match[4]))
    match = _COMPACT.fullmatch(text)
    if match:
        return _day(text, int(match[1]), int(match[2]), int(match[3]))
    match = _NUMERIC.fullmatch(text)
    if match:
        return _numeric(text, match, order, shown)
    lower = text.casefold()
    match = _DAY_MONTH.fullmatch(lower)
    if match:
        return _named(text, match[3], match[2], match[1])
    match = _MONTH_DAY.fullmatch(lower)
    if match:
        return _named(text, match[3], match[1], match[2])
    match = _SERIAL.fullmatch(text)
    if match:
        return _serial(text, int(match[1]), on)
    if re.fullmatch(r"(?:19|20)[0-9]{2}", text):
        return Fault(f"'{text}' is only a year.", "Give the day, or leave the cell empty.")
    return Fault(f"'{text[:40]}' is not a date.", _ISO_FIX)


def _numeric(
    text: str, match: re.Match[str], order: str | None, shown: OrdersShown
) -> date | Fault:
    if len(match[4]) == 2:
        return _two_digits(text)
    first, second, year = int(match[1]), int(match[3]), int(match[4])
    if order not in {"mdy", "dmy"}:
        order = "dmy" if first == second else _only_order(first, second)
        if order is None and max(first, second) <= 12:
            return Fault(
                f"'{text}' does not tell which is the day and which the month.", _say_order(shown)
            )
    month, day = (first, second) if order == "mdy" else (second, first)
    if month > 12 >= day:
        return Fault(
            f"'{text}' has month {month}: it does not keep the declared order {order}.",
            _ISO_FIX,
        )
    return _day(text, year, month, day)


def _say_order(shown: OrdersShown) -> str:
    if shown.is_mixed:
        return f"Write it as 2027-03-04: this column mixes both, {shown.words}."
    both = "Say --dates mdy or --dates dmy for the whole file, or write 2027-03-04."
    if not shown.words:
        return both
    order = "dmy" if shown.day_first else "mdy"
    told = f"{shown.words[0].upper()}{shown.words[1:]}"
    return f"{told}: say --dates {order} if the whole file has, or write 2027-03-04."


def _named(text: str, year: str, name: str, day: str) -> date | Fault:
    months = [number for number, month in enumerate(_MONTHS, start=1) if month.startswith(name)]
    if len(months) != 1:
        return Fault(f"'{text[:40]}' is not a date.", _ISO_FIX)
    if len(year) == 2:
        return _two_digits(text)
    return _day(text, int(year), months[0], int(day))


def _serial(text: str, number: int, on: date) -> date | Fault:
    """Read a spreadsheet's day number, believed only where it lands in a cow's lifetime."""
    day = _SERIAL_ZERO + timedelta(days=number)
    if not on.year - OLDEST_YEARS <= day.year <= on.year + 1:
        return Fault(f"'{text}' is not a date.", _ISO_FIX)
    return Fault(
        f"'{text}' was read as a spreadsheet's day number: {day.isoformat()}.",
        "Format the column as dates if that is wrong.",
        severity=Severity.WARNING,
        value=day,
    )


def _two_digits(text: str) -> Fault:
    return Fault(f"'{text}' has a year of two digits.", "Write the year with four: 2027-03-04.")


def _day(text: str, year: int, month: int, day: int) -> date | Fault:
    try:
        return date(year, month, day)
    except ValueError:
        return Fault(f"'{text[:40]}' is a day that does not exist.", _ISO_FIX)

"""Dates as people and spreadsheets write them; an order of day and month is never guessed."""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.exchange.faults import Fault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from sunup.exchange.plausible import Limits

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
    on: date, order: str | None, shown: OrdersShown | None = None, *, limits: Limits
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
    limits : Limits
        Nothing happened before the oldest female was born.

    Returns
    -------
    callable
        Text to date or Fault. Year first, the month in letters, a number past twelve and two equal
        numbers need no order.
    """

    def judge(day: date) -> Fault | None:
        if day > on:
            return Fault(
                f"{day.isoformat()} is after {on.isoformat()}, the day of the list.",
                "Herd files hold what has happened; check the year, or the day the list says it "
                "is of (where it says none, give it with --as-of).",
            )
        return _too_old(day, on, limits)

    return _reader(_years(on, limits), order, shown, judge)


def due_reader(
    on: date, order: str | None, shown: OrdersShown | None = None, *, limits: Limits
) -> Callable[[str], object]:
    """Make the reader of a column of expected calvings, which may lie ahead of today."""
    longest = limits.pregnancy_days[1]

    def judge(day: date) -> Fault | None:
        if day > on + timedelta(days=longest):
            return Fault(
                f"{day.isoformat()} is more than {longest:g} days ahead; no cow carries a calf so "
                "long.",
                "Check the year.",
            )
        return _too_old(day, on, limits)

    return _reader(_years(on, limits), order, shown, judge)


def expiry_reader(on: date, order: str | None, *, limits: Limits) -> Callable[[str], object]:
    """Make the reader of expiry dates, which may lie years ahead; 2028-05 is its last day."""
    month = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})|([0-9]{1,2})[-/.]([0-9]{4})")
    most = limits.expiry_years

    def judge(day: date) -> Fault | None:
        if day.year > on.year + most:
            return Fault(f"{day.isoformat()} is more than {most} years ahead.", "Check the year.")
        return _too_old(day, on, limits)

    read_day = _reader(_years(on, limits, ahead=most), order, None, judge)

    def read(text: str) -> object:
        match = month.fullmatch(text)
        if match is None:
            return read_day(text)
        year, number = int(match[1] or match[4]), int(match[2] or match[3])
        if not 1 <= number <= 12:
            return Fault(f"'{text[:40]}' is not a month.", "Write it as 2028-05 or 2028-05-31.")
        last = _day(text, year, number, monthrange(year, number)[1])
        return last if isinstance(last, Fault) else judge(last) or last

    return read


def _years(on: date, limits: Limits, *, ahead: int = 1) -> tuple[int, int]:
    """The years in which a spreadsheet's day number is believed to be a date."""
    return on.year - limits.oldest_years, on.year + ahead


def _too_old(day: date, on: date, limits: Limits) -> Fault | None:
    if day.year >= on.year - limits.oldest_years:
        return None
    return Fault(
        f"{day.isoformat()} is more than {limits.oldest_years} years ago.", "Check the year."
    )


def _reader(
    years: tuple[int, int],
    order: str | None,
    shown: OrdersShown | None,
    judge: Callable[[date], Fault | None],
) -> Callable[[str], object]:
    def read(text: str) -> object:
        found = _read(text, order, years, shown or OrdersShown())
        day = found.value if isinstance(found, Fault) else found
        return (judge(day) or found) if isinstance(day, date) else found

    return read


def _read(text: str, order: str | None, years: tuple[int, int], shown: OrdersShown) -> date | Fault:
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
        return _serial(text, int(match[1]), years)
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


def _serial(text: str, number: int, years: tuple[int, int]) -> date | Fault:
    """Read a spreadsheet's day number, believed only where it lands in a cow's lifetime."""
    day = _SERIAL_ZERO + timedelta(days=number)
    if not years[0] <= day.year <= years[1]:
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

"""When something was done, as lists tell it: a day, often with a clock time beside or behind it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.exchange.dates import date_reader
from sunup.exchange.faults import Fault

if TYPE_CHECKING:
    from collections.abc import Callable

    from sunup.exchange.dates import OrdersShown
    from sunup.exchange.plausible import Limits

_CLOCK = re.compile(
    r"([0-9]{1,2})(?:[:.h]([0-9]{2}))?(?::([0-9]{2})(?:\.[0-9]+)?)?\s*([ap])?\.?(?:m\.?)?",
    re.IGNORECASE,
)
_BEHIND = re.compile(
    r"(.*?[0-9])(?:[T ,]+)([0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?(?:\s*[ap]\.?m\.?)?)",
    re.IGNORECASE,
)
_WITH_ZONE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9:.]+\s*(?:Z|[+-][0-9]{2}:?[0-9]{2})")
_SHARE_OF_DAY = re.compile(r"0?\.[0-9]+")
_FIX = "Write it as 14:30 (24-hour clock) or 2:30 pm."


@dataclass(frozen=True, slots=True)
class Moment:
    """A day with its clock time, where one was told; `utc` where a zone stood beside it."""

    day: date
    clock: time | None = None
    utc: datetime | None = None


def read_clock_cell(text: str) -> time | Fault:
    """Read a time of day from a cell.

    Examples
    --------
    >>> read_clock_cell("2:30 pm"), read_clock_cell("0630")
    (datetime.time(14, 30), datetime.time(6, 30))
    """
    plain = text.strip()
    if _SHARE_OF_DAY.fullmatch(plain):  # a clock cell of a spreadsheet that lost its format
        minutes = round(float(plain) * 1440)
        return time(minutes // 60 % 24, minutes % 60)
    if len(plain) == 4 and plain.isascii() and plain.isdigit():
        plain = f"{plain[:2]}:{plain[2:]}"
    match = _CLOCK.fullmatch(plain)
    if match is None or (match[2] is None and match[4] is None):
        return Fault(f"'{text[:40]}' is not a time of day.", _FIX)
    hour, minute, second = int(match[1]), int(match[2] or 0), int(match[3] or 0)
    if match[4]:
        if not 1 <= hour <= 12:
            return Fault(f"'{text[:40]}' is not a time of day.", _FIX)
        hour = hour % 12 + (12 if match[4].casefold() == "p" else 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        return Fault(f"'{text[:40]}' is not a time of day.", _FIX)


def moment_reader(
    on: date, order: str | None, shown: OrdersShown | None = None, *, limits: Limits
) -> Callable[[str], object]:
    """Make the reader of a column of days that may carry clock times.

    Parameters
    ----------
    on : date
        Today; nothing may lie after it.
    order : str or None
        "mdy", "dmy", "iso" or None, as in ``sunup.exchange.dates``.
    shown : OrdersShown, optional
        What the column's own dates show.
    limits : Limits

    Returns
    -------
    callable
        Text to Moment or Fault.
    """
    read_day = date_reader(on, order, shown, limits=limits)

    def read(text: str) -> object:
        if _WITH_ZONE.fullmatch(text):
            try:
                moment = datetime.fromisoformat(re.sub(r"\s+(?=[Z+-])", "", text))
            except ValueError:
                return Fault(f"'{text[:40]}' is not a time.", "Write it as 2027-03-04 14:30.")
            return _checked(moment, read_day)
        behind = _BEHIND.fullmatch(text)
        clock = read_clock_cell(behind[2]) if behind else None
        if isinstance(clock, Fault):
            return clock
        found = read_day(behind[1] if behind else text)
        if isinstance(found, Fault):
            if found.severity is Severity.WARNING and isinstance(found.value, date):
                moment_ = Moment(found.value, clock)
                return Fault(found.what, found.fix, severity=found.severity, value=moment_)
            return found
        return Moment(found, clock) if isinstance(found, date) else found

    return read


def _checked(moment: datetime, read_day: Callable[[str], object]) -> object:
    found = read_day(moment.date().isoformat())
    if isinstance(found, Fault):
        return found
    return Moment(moment.date(), moment.timetz().replace(tzinfo=None), moment.astimezone(UTC))

"""Times as ADE demands them: RFC 3339, UTC, ending in Z.

The schemas and models let other forms through, so they are checked here. Facts of a day (birth,
expiry) are written as midnight UTC and read by their date as written, never shifted to a zone.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import at_local, find_zone, to_local

if TYPE_CHECKING:
    from sunup.exchange.standing import Standing

_RFC_3339 = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]+)?"
    r"(?P<zone>[Zz]|[+-][0-9]{2}:[0-9]{2})"
)
_MIDNIGHT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt]00:00:00(?:[Zz]|[+-][0-9]{2}:[0-9]{2})")
_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})(?=T|t|$)")


class TimeFault(ValueError):  # noqa: N818 - a word for what is wrong with a text, caught at once
    """A text that is no time of ADE; says why."""


def ade_time(at: datetime) -> str:
    """Write an instant; one that is midnight to the second as 00:00:00.000Z, as it is no day.

    Examples
    --------
    >>> ade_time(datetime(2026, 5, 10, 11, 30, tzinfo=UTC))
    '2026-05-10T11:30:00Z'
    """
    text = at.astimezone(UTC).replace(tzinfo=None).isoformat()
    return text + (".000Z" if text.endswith("T00:00:00") else "Z")


def when_words(one: Standing) -> str:
    """Write when an event was: its instant, or its day at the ranch where only that is known."""
    if one.body.get("day_only"):
        return ade_day(to_local(one.at, find_zone(one.zone)).date())
    return ade_time(one.at)


def at_noon(one: Standing) -> Standing:
    """The same event, at noon of its day where only the day is known; else as it is."""
    if not one.body.get("day_only"):
        return one
    zone = find_zone(one.zone)
    return replace(one, at=at_local(to_local(one.at, zone).date(), time(12), zone).utc)


def ade_day(day: date) -> str:
    """Write a day that has no hour."""
    return f"{day.isoformat()}T00:00:00Z"


def read_ade_time(text: object) -> tuple[datetime, bool]:
    """Read an instant.

    Returns
    -------
    datetime, bool
        UTC; whether it was written as the standard demands, with Z.

    Raises
    ------
    TimeFault
        If it is no text, has no zone, or a blank in place of the T: the instant is not known.
    """
    if not isinstance(text, str):
        message = "is no time"
        raise TimeFault(message)
    match = _RFC_3339.fullmatch(text)
    if match is None:
        bare = re.fullmatch(r"[0-9-]{10}[Tt ][0-9:.]+", text)
        message = "has no zone: it could be any hour" if bare else "is no time of the standard"
        if " " in text.strip():
            message = "has a blank where the T belongs"
        raise TimeFault(message)
    try:
        at = datetime.fromisoformat(text.upper())
        return at.astimezone(UTC), match["zone"] in {"Z", "z"}
    except (ValueError, OverflowError):
        message = "is a time that does not exist"
        raise TimeFault(message) from None


def read_ade_day(text: object) -> date:
    """Read a fact of a day: the date as written.

    Raises
    ------
    TimeFault
        If it begins with no date.
    """
    match = _DATE.match(text) if isinstance(text, str) else None
    if match is None:
        message = "is no date of the standard"
        raise TimeFault(message)
    try:
        return date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        message = "is a day that does not exist"
        raise TimeFault(message) from None


def is_day_only(text: object) -> bool:
    """Whether a time stands for a day: midnight, to the second, as written."""
    return isinstance(text, str) and _MIDNIGHT.fullmatch(text) is not None


def days_after(at: datetime, days: float) -> datetime | None:
    """The instant some days later; None past what a calendar holds."""
    try:
        return at + timedelta(days=days)
    except OverflowError:
        return None

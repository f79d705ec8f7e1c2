"""Instants, local clocks and elapsed hours.

Two kinds of step exist and must never be mixed. A *soft* step keeps the local clock of another
("day 7, same time"); a *hard* step counts elapsed hours ("60 hours after"). In Python an aware
datetime plus a timedelta is wall-clock arithmetic, so elapsed hours are always added in UTC.
Checked against zoneinfo in ``tests/published/test_clock_changes.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sunup.base.problems import Problem, Severity, UsageError


class UnknownZoneError(UsageError):
    """The name given is not an IANA time zone."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"'{name}' is not a time zone we know. Give an IANA name such as America/Denver."
        )


class NaiveInstantError(TypeError):
    """A datetime without a zone reached a place that needs an instant."""

    def __init__(self, when: datetime) -> None:
        super().__init__(f"{when!r} has no zone; instants are UTC")


def find_zone(name: str) -> ZoneInfo:
    """Return the zone of an IANA name.

    Raises
    ------
    UnknownZoneError
        If the name is not in the zone database.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UnknownZoneError(name) from None


@dataclass(frozen=True, slots=True)
class LocalInstant:
    """An instant found from a wall clock, with what had to be said about it."""

    utc: datetime
    notice: Problem | None = None


def is_in_gap(day: date, clock: time, zone: ZoneInfo) -> bool:
    """Say whether a wall time is skipped when clocks go forward that day."""
    wall = datetime.combine(day, clock, tzinfo=zone)
    back = wall.astimezone(UTC).astimezone(zone)
    return back.replace(tzinfo=None) != wall.replace(tzinfo=None)


def is_repeated(day: date, clock: time, zone: ZoneInfo) -> bool:
    """Say whether a wall time happens twice when clocks go back that day."""
    first = datetime.combine(day, clock.replace(fold=0), tzinfo=zone)
    second = datetime.combine(day, clock.replace(fold=1), tzinfo=zone)
    return first.utcoffset() != second.utcoffset() and not is_in_gap(day, clock, zone)


def at_local(day: date, clock: time, zone: ZoneInfo) -> LocalInstant:
    """Turn a wall clock on a day into an instant.

    A wall time that is skipped when clocks go forward is moved forward by the width of the gap,
    with a notice. A wall time that happens twice keeps the fold of `clock` (0: the first), with a
    notice.

    Parameters
    ----------
    day : date
    clock : time
        Without a zone; its ``fold`` picks the first or second of a repeated hour.
    zone : ZoneInfo

    Returns
    -------
    LocalInstant
        `utc` is aware and in UTC.

    Examples
    --------
    >>> at_local(date(2026, 3, 8), time(2, 30), ZoneInfo("America/Chicago")).utc.isoformat()
    '2026-03-08T08:30:00+00:00'
    """
    wall = datetime.combine(day, clock, tzinfo=zone)
    utc = wall.astimezone(UTC)
    if is_in_gap(day, clock, zone):
        # fold=0 inside a gap uses the offset before the change, which lands after the gap
        moved = datetime.combine(day, clock.replace(fold=0), tzinfo=zone).astimezone(UTC)
        shown = moved.astimezone(zone)
        return LocalInstant(
            moved,
            Problem(
                where=f"{day:%a} {day.day} {day:%b %Y}",
                what=f"{clock:%H:%M} does not exist that day in {zone.key}: clocks go forward.",
                fix=f"Moved to {shown:%H:%M}; choose another time if that does not suit.",
                severity=Severity.NOTICE,
            ),
        )
    if is_repeated(day, clock, zone):
        which = "second" if clock.fold else "first"
        return LocalInstant(
            utc,
            Problem(
                where=f"{day:%a} {day.day} {day:%b %Y}",
                what=f"{clock:%H:%M} happens twice that day in {zone.key}: clocks go back.",
                fix=f"The {which} one is meant.",
                severity=Severity.NOTICE,
            ),
        )
    return LocalInstant(utc)


def to_local(utc: datetime, zone: ZoneInfo) -> datetime:
    """Show an instant on the ranch's clock."""
    if utc.tzinfo is None:
        raise NaiveInstantError(utc)
    return utc.astimezone(zone)


def add_hours(utc: datetime, hours: float) -> datetime:
    """Add elapsed hours to an instant, across any change of clocks.

    Examples
    --------
    >>> start = at_local(date(2026, 3, 6), time(8), ZoneInfo("America/Chicago")).utc
    >>> to_local(add_hours(start, 66), ZoneInfo("America/Chicago")).isoformat()
    '2026-03-09T03:00:00-05:00'
    """
    if utc.tzinfo is None:
        raise NaiveInstantError(utc)
    return utc.astimezone(UTC) + timedelta(hours=hours)


def hours_between(earlier: datetime, later: datetime) -> float:
    """Elapsed hours from one instant to another."""
    return (later.astimezone(UTC) - earlier.astimezone(UTC)).total_seconds() / 3600.0


def same_clock(utc: datetime, days: int, zone: ZoneInfo) -> LocalInstant:
    """Return the instant `days` calendar days later on the same wall clock ("day 7, same time")."""
    local = to_local(utc, zone)
    return at_local(
        local.date() + timedelta(days=days),
        local.timetz().replace(tzinfo=None),
        zone,
    )


def read_clock(text: str) -> time:
    """Read HH:MM on a 24-hour clock.

    Raises
    ------
    UsageError
        If the text is not a time.
    """
    try:
        hours, minutes = text.strip().split(":")
        return time(int(hours), int(minutes))
    except ValueError:
        message = f"'{text}' is not a time of day. Write it as 06:30 (24-hour clock)."
        raise UsageError(message) from None

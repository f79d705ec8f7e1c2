"""Reading when something happened, as a person types it, on the ranch's clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import at_local, find_zone, read_clock, to_local
from sunup.base.problems import Problem, Severity, UsageError

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

HOW = (
    "Write it as 2027-05-22T14:45, as 14:45 (today), or as yesterday 18:30, on the ranch's clock; "
    "or with its own zone: 2027-05-22T20:45Z."
)


class WhenError(UsageError):
    """An instant that cannot be read."""

    def __init__(self, flag: str, text: str, why: str = "is not a time we can read") -> None:
        super().__init__(f"{flag} '{text}' {why}. {HOW}")


def read_when(
    text: str | None, flag: str, *, zone: str, now: datetime, beside: datetime | None = None
) -> tuple[datetime, tuple[Problem, ...]]:
    """Read an instant; nothing typed is now.

    Parameters
    ----------
    text : str or None
    flag : str
        Named in messages.
    zone : str
        IANA zone of the ranch.
    now : datetime
        UTC.
    beside : datetime, optional
        A bare clock time is of this instant's day, not of today.

    Returns
    -------
    datetime, tuple of Problem
        UTC, and what had to be said of it (a clock time that is skipped or happens twice).

    Raises
    ------
    WhenError
        If it cannot be read, or a bare clock time is still to come today.
    """
    if text is None or text.strip().lower() == "now":
        return now, ()
    place = find_zone(zone)
    today = to_local(beside or now, place).date()
    told = text.strip().lower()
    if told.startswith(("today ", "yesterday ")):
        word, _, clock = told.partition(" ")
        day = today - timedelta(days=1) if word == "yesterday" else today
        return _on(day, _clock(clock, flag, text), place)
    if ":" in told and len(told) <= 5:
        found = _on(today, _clock(told, flag, text), place)
        if found[0] > now + timedelta(minutes=5):
            why = f"is still to come ({to_local(now, place):%H:%M} now): say yesterday {told}"
            raise WhenError(flag, text, why)
        return found
    try:
        moment = datetime.fromisoformat(text.strip().replace(" ", "T", 1))
    except ValueError:
        raise WhenError(flag, text) from None
    if moment.tzinfo is not None:
        return moment.astimezone(UTC), ()
    if len(text.strip()) <= 10:
        raise WhenError(flag, text, "has a day and no time of day")
    return _on(moment.date(), moment.time(), place)


def tell_ahead(
    moment: datetime, flag: str, *, zone: str, now: datetime, within_h: float
) -> tuple[Problem, ...]:
    """What to say of an act entered before it has happened; nothing is refused for it.

    Parameters
    ----------
    moment, now : datetime
        The instant typed, and the clock. UTC.
    flag : str
        Named in the message.
    zone : str
        IANA zone of the ranch.
    within_h : float
        Hours an act may lie after its entry. [h]
    """
    ahead = moment - now
    if ahead <= timedelta(hours=within_h):
        return ()
    place = find_zone(zone)
    days = ahead.total_seconds() / 86_400.0
    far = f"{days:.0f} days" if days >= 2 else f"{days * 24:.0f} hours"
    return (
        Problem(
            where=flag,
            what=f"{_long(moment, place)} is {far} ahead of the clock ({_long(now, place)}).",
            fix="It is kept as typed. If the date or the year is wrong, take it back (sunup record "
            "undo) and say it again.",
            severity=Severity.WARNING,
        ),
    )


def tell_behind(
    now: datetime, newest: datetime | None, *, zone: str, within_h: float
) -> tuple[Problem, ...]:
    """What to say where the clock is behind what was entered before; nothing is refused for it.

    Parameters
    ----------
    now : datetime
        The clock. UTC.
    newest : datetime or None
        When the newest entry on file was made, by its own clock; None where there is none.
    zone : str
        IANA zone of the ranch.
    within_h : float
        Hours two clocks may differ. [h]
    """
    if newest is None or newest - now <= timedelta(hours=within_h):
        return ()
    place = find_zone(zone)
    return (
        Problem(
            where="clock",
            what=f"This computer's clock says {_long(now, place)}; the newest entry on file was "
            f"made at {_long(newest, place)}.",
            fix="Set the clock, or say when with --at: what you record is dated by it. If the "
            "entry on file is dated wrong, put it right (sunup record last).",
            severity=Severity.WARNING,
        ),
    )


def _long(moment: datetime, zone: ZoneInfo) -> str:
    local = to_local(moment, zone)
    return f"{local:%a} {local.day} {local:%b %Y %H:%M}"


def _clock(told: str, flag: str, text: str) -> time:
    try:
        return read_clock(told)
    except UsageError:
        raise WhenError(flag, text) from None


def _on(day: date, clock: time, zone: ZoneInfo) -> tuple[datetime, tuple[Problem, ...]]:
    found = at_local(day, clock, zone)
    return found.utc, () if found.notice is None else (found.notice,)

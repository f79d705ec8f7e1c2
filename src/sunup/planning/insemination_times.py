"""From a heat to an insemination: the rule in force gives a time and a window.

Everything is elapsed hours in UTC except the sessions of the morning/evening and once-a-day rules,
which are wall-clock times of the ranch. A time that clocks going forward skip is moved after the
gap by ``base.hours``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from sunup.base.hours import add_hours, at_local, hours_between, to_local
from sunup.base.problems import DomainError
from sunup.physiology.checks import FIRST_CHECK, LAST_CHECK
from sunup.protocols.protocol import Inseminate

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.heats import Heat

NOON = time(12)
# sessions are at the first and the last look of a day; once a day as the simulator inseminates
MORNING, EVENING, ONCE = time(int(FIRST_CHECK)), time(int(LAST_CHECK)), time(11)


class Half(StrEnum):
    """A half-day of work."""

    MORNING = "morning"
    EVENING = "evening"


class Timeliness(StrEnum):
    """Where an instant lies against a female's window."""

    NOT_YET = "not yet"
    NOW = "now"
    LATE = "late"  # past the window, still worth a straw
    TOO_LATE = "too late"


class NoRuleError(DomainError):
    """A watch that inseminates nobody was asked for an insemination time."""

    def __init__(self, rule: Inseminate) -> None:
        super().__init__(f"rule '{rule.value}' inseminates nobody on heat")


@dataclass(frozen=True, slots=True)
class Rule:
    """The rule in force and the ranch's hours.

    `morning` and `evening` are the sessions of the morning/evening rule, `once` that of the
    once-a-day rule; all wall clock. `usual_gap_h` is the time between two watches. [h]
    """

    how: Inseminate
    zone: ZoneInfo
    morning: time = MORNING
    evening: time = EVENING
    once: time = ONCE
    is_sexed: bool = False
    usual_gap_h: float = 12.0


@dataclass(frozen=True, slots=True)
class TimeFigures:
    """Hours from onset of heat to insemination."""

    morning_evening: Figure
    after_onset: Figure
    sexed: Figure
    too_late: Figure
    returns: Figure
    watches: Figure
    over: Figure

    @staticmethod
    def of(library: Library) -> TimeFigures:
        """Take them from the library."""
        return TimeFigures(
            morning_evening=library.figure("practice.morning_evening_h"),
            after_onset=library.figure("practice.ai_after_onset_h"),
            sexed=library.figure("practice.sexed_after_onset_h"),
            too_late=library.figure("breeding.too_late_after_onset_h"),
            returns=library.figure("practice.return_watch_days"),
            watches=library.figure("practice.watch_times_per_day"),
            over=library.figure("practice.heat_over_days"),
        )


@dataclass(frozen=True, slots=True)
class InseminationTime:
    """When to inseminate a female in heat; all UTC.

    From `early` to `late` the result is best; until `last` a straw is still worth it. `onset` is
    the middle of the time in which her heat must have begun.
    """

    heat: Heat
    at: datetime
    early: datetime
    late: datetime
    last: datetime
    onset: datetime
    words: str
    figures: tuple[Figure, ...]
    notice: str = ""

    def standing(self, now: datetime) -> Timeliness:
        """Where an instant lies against the window."""
        if now < self.early:
            return Timeliness.NOT_YET
        if now <= self.late:
            return Timeliness.NOW
        return Timeliness.LATE if now <= self.last else Timeliness.TOO_LATE

    def half_day(self, zone: ZoneInfo) -> tuple[date, Half]:
        """The half-day its time falls in, on the ranch's clock."""
        return half_day_of(self.at, zone)


def half_day_of(instant: datetime, zone: ZoneInfo) -> tuple[date, Half]:
    """Return the local day and half of an instant; noon begins the evening half."""
    local = to_local(instant, zone)
    return local.date(), Half.MORNING if local.time() < NOON else Half.EVENING


def insemination_time(heat: Heat, rule: Rule, *, figures: TimeFigures) -> InseminationTime:
    """Return when a female in heat is inseminated under the rule in force.

    Parameters
    ----------
    heat : Heat
    rule : Rule
    figures : TimeFigures

    Raises
    ------
    NoRuleError
        If the rule inseminates nobody on heat.

    Notes
    -----
    Morning/evening: seen in the morning, inseminated that evening; seen in the evening, next
    morning (Michigan State; trade press 2018). A heat first seen between midnight and noon counts
    as morning. Window: 4 to 24 h after onset, 63.7 % pregnant against 48.1 % before and 55.9 %
    after (1,205 beef heifers, Dorsey 2011); onset is taken as the middle of the time it must lie
    in. Sexed semen: 18 to 24 h after onset (Kansas 2023), moved inside the working hours
    where the window reaches them.
    """
    onset = heat.onset_guess(rule.usual_gap_h)
    low, high = figures.after_onset.span
    if rule.is_sexed:
        low, high = figures.sexed.span
    early = max(heat.first_seen_at, add_hours(onset, low))
    late = max(early, add_hours(onset, high))
    last = max(late, add_hours(onset, figures.too_late.number))
    if rule.is_sexed:
        at, notice = _sexed(onset, early, late, rule)
        words = f"sexed semen: {low:g} to {high:g} h after her heat began"
        used: tuple[Figure, ...] = (figures.sexed,)
    elif rule.how is Inseminate.AFTER_12H:
        hours = figures.morning_evening.number
        at, notice = add_hours(heat.first_seen_at, hours), ""
        words = f"{hours:g} h after she was first seen"
        used = (figures.morning_evening, figures.after_onset)
    elif rule.how is Inseminate.ONCE_DAILY:
        at, notice = _next_session(heat.first_seen_at, rule.once, rule.zone)
        words = f"once a day at {rule.once:%H:%M}"
        used = (figures.after_onset,)
    elif rule.how is Inseminate.AM_PM:
        at, notice, words = _morning_evening(heat.first_seen_at, rule)
        used = (figures.morning_evening, figures.after_onset)
    else:
        raise NoRuleError(rule.how)
    return InseminationTime(
        heat=heat,
        at=at,
        early=min(early, at),
        late=max(late, at),
        last=max(last, at),
        onset=onset,
        words=words,
        figures=used,
        notice=notice,
    )


def session_after(seen_at: datetime, rule: Rule) -> datetime | None:
    """The session at which a female seen at an instant is inseminated, UTC.

    None under a rule that has none: 12 h after each is seen, or nobody on heat.
    """
    if rule.how is Inseminate.ONCE_DAILY:
        return _next_session(seen_at, rule.once, rule.zone)[0]
    return _morning_evening(seen_at, rule)[0] if rule.how is Inseminate.AM_PM else None


def _local(day: date, clock: time, zone: ZoneInfo) -> tuple[datetime, str]:
    found = at_local(day, clock, zone)
    return found.utc, "" if found.notice is None else f"{found.notice.what} {found.notice.fix}"


def _morning_evening(seen_at: datetime, rule: Rule) -> tuple[datetime, str, str]:
    day, half = half_day_of(seen_at, rule.zone)
    if half is Half.MORNING:
        at, notice = _local(day, rule.evening, rule.zone)
        words = "seen in the morning: inseminate that evening"
    else:
        at, notice = _local(day + timedelta(days=1), rule.morning, rule.zone)
        words = "seen in the evening: inseminate next morning"
    return at, notice, words


def _next_session(seen_at: datetime, clock: time, zone: ZoneInfo) -> tuple[datetime, str]:
    day = to_local(seen_at, zone).date()
    at, notice = _local(day, clock, zone)
    return (at, notice) if at > seen_at else _local(day + timedelta(days=1), clock, zone)


def _sexed(onset: datetime, early: datetime, late: datetime, rule: Rule) -> tuple[datetime, str]:
    """The middle of the window, or the nearest working hour inside it."""
    middle = early + (late - early) / 2
    best = middle
    day = to_local(middle, rule.zone).date()
    spans = [
        (
            _local(d, rule.morning, rule.zone)[0],
            _local(d, rule.evening, rule.zone)[0],
        )
        for d in (day - timedelta(days=1), day, day + timedelta(days=1))
    ]
    inside = [
        min(max(middle, opens), closes)
        for opens, closes in spans
        if opens <= late and closes >= early
    ]
    inside = [at for at in inside if early <= at <= late]
    if not inside:
        hours = hours_between(onset, best)
        return best, f"{hours:.0f} h after onset falls outside the working hours."
    return min(inside, key=lambda at: abs(at - middle)), ""


def say_time(
    one: InseminationTime,
    *,
    now: datetime,
    zone: ZoneInfo,
    figures: TimeFigures,
    fixed: datetime | None = None,
    is_renewed: bool = False,
) -> str:
    """Say a female's time and window in words, and what to do where it has passed.

    `fixed` is the fixed time still to come of her group. By then the ovum of a heat that is over is
    long dead, unless a PGF between them brings a new heat (`is_renewed`).
    """
    standing = one.standing(now)
    if standing is Timeliness.TOO_LATE:
        low, high = figures.returns.span
        onset = to_local(one.heat.first_seen_at, zone).date()
        first, last = (onset + timedelta(days=int(day)) for day in (low, high))
        since = hours_between(one.onset, now)
        if to_local(now, zone).date() > last:
            return (
                f"Too late: her heat began {since / 24:.0f} days ago and the next was due "
                f"{_day(first)} to {_day(last)}. It is kept; have her checked if she was not bred."
            )
        late = f"Too late now: {since:.0f} h since her heat began."
        if fixed is not None and is_renewed:
            return f"{late} Go on with her group's plan: fixed time {_clock(fixed, zone)}."
        also = f", also at the fixed time ({_clock(fixed, zone)})," if fixed else ""
        return (
            f"{late} Leave her{also} for her next heat, {_day(first)} to {_day(last)}, or for the "
            "bull."
        )
    if standing is Timeliness.LATE:
        return (
            f"Past her best time ({_clock(one.late, zone)}): inseminate at once, until "
            f"{_clock(one.last, zone)}. Expect a little less."
        )
    window = f"{_clock(one.early, zone)} to {_clock(one.late, zone)}"
    return f"{_clock(one.at, zone)} ({one.words}); window {window}"


def _clock(instant: datetime, zone: ZoneInfo) -> str:
    local = to_local(instant, zone)
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"

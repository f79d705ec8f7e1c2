"""Dates, clock times, amounts and states as paper says them.

English day and month names are spelled here and not taken from the locale, so that a packet made
anywhere reads the same. Clocks are 24-hour.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.base.problems import counted
from sunup.planning.plan import State

if TYPE_CHECKING:
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import FemaleLine, Plan, ScheduledStep
    from sunup.planning.start_span import StartSpan

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_STATES = {
    State.HOLD: "hold",
    State.READY_ON: "ready on a later date",
    State.EXPECT_LESS: "ready, expect less",
    State.READY: "ready",
}
_WHO = {
    "all": "all",
    "in_heat": "those seen in heat",
    "not_in_heat": "those not seen in heat",
    "not_inseminated": "those not inseminated",
    "not_pregnant": "those found not pregnant",
}

PLANNED = "Planned as of"
STATE_ORDER = tuple(_STATES)  # what needs a decision first


def day(on: date) -> str:
    """Return a date with its weekday: ``Tue 25 May 2027``."""
    return f"{_DAYS[on.weekday()]} {on.day} {_MONTHS[on.month - 1]} {on.year}"


def short_day(on: date) -> str:
    """Return a date without its year: ``Tue 25 May``."""
    return f"{_DAYS[on.weekday()]} {on.day} {_MONTHS[on.month - 1]}"


def clock(utc: datetime, zone: ZoneInfo) -> str:
    """Return an instant as the ranch's clock shows it: ``06:30``."""
    return f"{to_local(utc, zone):%H:%M}"


def day_and_clock(utc: datetime, zone: ZoneInfo) -> str:
    """Return an instant as date and clock: ``Tue 25 May 2027, 06:30``."""
    return f"{day(to_local(utc, zone).date())}, {clock(utc, zone)}"


def span(start: datetime, end: datetime, zone: ZoneInfo) -> str:
    """Return two instants as clock times, naming the day of the second where it is another.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from zoneinfo import ZoneInfo
    >>> zone = ZoneInfo("America/Denver")
    >>> span(datetime(2027, 5, 25, 4, tzinfo=UTC), datetime(2027, 5, 25, 8, tzinfo=UTC), zone)
    '22:00 to 02:00 on Tue 25 May'
    """
    first, last = to_local(start, zone), to_local(end, zone)
    if first == last:
        return f"{first:%H:%M}"
    if first.date() == last.date():
        return f"{first:%H:%M} to {last:%H:%M}"
    return f"{first:%H:%M} to {last:%H:%M} on {short_day(last.date())}"


def may_start(starts: StartSpan, at: datetime, zone: ZoneInfo) -> list[str]:
    """Say from when to when a visit planned for `at` may start: for all, and the first female."""
    if starts.first[0] == starts.first[1]:
        return []

    def told(moments: tuple[datetime, datetime]) -> str:
        early = to_local(moments[0], zone).date()
        if early == to_local(at, zone).date():
            return span(*moments, zone)
        late = to_local(moments[1], zone).date()
        return (
            f"{short_day(early)} {clock(moments[0], zone)} to "
            f"{short_day(late)} {clock(moments[1], zone)}"
        )

    alone = f"the first female's window {told(starts.first)}"
    if starts.whole is None:
        return ["no start keeps every female in her window", alone]
    whole = f"may start {told(starts.whole)}"
    return [whole] if starts.whole == starts.first else [f"{whole} for all", alone]


def number(value: float, places: int = 2) -> str:
    """Return a number with thousands marked and no trailing zeros: ``1,234.5``."""
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def money(amount: float, currency: str = "") -> str:
    """Return an amount of money to the cent, with the currency's code: ``USD 1,234.50``."""
    return f"{currency} {amount:,.2f}".strip()


def currency_of(plan: Plan) -> str:
    """Return the code of the currency the plan's prices are in, or nothing."""
    return plan.currency


def in_money(what: str, plan: Plan) -> str:
    """Return the head of a column of money: ``Cost, USD``, its cells bare numbers."""
    return ", ".join(part for part in (what, currency_of(plan)) if part)


def count(n: int, one: str, many: str = "") -> str:
    """Return a count with its noun: ``1 female``, ``2 females``."""
    return counted(n, one, many)


def state(value: State | str) -> str:
    """Return a state as people say it."""
    return _STATES[State(value)]


def standing(female: FemaleLine) -> str:
    """Return where she stands, with the date where there is one."""
    if female.state is State.READY_ON and female.ready_on is not None:
        return f"ready on {day(female.ready_on)}"
    return state(female.state)


def class_(key: str) -> str:
    """Return a class key as people say it: ``first-calf cow``."""
    return key.replace("_calf_", "-calf ").replace("_", " ")


def who(key: str) -> str:
    """Return for whom a step is."""
    return _WHO.get(key, key.replace("_", " "))


def second_identifier(female: FemaleLine) -> str:
    """Return what tells two like tags apart: the last four of the RFID code, where she has one."""
    return f"…{female.rfid[-4:]}" if female.rfid else ""


def upper_first(text: str) -> str:
    """Begin a sentence."""
    return text[:1].upper() + text[1:]


def days_of(plan: Plan) -> list[tuple[str, date]]:
    """Return by which days a plan counts: that of its herd list, and the one it was planned on."""
    told = (("Herd list of", "list_on"), (PLANNED, "today"))
    return [
        (name, date.fromisoformat(plan.settings[key]))
        for name, key in told
        if plan.settings.get(key)
    ]


def joined(parts: list[str]) -> str:
    """Join words as in speech: ``a, b and c``."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def after_words(step: ScheduledStep, schedule: tuple[ScheduledStep, ...]) -> str:
    """Say how long after which step of its schedule a step is, in elapsed hours, or nothing."""
    if step.hours_after is None or step.after_step is None:
        return ""
    named = {other.id: other.words for other in schedule}
    return f"{number(step.hours_after)} h after {named.get(step.after_step, step.after_step)}"


def dose_words(step: ScheduledStep) -> str:
    """Say the drug, strength, dose and doses of a step in one sentence, or nothing."""
    dose = step.dose
    if dose is None:
        return ""
    parts = [f"{dose.name} {dose.strength}: {dose.dose} each"]
    if dose.ml_each is not None:
        parts.append(f"{number(dose.ml_each)} mL each")
    if dose.route:
        parts.append(dose.route)
    parts.append(count(step.doses, "dose"))
    if dose.ml_total is not None:
        parts.append(f"{number(dose.ml_total, 1)} mL in all")
    return f"{', '.join(parts)}."

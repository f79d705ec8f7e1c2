"""Two things that want the same time, or a time that is not good. Nothing is moved silently."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.planning.plan import Capacity, Clash, ScheduledStep
from sunup.planning.progress import ON_HEAT
from sunup.protocols.protocol import CHUTE, Do

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.library.library import Library
    from sunup.planning.request import Event, Request

_IN_CHUTE = {ON_HEAT, *(d.value for d in CHUTE)}
_HANDLED = _IN_CHUTE | {Do.CALVES_OFF, Do.CALVES_ON, Do.BULLS_IN, Do.BULLS_OUT}
# Steps a weekend or holiday does not change: feed goes out and cattle are watched every day.


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _span(start: datetime, end: datetime) -> str:
    """Two local times, the day of the second named where it is another: a run may take days."""
    if start.date() == end.date():
        return f"{start:%H:%M} to {end:%H:%M} on {_day(start.date())}"
    return f"from {_day(start.date())} {start:%H:%M} to {_day(end.date())} {end:%H:%M}"


def _visits(steps: Sequence[ScheduledStep]) -> list[ScheduledStep]:
    """The first step of each visit that people work cattle for."""
    seen: set[str] = set()
    firsts: list[ScheduledStep] = []
    for step in steps:
        if step.visit not in seen and step.do in _HANDLED:
            seen.add(step.visit)
            firsts.append(step)
    return firsts


def visit_words(steps: Sequence[ScheduledStep], visit: str) -> str:
    """The steps of one visit in words."""
    return ", ".join(dict.fromkeys(s.words for s in steps if s.visit == visit))


def find_day_clashes(
    group: str,
    steps: Sequence[ScheduledStep],
    *,
    zone: ZoneInfo,
    request: Request,
    holidays: Mapping[date, str],
    capacity: Sequence[Capacity] = (),
) -> list[Clash]:
    """Weekends, public holidays and hours outside the working day."""
    told = _way_out_beside(steps, capacity)
    clashes: list[Clash] = []
    for step in _visits(steps):
        at, end = to_local(step.at_utc, zone), to_local(step.ends_utc, zone)
        on, words = at.date(), visit_words(steps, step.visit)
        if at.weekday() >= 5:
            clashes.append(
                Clash(
                    "weekend",
                    group,
                    step.id,
                    on,
                    f"{words} falls on {_day(on)}, a weekend.",
                    "Book the crew, or move the first insemination day.",
                )
            )
        if on in holidays:
            clashes.append(
                Clash(
                    "holiday",
                    group,
                    step.id,
                    on,
                    f"{words} falls on {_day(on)}, {holidays[on]}.",
                    "Ask crew, veterinarian and supplier, or move the first insemination day.",
                )
            )
        late = end.date() > on or end.time() > request.close_at
        if at.time() < request.open_at or late:
            clashes.append(
                Clash(
                    "outside_hours",
                    group,
                    step.id,
                    on,
                    f"{words} runs {_span(at, end)}, outside "
                    f"{request.open_at:%H:%M}-{request.close_at:%H:%M}: the hours between steps, "
                    "the head count and the working day cannot all be kept.",
                    told or "Widen --hours, choose another day, or another protocol.",
                )
            )
    return clashes


def find_capacity_clashes(
    group: str, steps: Sequence[ScheduledStep], capacity: Sequence[Capacity], *, zone: ZoneInfo
) -> list[Clash]:
    """Runs that are longer than their window or the working day."""
    at = {s.visit: to_local(s.at_utc, zone).date() for s in reversed(steps)}
    told = _way_out_beside(steps, capacity)
    return [
        Clash(
            "capacity",
            group,
            line.visit,
            at[line.visit],
            f"{visit_words(steps, line.visit)}: {line.head} head at {line.head_per_hour:g} an hour "
            f"take {line.hours_needed:.1f} h; {line.hours_available:.1f} h are there.",
            line.offer or told,
        )
        for line in capacity
        if not line.fits
    ]


def _way_out_beside(steps: Sequence[ScheduledStep], capacity: Sequence[Capacity]) -> str:
    """Where the way out of runs that are too long is written; nothing where all fit."""
    for line in capacity:
        if not line.fits and line.offer:
            return f"As for {visit_words(steps, line.visit)}."
    return ""


def find_group_clashes(
    schedules: Mapping[str, Sequence[ScheduledStep]], *, zone: ZoneInfo
) -> list[Clash]:
    """Two groups in the chute at one time."""
    clashes: list[Clash] = []
    names = list(schedules)
    for i, first in enumerate(names):
        for second in names[i + 1 :]:
            for a in _visits(schedules[first]):
                for b in _visits(schedules[second]):
                    if a.do not in _IN_CHUTE or b.do not in _IN_CHUTE:
                        continue
                    if a.at_utc < b.ends_utc and b.at_utc < a.ends_utc:
                        at = to_local(max(a.at_utc, b.at_utc), zone)
                        till = to_local(min(a.ends_utc, b.ends_utc), zone)
                        clashes.append(
                            Clash(
                                "other_group",
                                second,
                                b.id,
                                at.date(),
                                f"{first} ({visit_words(schedules[first], a.visit)}) and {second} "
                                f"({visit_words(schedules[second], b.visit)}) both need the chute "
                                f"{_span(at, till)}.",
                                _way_out(a, b),
                            )
                        )
    return clashes


def _way_out(a: ScheduledStep, b: ScheduledStep) -> str:
    if ON_HEAT in {a.do, b.do}:
        return (
            "How many are seen in heat is not known before (reckoned as if they came evenly): "
            "inseminate them before or after the other group, or a second chute and crew."
        )
    return "A second chute and crew, another day for one group, or another protocol."


def find_event_clashes(
    group: str,
    *,
    first_treatment_on: date,
    first_ai_on: date,
    events: Sequence[Event],
    library: Library,
) -> list[Clash]:
    """Vaccination too near breeding; haul or diet change on days an embryo feels it."""
    clashes: list[Clash] = []
    vaccine_days = int(library.number("practice.vaccination_before_days"))
    risk_low, risk_high = library.figure("practice.haul_risk_days").span
    some_low, some_high = library.figure("practice.haul_some_risk_days").span
    safe_low, safe_high = library.figure("practice.haul_safe_first_days").span
    steady = library.number("practice.diet_steady_days")
    for event in events:
        if event.group is not None and event.group != group:
            continue
        days = (event.on - first_ai_on).days
        if event.kind == "vaccination" and abs(days) < vaccine_days:
            clashes.append(
                Clash(
                    "vaccination",
                    group,
                    "",
                    event.on,
                    f"Vaccination on {_day(event.on)} is {_relative(days)} the first insemination; "
                    f"{vaccine_days} days or more before it is the rule in use.",
                    "Vaccinate by "
                    f"{_day(first_ai_on - timedelta(days=vaccine_days))} or ask the veterinarian "
                    "for a product suited to the date.",
                )
            )
        elif event.kind == "haul" and (
            risk_low <= days <= risk_high or some_low <= days <= some_high
        ):
            worse = days <= risk_high
            degree = "costs pregnancies" if worse else "still costs some pregnancies"
            low, high = (risk_low, risk_high) if worse else (some_low, some_high)
            clashes.append(
                Clash(
                    "haul_or_diet",
                    group,
                    "",
                    event.on,
                    f"Hauling on {_day(event.on)} is day {days} after insemination; hauling on "
                    f"days {low:g} to {high:g} {degree}.",
                    f"Haul on days {safe_low:g} to {safe_high:g} after insemination, or wait until "
                    f"after day {some_high:g}.",
                )
            )
        elif event.kind == "diet" and first_treatment_on <= event.on and days <= steady:
            clashes.append(
                Clash(
                    "haul_or_diet",
                    group,
                    "",
                    event.on,
                    f"A change of diet on {_day(event.on)} ({_relative(days)} the first "
                    f"insemination) falls in the days an embryo is most easily lost.",
                    f"Keep the ration level from the first treatment to day {steady:g} after "
                    "insemination.",
                )
            )
    return clashes


def _relative(days: int) -> str:
    return f"{-days} days before" if days < 0 else f"{days} days after"

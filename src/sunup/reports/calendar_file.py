"""The calendar: one event per visit of a group, and the days to order and prepare by, by RFC 5545.

Times go out in UTC (form 2, ``Z``), so that no reader needs a VTIMEZONE and none can float. The
UID is the plan's random one, kept from plan to plan; RFC 7986 forbids host or person in it. A step
that was called off stays in the file as CANCELLED, so that no ghost is left in a phone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from icalendar import Calendar, Event

from sunup.base.hours import find_zone
from sunup.planning.progress import ON_HEAT
from sunup.planning.start_span import find_start_spans
from sunup.reports import turnout, words
from sunup.reports.calendar_days import ON_HEAT_ALARM, STEP_ALARM, alarm, clean, dated_events

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import GroupPlan, Plan, ScheduledStep
    from sunup.planning.start_span import StartSpan

_DEFERS = "The label and your veterinarian decide."


def render_calendar(plan: Plan) -> bytes:
    """Render every visit of every group, and what is due before and after, as an iCalendar file.

    Parameters
    ----------
    plan : Plan
        `made_at_utc` becomes DTSTAMP: the clock is not read.

    Returns
    -------
    bytes
        UTF-8, CRLF line ends, lines of 75 octets at most; the same plan gives the same bytes.

    Notes
    -----
    RFC 5545 sections 3.1 (folding), 3.3.5 (UTC), 3.6.1 (VEVENT), 3.8.7 (UID's companions), and
    RFC 7986 (NAME, REFRESH-INTERVAL).
    """
    name = clean(f"{plan.ranch}: {plan.season}")
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//Sunup//Sunup//EN")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)  # what readers older than RFC 7986 show
    calendar.add("refresh-interval", timedelta(days=1), parameters={"value": "DURATION"})
    zone = find_zone(plan.zone)
    for group in plan.groups:
        steps = (*group.schedule, *group.sessions)
        spans = find_start_spans(plan, group.name, zone)
        for planned in _visits(steps):
            if not any(step.head or step.sequence for step in planned):
                continue  # work for nobody, that no calendar holds
            visit = _called_off_for_nobody(planned)
            first = visit[0]
            starts = None if first.cancelled or first.until_utc else spans.get(first.visit)
            calendar.add_component(_event(plan, _Visit(visit, steps, group, starts), zone))
    for step in plan.called_off:
        beside = tuple(s for s in plan.called_off if s.group == step.group)
        calendar.add_component(_event(plan, _Visit((step,), beside, None), zone))
    for dated in dated_events(plan):
        calendar.add_component(dated)
    return bytes(calendar.to_ical(sorted=False))


@dataclass(frozen=True, slots=True)
class _Visit:
    """What becomes one event: the steps of one pass, or one step called off."""

    steps: tuple[ScheduledStep, ...]
    schedule: tuple[ScheduledStep, ...]  # of its group, with what was called off
    group: GroupPlan | None
    starts: StartSpan | None = None

    @property
    def sequence(self) -> int:
        """How often it was changed: by a step moved, added or called off."""
        of_visit = [s for s in self.schedule if s.visit == self.steps[0].visit]
        return sum(s.sequence for s in of_visit) + len(of_visit) - 1


def _visits(steps: Iterable[ScheduledStep]) -> list[tuple[ScheduledStep, ...]]:
    """Return the steps by visit; a watch, and each step called off, stand for themselves."""
    found: dict[str, list[ScheduledStep]] = {}
    for step in steps:
        alone = step.cancelled or step.until_utc is not None
        found.setdefault(step.uid if alone else f"visit {step.visit}", []).append(step)
    return [tuple(of_visit) for of_visit in found.values()]


def _called_off_for_nobody(visit: tuple[ScheduledStep, ...]) -> tuple[ScheduledStep, ...]:
    """Call off a visit to which nobody comes: an older calendar may hold it."""
    if any(step.head for step in visit):
        return visit
    return tuple(replace(step, cancelled=True) for step in visit)


def _event(plan: Plan, visit: _Visit, zone: ZoneInfo) -> Event:
    first = visit.steps[0]
    event = Event()
    event.add("uid", first.uid)
    event.add("sequence", visit.sequence)
    event.add("dtstamp", plan.made_at_utc)
    event.add("last-modified", plan.made_at_utc)
    event.add("dtstart", first.at_utc)
    end = first.until_utc or max(turnout.ends(step, visit.group) for step in visit.steps)
    end += timedelta(seconds=-end.second % 60)
    if end > first.at_utc:  # DTEND must be later than DTSTART; without it the event is a moment
        event.add("dtend", end)
    if first.until_utc is not None:  # days of watching block nobody's calendar
        event.add("transp", "TRANSPARENT")
    event.add("summary", clean(_summary(visit)))
    event.add("description", clean("\n".join(_description(visit, zone))))
    event.add("status", "CANCELLED" if first.cancelled else "CONFIRMED")
    if not first.cancelled:
        event.add_component(alarm(event, ON_HEAT_ALARM if first.do == ON_HEAT else STEP_ALARM))
    return event


def _summary(visit: _Visit) -> str:
    first = min(visit.steps, key=lambda step: (step.who != "all", -step.head))
    does = words.joined(list(dict.fromkeys(step.words for step in visit.steps)))
    text = f"{first.group}: {does} ({turnout.head(first, visit.group)})"
    return f"Called off: {text}" if first.cancelled else text


def _description(visit: _Visit, zone: ZoneInfo) -> list[str]:
    first = visit.steps[0]
    lines = ["This step was called off."] if first.cancelled else []
    lines.append(f"Start {words.day_and_clock(first.at_utc, zone)} ({zone.key}).")
    if first.until_utc is not None:
        lines.append(f"Until {words.day_and_clock(first.until_utc, zone)}.")
    if visit.starts is not None:
        told = words.may_start(visit.starts, first.at_utc, zone)
        lines.extend(f"{words.upper_first(text)}." for text in told)
    for step in visit.steps:
        lines.extend(_step_lines(step, visit))
    lines.append(_DEFERS)
    return list(dict.fromkeys(lines))


def _step_lines(step: ScheduledStep, visit: _Visit) -> list[str]:
    lines: list[str] = []
    if after := words.after_words(step, visit.schedule):
        lines.append(f"{words.upper_first(after)} (elapsed hours).")
    named = f"{words.upper_first(step.words)}: for" if len(visit.steps) > 1 else "For"
    lines.append(f"{named} {words.who(step.who)}, {turnout.head(step, visit.group)}.")
    if step.dose is not None:
        lines.append(words.dose_words(step))
        lines.extend(step.dose.cautions)
    if straws := turnout.straws(step):
        lines.append(f"{words.upper_first(straws)}.")
    lines.extend(text for text in (step.note, *step.flags, step.label_note) if text)
    return lines

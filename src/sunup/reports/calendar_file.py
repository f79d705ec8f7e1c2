"""The calendar: one event per step per group, by RFC 5545.

Times go out in UTC (form 2, ``Z``), so that no reader needs a VTIMEZONE and none can float. The
UID is the plan's random one, kept from plan to plan; RFC 7986 forbids host or person in it. A step
that was called off stays in the file as CANCELLED, so that no ghost is left in a phone.
"""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

from icalendar import Calendar, Event

from sunup.base.hours import find_zone
from sunup.reports import turnout, words

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import GroupPlan, Plan, ScheduledStep

# RFC 5545 section 3.1: TEXT may hold no control character but tab and the escaped line end
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_DEFERS = "The label and your veterinarian decide."


def render_calendar(plan: Plan) -> bytes:
    """Render every step of every group as an iCalendar file.

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
    name = _clean(f"{plan.ranch}: {plan.season}")
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//Sunup//Sunup//EN")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)  # what readers older than RFC 7986 show
    calendar.add("refresh-interval", timedelta(days=1), parameters={"value": "DURATION"})
    zone = find_zone(plan.zone)
    for group in plan.groups:
        for step in (*group.schedule, *group.sessions):
            calendar.add_component(_event(plan, group.schedule, step, zone, group))
    for step in plan.called_off:
        beside = tuple(s for s in plan.called_off if s.group == step.group)
        calendar.add_component(_event(plan, beside, step, zone))
    return bytes(calendar.to_ical(sorted=False))


def _event(
    plan: Plan,
    schedule: tuple[ScheduledStep, ...],
    step: ScheduledStep,
    zone: ZoneInfo,
    group: GroupPlan | None = None,
) -> Event:
    event = Event()
    event.add("uid", step.uid)
    event.add("sequence", step.sequence)
    event.add("dtstamp", plan.made_at_utc)
    event.add("last-modified", plan.made_at_utc)
    event.add("dtstart", step.at_utc)
    end = step.until_utc or turnout.ends(step, group)
    if end > step.at_utc:  # DTEND must be later than DTSTART; without it the event is a moment
        event.add("dtend", end)
    event.add("summary", _clean(_summary(step, group)))
    event.add("description", _clean("\n".join(_description(schedule, step, zone, group))))
    event.add("status", "CANCELLED" if step.cancelled else "CONFIRMED")
    return event


def _summary(step: ScheduledStep, group: GroupPlan | None) -> str:
    text = f"{step.group}: {step.words} ({turnout.head(step, group)})"
    return f"Called off: {text}" if step.cancelled else text


def _description(
    schedule: tuple[ScheduledStep, ...],
    step: ScheduledStep,
    zone: ZoneInfo,
    group: GroupPlan | None,
) -> list[str]:
    lines = ["This step was called off."] if step.cancelled else []
    lines.append(f"Start {words.day_and_clock(step.at_utc, zone)} ({zone.key}).")
    if step.until_utc is not None:
        lines.append(f"Until {words.day_and_clock(step.until_utc, zone)}.")
    early, late = step.window_utc
    if late > early:
        lines.append(
            f"Window for the first female: {words.day_and_clock(early, zone)} to "
            f"{words.day_and_clock(late, zone)}."
        )
    if after := words.after_words(step, schedule):
        lines.append(f"{words.upper_first(after)} (elapsed hours).")
    lines.append(f"For {words.who(step.who)}: {turnout.head(step, group)}.")
    if step.dose is not None:
        lines.append(words.dose_words(step))
        lines.extend(step.dose.cautions)
    if straws := turnout.straws(step):
        lines.append(f"{words.upper_first(straws)}.")
    lines.extend(text for text in (step.note, *step.flags, step.label_note) if text)
    lines.append(_DEFERS)
    return lines


def _clean(text: str) -> str:
    return _CONTROL.sub(" ", text)

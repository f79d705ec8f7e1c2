"""The days to order, prepare and follow up by, as all-day events, and the alarms of all events."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import NAMESPACE_OID, uuid5

from icalendar import Alarm, Event

from sunup.base.hours import find_zone, to_local
from sunup.reports import words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.planning.plan import Plan, ShoppingLine

STEP_ALARM = timedelta(hours=-12)  # the evening before a morning's work
ON_HEAT_ALARM = timedelta(hours=-2)
_MORNING = timedelta(hours=8)  # alarms of a day go off then
# RFC 5545 section 3.1: TEXT may hold no control character but tab and the escaped line end
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def clean(text: str) -> str:
    """Return text without the control characters a calendar may not hold."""
    return _CONTROL.sub(" ", text)


def alarm(event: Event, before: timedelta) -> Alarm:
    """Return an alarm that shows an event's summary, some time from its start."""
    made = Alarm()
    made.add("action", "DISPLAY")
    made.add("description", str(event["summary"]))
    made.add("trigger", before)
    return made


def dated_events(plan: Plan) -> Iterable[Event]:
    """Yield an event for the last day of each run-up item and the first day of each kind of order.

    What was due before the plan was made stands on paper, overdue, and in no calendar. Of each kind
    of thing to order there is one event, however the dates move.
    """
    made_on = to_local(plan.made_at_utc, find_zone(plan.zone)).date()
    for item in plan.run_up:
        if item.to_on >= made_on:
            whose = f"{item.group}: " if item.group else ""
            since = f"From {words.day(item.from_on)} to {words.day(item.to_on)}."
            yield _day_event(
                plan,
                f"{item.key}|{item.group or ''}",
                item.to_on,
                f"Last day: {whose}{item.text.partition('. ')[0].rstrip('.')}",
                [since, item.text, item.why],
                # told as it begins
                (max(item.from_on, made_on) - item.to_on) + _MORNING,
            )
    kinds: dict[str, list[ShoppingLine]] = {}
    for line in plan.shopping:
        if line.order_by is not None and line.order_by >= made_on:
            kinds.setdefault(line.kind, []).append(line)
    for kind, lines in kinds.items():
        dates = [line.order_by for line in lines if line.order_by is not None]
        yield _day_event(
            plan,
            f"order|{kind}",
            min(dates),
            f"Order or book by today: {words.joined([line.item for line in lines])}",
            [
                f"{line.item}: {words.number(line.quantity)} {line.unit}, by "
                f"{words.day(line.order_by or min(dates))}."
                for line in lines
            ],
            _MORNING - timedelta(days=7),
        )


def _day_event(  # noqa: PLR0917
    plan: Plan, key: str, on: date, summary: str, lines: list[str], before: timedelta
) -> Event:
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_OID, f"{plan.ranch}|{plan.season}|{key}")))
    event.add("sequence", int(plan.made_at_utc.timestamp() // 60))  # rises with every plan made
    event.add("dtstamp", plan.made_at_utc)
    event.add("last-modified", plan.made_at_utc)
    event.add("dtstart", on)
    event.add("transp", "TRANSPARENT")
    event.add("summary", clean(summary))
    event.add("description", clean("\n".join(lines)))
    event.add("status", "CONFIRMED")
    event.add_component(alarm(event, before))
    return event

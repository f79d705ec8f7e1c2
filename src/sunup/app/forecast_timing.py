"""When a group's schedule does what, as a forecast needs it; and what it costs by part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import find_zone, hours_between, to_local
from sunup.forecast.summary import Costs
from sunup.forecast.timing import Timing
from sunup.planning.cost import total
from sunup.protocols.protocol import Do
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import date, datetime

    from sunup.planning.plan import GroupPlan, Money, ScheduledStep
    from sunup.protocols.protocol import Protocol

_PER_AI = frozenset({"semen", "sexed semen", "technician", "supplies"})


def split_costs(lines: Sequence[Money], *, straws: int) -> Costs:
    """Divide a protocol's costs into those of every female and those of each insemination."""
    per_ai = sum(line.amount for line in lines if line.item in _PER_AI)
    return Costs(
        per_female=total(lines) - per_ai, per_insemination=per_ai / straws if straws else 0.0
    )


def planned_timing(
    group: GroupPlan, protocol: Protocol, *, zone_name: str
) -> tuple[Timing, date, date]:
    """Return the hours of a group's schedule, its first day and the day of the first service."""
    zone = find_zone(zone_name)
    steps = {step.id: step for step in group.schedule if not step.cancelled}
    zero = _zero_of(steps, protocol)
    local = to_local(zero, zone)

    def since(moment: datetime) -> float:
        return (moment - zero).total_seconds() / 3600.0

    timing = Timing(
        hours={i: since(step.at_utc) for i, step in steps.items()},
        untils={
            i: since(step.until_utc) for i, step in steps.items() if step.until_utc is not None
        },
        zero_clock_h=local.hour + local.minute / 60.0,
        is_planned=True,
    )
    sessions = [s.at_utc for s in group.sessions if not s.cancelled]
    first_on = first_service_on(steps, sessions, zone_date=lambda m: to_local(m, zone))
    return timing, local.date(), first_on


def first_session_h(group: GroupPlan, protocol: Protocol) -> float | None:
    """Hour from zero of the first session for those seen in heat; None where none is laid out."""
    steps = {step.id: step for step in group.schedule if not step.cancelled}
    sessions = [s.at_utc for s in group.sessions if not s.cancelled]
    return hours_between(_zero_of(steps, protocol), min(sessions)) if sessions else None


def _zero_of(steps: Mapping[str, ScheduledStep], protocol: Protocol) -> datetime:
    nominal = nominal_hours(protocol)
    first = min((i for i in steps if i in nominal), key=lambda i: (nominal[i], steps[i].at_utc))
    return steps[first].at_utc


def first_service_on(
    steps: Mapping[str, ScheduledStep],
    sessions: Sequence[datetime],
    *,
    zone_date: Callable[[datetime], datetime],
) -> date:
    """Day of the first insemination or turnout of a schedule.

    Of a watch that of its first session; its start where no session is laid out.
    """
    serving = {Do.AI.value, Do.BULLS_IN.value} | ({Do.WATCH.value} if not sessions else set())
    found = [s.at_utc for s in steps.values() if s.do in serving]
    return zone_date(min([*found, *sessions] or [s.at_utc for s in steps.values()])).date()


def clock_words(protocol: Protocol) -> str:
    """The step heats are counted from, in words."""
    pgfs = any(step.do is Do.PGF for step in protocol.steps)
    return "the last PGF" if pgfs else "the first treatment"

"""When a group's schedule does what, as a forecast needs it; and what it costs by part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import find_zone, to_local
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
    nominal = nominal_hours(protocol)
    first = min((i for i in steps if i in nominal), key=lambda i: (nominal[i], steps[i].at_utc))
    zero = steps[first].at_utc
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
    return timing, local.date(), first_service_on(steps, zone_date=lambda m: to_local(m, zone))


def first_service_on(
    steps: Mapping[str, ScheduledStep], *, zone_date: Callable[[datetime], datetime]
) -> date:
    """Day of the first insemination, start of watching or turnout of a schedule."""
    serving = {Do.AI.value, Do.WATCH.value, Do.BULLS_IN.value}
    found = [s.at_utc for s in steps.values() if s.do in serving] or [
        s.at_utc for s in steps.values()
    ]
    return zone_date(min(found)).date()


def clock_words(protocol: Protocol) -> str:
    """The step heats are counted from, in words."""
    pgfs = any(step.do is Do.PGF for step in protocol.steps)
    return "the last PGF" if pgfs else "the first treatment"

"""A protocol's hours, its visits to the chute and how long it takes, as published.

Everything here is nominal: the target hours of the source, windows and calendar left aside. The
planner binds the steps to a first instant; these numbers let protocols be compared before that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.protocols.protocol import CHUTE, Do
from sunup.protocols.rules import step_hours

if TYPE_CHECKING:
    from sunup.protocols.protocol import Protocol, Step

_DAY_H = 24.0


@dataclass(frozen=True, slots=True)
class Visit:
    """One pass of the group through the chute.

    `id` is the id of the first chute step done in it, `hour` counts from zero, `steps` are the
    chute steps in file order. Turning calves or bulls in or out and feeding need no chute and are
    left out.
    """

    id: str
    hour: float
    steps: tuple[Step, ...]


def nominal_hours(protocol: Protocol) -> dict[str, float]:
    """Return the published hour of every step, counted from zero.

    Parameters
    ----------
    protocol : Protocol
        Its steps have passed `sunup.protocols.rules.check_steps`.

    Returns
    -------
    dict of str to float
        Step id to hours; a day counts 24 hours, as it does away from a change of clocks.
    """
    return step_hours(protocol.steps)


def _root(protocol: Protocol, step: Step) -> str:
    """Return the id of the step that sets the time of a step's visit."""
    while step.with_ is not None:
        step = protocol.step(step.with_)
    return step.id


def visits(protocol: Protocol) -> tuple[Visit, ...]:
    """Return the passes through the chute, in order of their hours.

    Steps tied by ``with`` are one visit, whatever part of the group they are for. Steps that only
    happen to share an hour are not: each could be moved without the other.
    """
    hours = nominal_hours(protocol)
    grouped: dict[str, list[Step]] = {}
    for step in protocol.steps:
        if step.do in CHUTE:
            grouped.setdefault(_root(protocol, step), []).append(step)
    found = [Visit(steps[0].id, hours[steps[0].id], tuple(steps)) for steps in grouped.values()]
    return tuple(sorted(found, key=lambda visit: visit.hour))


def passes_through_chute(protocol: Protocol) -> int:
    """Count the working days or half-days at the chute that a protocol asks for.

    Timed AI counts as a pass, also where it is only for the females not yet inseminated: the crew
    and the chute are needed all the same. Inseminating females one by one on heat does not count.
    """
    return len(visits(protocol))


def total_days(protocol: Protocol) -> float:
    """Return days from zero to the last step or the end of the last watch."""
    hours = nominal_hours(protocol)
    ends = [until for _, until in watch_spans(protocol)]
    return max([*hours.values(), *ends], default=0.0) / _DAY_H


def watch_spans(protocol: Protocol) -> tuple[tuple[float, float], ...]:
    """Return when heats are watched, as (from, until) in hours from zero; spans that touch are one.

    `until` of a watch counts from the step named in ``after``, or from zero for a watch by day.
    """
    hours = nominal_hours(protocol)
    spans = sorted(
        (hours[step.id], step.until + (hours[step.after] if step.after is not None else 0.0))
        for step in protocol.steps
        if step.do is Do.WATCH and step.until is not None
    )
    merged: list[tuple[float, float]] = []
    for start, end in spans:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return tuple(merged)


def watch_days(protocol: Protocol) -> float:
    """Return the days on which heats are watched, as a sum of hours over 24."""
    return sum(end - start for start, end in watch_spans(protocol)) / _DAY_H

"""Which step of her schedule an act stands for, and whether her heat is over by it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import hours_between
from sunup.planning.insemination_list import HerTimes, unserved
from sunup.planning.insemination_times import TimeFigures
from sunup.planning.passed_over import find_passed_over, heat_passed
from sunup.planning.progress import Phase
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.app.record import Batch
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.progress import FemaleStep


def her_times(desk: Desk) -> HerTimes:
    """When females are inseminated on a heat, by the rules in force at the desk's instant."""
    return HerTimes(desk.season, TimeFigures.of(desk.library), desk.library.protocols)


_OPEN = frozenset({Phase.COMING, Phase.DUE, Phase.BEYOND, Phase.WAITS})


def step_meant(
    batch: Batch, female: FemaleNow, do: str, at: datetime, *, among: frozenset[Phase] = _OPEN
) -> FemaleStep | None:
    """The step of hers an act will count for: the nearest of its kind not done; None where none.

    As far off as an act that names no step may lie and still count for one.
    """
    group = batch.desk.season.group(female.group)
    steps = group.schedule if group is not None else ()
    hers = [
        line
        for step in steps
        if step.do == do
        and (line := batch.steps.get((female.id, step.id))) is not None
        and line.phase in among
    ]
    near = min(hers, key=lambda line: abs(hours_between(line.at, at)), default=None)
    if near is None or abs(hours_between(near.at, at)) > batch.desk.season.near_h:
        return None
    return near


def heat_over_by(
    batch: Batch, female: FemaleNow, step_id: str | None, at: datetime
) -> datetime | None:
    """When the heat was first seen that is over by a fixed-time insemination; None where none."""
    group = batch.desk.season.group(female.group)
    for step in group.schedule if group is not None else ():
        if step.id == step_id and step.do == Do.AI and not step.cancelled:
            heat = heat_passed(batch.desk.season, female, step, her_times(batch.desk), at=at)
            return None if heat is None else heat.first_seen_at
    return None


def heats_over_by(desk: Desk, steps: Collection[str]) -> frozenset[str]:
    """Females not yet served whose heat is over by one of these fixed-time inseminations."""
    passed = find_passed_over(desk.season, her_times(desk))
    return frozenset(female for female, step in passed if step in steps)


def fixed_step_meant(
    batch: Batch, female: FemaleNow, at: datetime, *, timed: bool
) -> FemaleStep | None:
    """The fixed-time insemination one by name stands for; None where it is one on a heat.

    Not said to be timed and a heat on file: it is held to no fixed time. Without a heat on file it
    is held to one that is over, or that hangs on a PGF not on file.
    """
    if timed:
        return step_meant(batch, female, Do.AI.value, at)
    over = TimeFigures.of(batch.desk.library).over.number
    if unserved(female, at, over_days=over) is not None:
        return None
    late = frozenset({Phase.BEYOND, Phase.WAITS})
    line = step_meant(batch, female, Do.AI.value, at, among=late)
    return line if line is not None and at > line.window[0] else None

"""Who is left out of a fixed time: her heat is over by then, and no PGF brings a new one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.planning.insemination_list import HerTimes, is_renewed, unserved
from sunup.planning.insemination_times import Timeliness
from sunup.planning.progress import GroupProgress, Phase, group_step
from sunup.planning.season_now import members
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from sunup.planning.females_now import FemaleNow
    from sunup.planning.heats import Heat
    from sunup.planning.plan import ScheduledStep
    from sunup.planning.season_now import SeasonNow

HEAT_OVER = "her heat is over: left for her next"


def heat_passed(
    season: SeasonNow, female: FemaleNow, step: ScheduledStep, times: HerTimes, *, at: datetime
) -> Heat | None:
    """Return the heat that rules her out of a fixed time at an instant; None where none does.

    The insemination list tells her the same: the ovum of that heat is dead by then, and no PGF of
    the plan brings a new heat between them.

    Parameters
    ----------
    season : SeasonNow
    female : FemaleNow
    step : ScheduledStep
        The fixed-time insemination.
    times : HerTimes
    at : datetime
        UTC.
    """
    heat = unserved(female, at, over_days=times.figures.over.number)
    if heat is None or is_renewed(season.group(female.group), heat, step.at_utc):
        return None
    is_over = times.of(female, heat).standing(at) is Timeliness.TOO_LATE
    return heat if is_over else None


def find_passed_over(season: SeasonNow, times: HerTimes) -> frozenset[tuple[str, str]]:
    """Return (female, step) of every fixed time that is not for her, at the season's instant."""
    if season.in_force is None:
        return frozenset()
    return frozenset(
        (female.id, step.id)
        for group in season.in_force.plan.groups
        for step in group.schedule
        if step.do == Do.AI.value and not step.cancelled
        for female in members(season, group)
        if heat_passed(season, female, step, times, at=min(season.at, step.ends_utc)) is not None
    )


def leave_out(progress: GroupProgress, passed: Collection[tuple[str, str]]) -> GroupProgress:
    """Take females out of the visits whose insemination is not for them; what was done stays.

    Parameters
    ----------
    progress : GroupProgress
    passed : collection of (female, step)
    """
    visits = {
        (female, line.step.visit)
        for female, step in passed
        for line in progress.steps
        if line.step.id == step
    }
    if not visits:
        return progress
    steps = []
    for line in progress.steps:
        females = [
            replace(her, phase=Phase.NOT_HERS, why=HEAT_OVER)
            if her.done is None and (her.female, line.step.visit) in visits
            else her
            for her in line.females
        ]
        steps.append(group_step(line.step, females, line.done_as_group))
    return GroupProgress(progress.group, tuple(steps), progress.extra)

"""Who is held back from a step, and why: pregnant or exposed, on hold, or nothing known of her.

A step held back is not counted as to do, and ``--all`` leaves her out; who names her records her
all the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.planning.exposure import find_doubt, is_found_pregnant
from sunup.planning.plan import State
from sunup.planning.progress import FemaleStep, GroupProgress, Held, Phase, group_step
from sunup.planning.readiness import Dates, assess
from sunup.planning.warnings import ABORTS, say_day
from sunup.protocols.protocol import INJECTIONS, Do

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date, datetime

    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import GroupPlan, ScheduledStep
    from sunup.planning.progress import GroupStep
    from sunup.planning.readiness import ReadinessFigures
    from sunup.planning.season_now import SeasonNow

    Lines = Sequence[tuple[ScheduledStep, FemaleStep]]

_INJECTED = frozenset(do.value for do in INJECTIONS)
_TREATS = _INJECTED | {Do.INSERT_IN.value, Do.AI.value}
_STILL_DUE = frozenset({Do.INSERT_OUT.value})  # an insert comes out of whoever is held back too


def is_planned(female: FemaleNow, season: SeasonNow) -> bool:
    """Whether the plan in force names her, by any tag she wore."""
    if season.in_force is None:
        return False
    worn = {female.tag, *female.tags}
    return any(line.tag in worn for line in season.in_force.plan.females)


def why_unknown(female: FemaleNow, season: SeasonNow) -> str | None:
    """Why nobody can say whether she is pregnant: nothing of it is on file. None where it is.

    A cow needs a calving, an exposure or a finding on file. A heifer is taken as not bred where a
    list that was planned from names her; one that joined since, or that nobody has identified, may
    have been with any bull.
    """
    on_file = female.facts.calved_on or female.checks or female.services or female.with_bulls
    if on_file or any(what == ABORTS for what, _ in female.befell):
        return None
    if not female.listed:
        return "who she is, and whether she was with a bull, is not on file"
    if female.facts.class_.has_calved:
        return "no calving, exposure or finding of hers is on file"
    if season.in_force is None or is_planned(female, season):
        return None
    return "she joined after the plan was made, and no exposure or finding of hers is on file"


def find_held(
    season: SeasonNow,
    progress: Sequence[GroupProgress],
    figures: ReadinessFigures,
    *,
    at: datetime | None = None,
) -> dict[tuple[str, str], Held]:
    """Say of each (female, step) not done yet why she is held back from it, where she is.

    Whoever is held back from one step of a visit is from all of it, but for an insert that must
    come out of her; and from what hangs on that step by elapsed hours.

    Parameters
    ----------
    season : SeasonNow
    progress : sequence of GroupProgress
    figures : ReadinessFigures
    at : datetime, optional
        When it is done, if not at the season's instant.
    """
    look = _Look(season, figures, at or season.at)
    found: dict[tuple[str, str], Held] = {}
    for told in progress:
        plan = season.group(told.group)
        hers: dict[str, list[tuple[ScheduledStep, FemaleStep]]] = {}
        for line in told.steps:
            if not line.is_group_act:
                for her in line.females:
                    hers.setdefault(her.female, []).append((line.step, her))
        for key, lines in hers.items():
            female = season.females[key]
            for step_id, held in _held_steps(female, lines, plan, look).items():
                found[key, step_id] = held
    return found


@dataclass(frozen=True, slots=True)
class _Look:
    """What every female is judged by."""

    season: SeasonNow
    figures: ReadinessFigures
    at: datetime

    def day(self, line: FemaleStep) -> date:
        """The day a step is done on: her turn, or the day it is looked at where that is past."""
        return to_local(max(line.at, self.at), self.season.zone).date()


def _held_steps(
    female: FemaleNow, lines: Lines, plan: GroupPlan | None, look: _Look
) -> dict[str, Held]:
    todo = [(s, line) for s, line in lines if line.phase not in {Phase.DONE, Phase.NOT_HERS}]
    if not todo:
        return {}
    unready = None
    if not any(line.phase is Phase.DONE for _, line in lines):
        unready = _unready(female, plan, look)
    unknown = why_unknown(female, look.season)
    found: dict[str, Held] = {}
    for i, (step, line) in enumerate(todo):
        if step.do not in _TREATS:
            continue
        held = found.get(step.after_step or "")
        if held is None:
            pgf = next((x for s, x in todo[i:] if s.do == Do.PGF.value), None)
            held = _refused(female, step, pgf, look, unknown=unknown)
        if held is None:
            why = female.hold_on(look.day(line)) or unready
            held = None if why is None else Held(f"on hold: {why}", is_refused=False)
        if held is not None:
            inside = female.inserted is not None and _comes_out(step, todo)
            found[step.id] = replace(held, insert_in=inside)
    visits = {step.visit: found[step.id] for step, _ in reversed(todo) if step.id in found}
    still = _STILL_DUE if female.inserted is not None else frozenset()
    for step, _ in todo:
        if step.visit in visits and step.do not in still:
            found.setdefault(step.id, visits[step.visit])
    return found


def _comes_out(step: ScheduledStep, todo: Lines) -> bool:
    """Whether an insert is taken out at the visit of a step."""
    return any(s.do == Do.INSERT_OUT and s.visit == step.visit for s, _ in todo)


def _refused(
    female: FemaleNow,
    step: ScheduledStep,
    pgf: FemaleStep | None,
    look: _Look,
    *,
    unknown: str | None,
) -> Held | None:
    """Why a step is refused her: a PGF now or to come may end a pregnancy; she was found pregnant.

    `pgf` is her next PGF, from this step on; `unknown` why nobody can say whether she is pregnant.
    """
    if pgf is None:
        pregnant = step.do == Do.AI.value and is_found_pregnant(female.facts)
        return Held("found pregnant", is_refused=True) if pregnant else None
    on = look.day(pgf)
    doubt = find_doubt(female.facts, pgf_on=on, figures=look.figures.exposure)
    why = doubt.text if doubt is not None else unknown
    if why is None:
        return None
    later = "" if pgf.step == step.id else f" (PGF follows on {say_day(on)})"
    return Held(f"{why}{later}", is_refused=True)


def _unready(female: FemaleNow, plan: GroupPlan | None, look: _Look) -> str | None:
    """What would hold her in a herd list, of one the plan was not made for; None: nothing."""
    zone = look.season.zone
    if plan is None or is_planned(female, look.season):
        return None
    if not female.listed:
        return "nobody has said who she is"
    live = [step for step in plan.schedule if not step.cancelled]
    first = min(step.at_utc for step in live)
    served = min((s.at_utc for s in live if s.do == Do.AI.value), default=first)
    dates = Dates(to_local(first, zone).date(), to_local(served, zone).date())
    told = assess(female.facts, dates, look.figures).reasons
    # an exposure is held to the day of the PGF itself
    reasons = [r.text for r in told if r.state is State.HOLD and r.rule != "exposure"]
    return "; ".join(reasons) or None


def by_female(held: Iterable[tuple[str, Held]]) -> dict[str, Held]:
    """Why each female is held back, of several reasons the first; what is refused says why first.

    Parameters
    ----------
    held : iterable of (female, Held)
        In the order of the steps.
    """
    found: dict[str, Held] = {}
    for female, why in held:
        if not (female in found and found[female].is_refused):
            found[female] = why
    return found


def held_of(steps: Iterable[GroupStep]) -> dict[str, Held]:
    """Who is held back from any of some steps, by id."""
    return by_female(
        (her.female, her.held) for line in steps for her in line.females if her.held is not None
    )


def hold_back(progress: GroupProgress, held: Mapping[tuple[str, str], Held]) -> GroupProgress:
    """Take females out of the steps they are held back from; what was done stays."""
    if not held:
        return progress
    steps = []
    for line in progress.steps:
        females = [
            replace(her, phase=Phase.NOT_HERS, why=why.why, held=why)
            if her.done is None and (why := held.get((her.female, line.step.id))) is not None
            else her
            for her in line.females
        ]
        steps.append(group_step(line.step, females, line.done_as_group))
    return GroupProgress(progress.group, tuple(steps), progress.extra)

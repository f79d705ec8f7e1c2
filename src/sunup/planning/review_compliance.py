"""Was it done as planned: in time, late, missed or wrong, step by step and female by female.

A review looks here first: a dose given late explains more than a sire does.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.hours import hours_between
from sunup.planning.progress import Phase
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sunup.planning.progress import FemaleStep, GroupProgress, GroupStep

_HALF_DAY_H = 12.0
_OPEN = frozenset({Phase.COMING, Phase.DUE})
_MISSED = frozenset({Phase.BEYOND, Phase.WAITS})
# what an outcome hangs on; a missed pregnancy check spoils no pregnancy
_BEARING = frozenset(Do) - {Do.PREG_CHECK, Do.BULLS_IN, Do.BULLS_OUT, Do.WATCH, Do.HEAT_AID_ON}
# an insemination on heat, or a second one, belongs to no step and is no slip
_NAMED = frozenset(do.value for do in _BEARING) - {Do.AI.value}


@dataclass(frozen=True, slots=True)
class Slip:
    """Something that did not go as planned with one female (or the group: `female` is empty).

    `kind`: early | late | missed | lost insert | part dose | not in the plan. `hours` is how far
    outside her window, 0 where that has no meaning.
    """

    kind: str
    group: str
    female: str
    step: str
    words: str
    hours: float = 0.0
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class StepKept:
    """One step of a group: of how many females it was for, how many got it when.

    `worst_late_h` and `worst_early_h` are hours outside the window.
    """

    group: str
    step: str
    words: str
    planned_at: datetime
    of: int
    in_time: int
    early: int
    late: int
    missed: int
    to_come: int
    worst_early_h: float = 0.0
    worst_late_h: float = 0.0


@dataclass(frozen=True, slots=True)
class WatchKept:
    """One watch of a group: half-days in which somebody looked, of those it was to last."""

    group: str
    step: str
    looked: int
    half_days: int
    minutes: float


@dataclass(frozen=True, slots=True)
class Compliance:
    """How the plan was kept.

    `on_time` says of each female treated whether all that her pregnancy hangs on was in her
    windows; absent where nothing of hers is due yet.
    """

    steps: tuple[StepKept, ...]
    watches: tuple[WatchKept, ...]
    slips: tuple[Slip, ...]
    on_time: Mapping[str, bool]

    def of_kind(self, *kinds: str) -> tuple[Slip, ...]:
        """Slips of these kinds."""
        return tuple(slip for slip in self.slips if slip.kind in kinds)


@dataclass(frozen=True, slots=True)
class Watch:
    """One watch as recorded."""

    at: datetime
    minutes: float


def check_compliance(
    progress: GroupProgress, *, watches: Sequence[Watch] = (), others: Sequence[Slip] = ()
) -> Compliance:
    """Say how a group's plan was kept.

    Parameters
    ----------
    progress : GroupProgress
        The schedule laid over what was recorded, at the instant of the review.
    watches : sequence of Watch
        Of the group, also those at which nothing was seen.
    others : sequence of Slip
        What a schedule does not show: lost inserts, part doses.

    Returns
    -------
    Compliance
    """
    steps, watched, slips = [], [], list(others)
    bad = {slip.female for slip in others if slip.kind in {"lost insert", "part dose"}}
    seen: set[str] = set()
    for group_step in progress.steps:
        step = group_step.step
        if Do(step.do) is Do.WATCH:
            watched.append(_watch_kept(progress.group, group_step, watches))
            continue
        steps.append(_step_kept(progress.group, group_step))
        # an aid put on is seldom written down: the steps show it, no slip is made of it
        lines = () if Do(step.do) is Do.HEAT_AID_ON else group_step.females
        found = [_slip(progress.group, group_step, line) for line in lines]
        slips += [slip for slip in found if slip is not None]
        if Do(step.do) in _BEARING:
            seen |= {f.female for f in group_step.females if f.phase in {Phase.DONE, *_MISSED}}
            bad |= {slip.female for slip in found if slip is not None}
    slips += [
        Slip("not in the plan", progress.group, female, act.step or "", _plain(act.do), at=act.at)
        for female, act in progress.extra
        if act.do in _NAMED
    ]
    return Compliance(
        tuple(steps),
        tuple(watched),
        tuple(slips),
        {female: female not in bad for female in sorted(seen)},
    )


def _step_kept(group: str, group_step: GroupStep) -> StepKept:
    hers = [f for f in group_step.females if f.phase is not Phase.NOT_HERS]
    done = [f for f in hers if f.phase is Phase.DONE]
    return StepKept(
        group=group,
        step=group_step.step.id,
        words=group_step.step.words,
        planned_at=group_step.step.at_utc,
        of=len(hers),
        in_time=sum(f.hours_off == 0.0 for f in done),
        early=sum(f.hours_off < 0.0 for f in done),
        late=sum(f.hours_off > 0.0 for f in done),
        missed=sum(f.phase in _MISSED for f in hers),
        to_come=sum(f.phase in _OPEN for f in hers),
        worst_early_h=max((-f.hours_off for f in done if f.hours_off < 0.0), default=0.0),
        worst_late_h=max((f.hours_off for f in done if f.hours_off > 0.0), default=0.0),
    )


def _slip(group: str, group_step: GroupStep, line: FemaleStep) -> Slip | None:
    step = group_step.step
    if line.phase is Phase.BEYOND:
        return Slip("missed", group, line.female, step.id, step.words)
    if line.phase is not Phase.DONE or line.hours_off == 0.0 or line.done is None:
        return None
    kind = "late" if line.hours_off > 0.0 else "early"
    hours = abs(line.hours_off)
    return Slip(kind, group, line.female, step.id, step.words, hours, line.done.at)


def _watch_kept(group: str, group_step: GroupStep, watches: Sequence[Watch]) -> WatchKept:
    step = group_step.step
    ends = step.until_utc or step.ends_utc
    half_days = max(1, round(hours_between(step.at_utc, ends) / _HALF_DAY_H))
    inside = [
        w for w in watches if -6.0 <= hours_between(step.at_utc, w.at) < _HALF_DAY_H * half_days
    ]
    looked = Counter(max(0, int(hours_between(step.at_utc, w.at) // _HALF_DAY_H)) for w in inside)
    return WatchKept(group, step.id, len(looked), half_days, sum(w.minutes for w in inside))


def _plain(do: str) -> str:
    return {"gnrh": "GnRH", "pgf": "PGF", "ai": "insemination"}.get(do, do.replace("_", " "))


def join_compliance(parts: Sequence[Compliance]) -> Compliance:
    """Join those of several groups."""
    on_time: dict[str, bool] = {}
    for part in parts:
        on_time |= part.on_time
    return Compliance(
        tuple(step for part in parts for step in part.steps),
        tuple(watch for part in parts for watch in part.watches),
        tuple(slip for part in parts for slip in part.slips),
        on_time,
    )

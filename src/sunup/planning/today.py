"""Today: what is due now and next, for whom, who is late, what was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import hours_between, to_local
from sunup.planning.held_back import find_held, held_of, hold_back
from sunup.planning.insemination_list import choose_sires
from sunup.planning.passed_over import HEAT_OVER, leave_out
from sunup.planning.progress import GROUP_ACTS, FemaleStep, GroupStep, Held, Phase
from sunup.planning.readiness import ReadinessFigures
from sunup.planning.season_now import follow
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Sequence
    from datetime import datetime

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import ScheduledStep
    from sunup.planning.progress import GroupProgress
    from sunup.planning.season_now import SeasonNow


@dataclass(frozen=True, slots=True)
class TodayFigures:
    """How far back and ahead Today tells."""

    missed_days: Figure
    coming_hours: Figure
    readiness: ReadinessFigures

    @staticmethod
    def of(library: Library) -> TodayFigures:
        """Take them from the library."""
        return TodayFigures(
            missed_days=library.figure("practice.missed_told_days"),
            coming_hours=library.figure("practice.coming_visits_hours"),
            readiness=ReadinessFigures(library),
        )


@dataclass(frozen=True, slots=True)
class StepNow:
    """One thing to do at a visit: for how many, with what."""

    step: ScheduledStep
    to_go: int
    done: int
    ml_each: float | None
    ml_to_go: float | None
    straws: int
    by_sire: tuple[tuple[str, tuple[str, ...]], ...] = ()  # chosen ahead: sire, tags to go


@dataclass(frozen=True, slots=True)
class VisitNow:
    """One pass of a group: when, until when, how far it is.

    `closes_first` names the female whose window closes first among those still to do.
    """

    group: str
    visit: str
    steps: tuple[StepNow, ...]
    at: datetime
    ends: datetime
    window: tuple[datetime, datetime]
    until: datetime | None
    is_open: bool
    to_go: tuple[str, ...]  # ids, first closing first
    done: int
    behind: int  # still to do, planned time passed
    closes_first: tuple[str, datetime] | None
    as_group: bool  # done to the group as a whole, not female by female
    left_out: tuple[str, ...] = ()  # tags: their heat is over, they are left for the next
    held: tuple[tuple[str, Held], ...] = ()  # tags held back from what is done there, and why

    @property
    def words(self) -> str:
        """What is done, in words."""
        return ", ".join(line.step.words for line in self.steps)


@dataclass(frozen=True, slots=True)
class Late:
    """A female late at a visit: inside her window (`closes` is to come) or beyond it."""

    female: str
    tag: str
    group: str
    visit: str
    words: str
    planned: datetime
    closes: datetime
    why: str = ""


@dataclass(frozen=True, slots=True)
class DoneLine:
    """What was done on the day: one kind of act in one group by one person."""

    group: str
    do: str
    words: str
    by: str
    n: int
    first: datetime
    last: datetime


@dataclass(frozen=True, slots=True)
class Work:
    """The schedule's part of Today."""

    now: tuple[VisitNow, ...]
    next: tuple[VisitNow, ...]
    late: tuple[Late, ...]
    beyond: tuple[Late, ...]
    beyond_before: int  # females whose windows closed longer ago than is told day by day
    done: tuple[DoneLine, ...]
    progress: tuple[GroupProgress, ...]


def find_work(
    season: SeasonNow, figures: TodayFigures, *, passed: Collection[tuple[str, str]] = ()
) -> Work:
    """Say what is due now and next, who is late, and what was done on the day.

    Parameters
    ----------
    season : SeasonNow
    figures : TodayFigures
    passed : collection of (female, step), optional
        Fixed times that are not for her, as ``passed_over.find_passed_over`` finds them.

    Returns
    -------
    Work
        Visits by time, females first closing first.
    """
    if season.in_force is None:
        return Work((), (), (), (), 0, find_done(season), ())
    followed = [follow(season, group) for group in season.in_force.plan.groups]
    held = find_held(season, followed, figures.readiness)
    progress = tuple(hold_back(leave_out(told, passed), held) for told in followed)
    now: list[VisitNow] = []
    coming: list[VisitNow] = []
    late: list[Late] = []
    beyond: list[Late] = []
    before: set[str] = set()
    for group in progress:
        visits = _by_visit(group.steps)
        told = [_visit(group.group, visit, steps, season) for visit, steps in visits]
        now += [v for v in told if v is not None and v.is_open]
        coming += _next([v for v in told if v is not None and not v.is_open], season.at, figures)
        for visit, steps in visits:
            lines, old = _beyond(group.group, visit, steps, season, figures)
            late += _late(group.group, visit, steps, season)
            beyond += lines
            before |= old
    # a step that waits for a missed one names it: the missed one is not told a second time
    waits = {line.female for line in beyond if line.why}
    beyond = [line for line in beyond if line.why or line.female not in waits]
    still = {line.female for line in beyond}
    return Work(
        now=tuple(sorted(now, key=lambda v: (v.window[1], v.group))),
        next=tuple(sorted(coming, key=lambda v: (v.at, v.group))),
        late=tuple(sorted(late, key=lambda line: line.closes)),
        beyond=tuple(sorted(beyond, key=lambda line: line.closes, reverse=True)),
        beyond_before=0 if _is_over(progress, season, figures) else len(before - still),
        done=find_done(season),
        progress=progress,
    )


def _by_visit(steps: Sequence[GroupStep]) -> list[tuple[str, list[GroupStep]]]:
    found: dict[str, list[GroupStep]] = {}
    for line in steps:
        found.setdefault(line.step.visit, []).append(line)
    return list(found.items())


def _visit(
    group: str, visit: str, steps: Sequence[GroupStep], season: SeasonNow
) -> VisitNow | None:
    """A visit with somebody still to do; None where all is done or over."""
    if all(line.is_group_act for line in steps):
        return _group_visit(group, visit, steps, season)
    waiting: dict[str, FemaleStep] = {}
    for line in steps:
        for female in line.of_phase(Phase.DUE, Phase.COMING):
            waiting.setdefault(female.female, female)
    if not waiting:
        return None
    ordered = sorted(waiting.values(), key=lambda f: (f.window[1], f.at))
    due = [f for f in ordered if f.phase is Phase.DUE]
    first = (due or ordered)[0]
    return VisitNow(
        group=group,
        visit=visit,
        steps=tuple(_step(line, season) for line in steps),
        at=min(f.at for f in ordered),
        ends=max(f.at for f in ordered),
        window=(min(f.window[0] for f in ordered), max(f.window[1] for f in ordered)),
        until=steps[0].step.until_utc,
        is_open=bool(due),
        to_go=tuple(f.female for f in ordered),
        done=max(len(line.of_phase(Phase.DONE)) for line in steps),
        behind=sum(f.is_late for f in due),
        closes_first=(season.females[first.female].tag, first.window[1]),
        as_group=False,
        left_out=_left_out(steps, season),
        held=_held(steps, season),
    )


def _held(steps: Sequence[GroupStep], season: SeasonNow) -> tuple[tuple[str, Held], ...]:
    """Who is held back at a visit; of several steps the act that is refused says why."""
    return tuple((season.females[female].tag, held) for female, held in held_of(steps).items())


def _left_out(steps: Sequence[GroupStep], season: SeasonNow) -> tuple[str, ...]:
    left = dict.fromkeys(
        her.female for line in steps for her in line.females if her.why == HEAT_OVER
    )
    return tuple(season.females[female].tag for female in left)


def _group_visit(
    group: str, visit: str, steps: Sequence[GroupStep], season: SeasonNow
) -> VisitNow | None:
    """A visit done to the group as a whole: a watch, feed, calves off, bulls."""
    lead = steps[0]
    if lead.done_as_group is not None or not lead.females:
        return None
    opens, closes = lead.window
    closes = lead.until or closes  # from the earliest female's start to the latest one's end
    if season.at > closes:
        return None
    head = [f for f in lead.females if f.phase is not Phase.NOT_HERS]
    return VisitNow(
        group=group,
        visit=visit,
        steps=tuple(_step(line, season) for line in steps),
        at=lead.at,
        ends=lead.at,
        window=(opens, closes),
        until=lead.until,
        is_open=season.at >= opens,
        to_go=tuple(f.female for f in head),
        done=0,
        behind=0,
        closes_first=None,
        as_group=True,
    )


def _step(line: GroupStep, season: SeasonNow) -> StepNow:
    is_ai = line.step.do == Do.AI.value
    to_go = len(line.of_phase(Phase.DUE, Phase.COMING))
    each = line.step.dose.ml_each if line.step.dose is not None else None
    return StepNow(
        step=line.step,
        to_go=to_go,
        done=len(line.of_phase(Phase.DONE)),
        ml_each=each,
        ml_to_go=None if each is None else each * to_go,
        straws=to_go if is_ai else 0,
        by_sire=_by_sire(line, season) if is_ai else (),
    )


def _by_sire(line: GroupStep, season: SeasonNow) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The females to go by the sire each is to have; those without one come last."""
    females = [season.females[f.female] for f in line.of_phase(Phase.DUE, Phase.COMING)]
    if not females:
        return ()
    sires = choose_sires(females, season)
    found: dict[str, list[str]] = {}
    for female in females:
        found.setdefault(sires[female.id] or "", []).append(female.tag)
    if set(found) <= {""}:
        return ()
    return tuple((sire, tuple(found[sire])) for sire in sorted(found, key=lambda s: (not s, s)))


def _next(visits: Sequence[VisitNow], at: datetime, figures: TodayFigures) -> list[VisitNow]:
    """The very next visit of a group, and all others that open soon."""
    if not visits:
        return []
    ordered = sorted(visits, key=lambda v: v.at)
    soon = at + timedelta(hours=figures.coming_hours.number)
    return [v for i, v in enumerate(ordered) if i == 0 or v.window[0] <= soon]


def _late(group: str, visit: str, steps: Sequence[GroupStep], season: SeasonNow) -> list[Late]:
    return _lines(
        group,
        visit,
        steps,
        season,
        lambda f: f.phase is Phase.DUE and f.is_late,
    )


def _beyond(
    group: str,
    visit: str,
    steps: Sequence[GroupStep],
    season: SeasonNow,
    figures: TodayFigures,
) -> tuple[list[Late], set[str]]:
    """Females beyond a visit's window, and those waiting for a missed step whose time has come."""
    lines = _lines(
        group,
        visit,
        steps,
        season,
        lambda f: f.phase is Phase.BEYOND or (f.phase is Phase.WAITS and season.at >= f.window[0]),
    )
    told_h = figures.missed_days.number * 24
    open_ = [line for line in lines if hours_between(line.closes, season.at) <= told_h]
    return open_, {line.female for line in lines} - {line.female for line in open_}


def _is_over(progress: Sequence[GroupProgress], season: SeasonNow, figures: TodayFigures) -> bool:
    """Whether the last window of the plan closed longer ago than is told day by day."""
    ends = [
        f.until or f.window[1] for group in progress for step in group.steps for f in step.females
    ]
    last = max(ends, default=season.at)
    return hours_between(last, season.at) > figures.missed_days.number * 24


def _lines(
    group: str,
    visit: str,
    steps: Sequence[GroupStep],
    season: SeasonNow,
    wanted: Callable[[FemaleStep], bool],
) -> list[Late]:
    by_female: dict[str, list[tuple[GroupStep, FemaleStep]]] = {}
    for line in steps:
        if line.is_group_act:
            continue
        for female in line.females:
            if wanted(female):
                by_female.setdefault(female.female, []).append((line, female))
    return [
        Late(
            female=female,
            tag=season.females[female].tag,
            group=group,
            visit=visit,
            words=", ".join(line.step.words for line, _ in found),
            planned=found[0][1].at,
            closes=found[0][1].window[1],
            why=found[0][1].why,
        )
        for female, found in by_female.items()
    ]


_WORDS = {
    "gnrh": "GnRH",
    "pgf": "PGF",
    "insert_in": "inserts in",
    "insert_out": "inserts out",
    "estradiol_benzoate": "estradiol benzoate",
    "estradiol_cypionate": "estradiol cypionate",
    "ecg": "eCG",
    "ai": "inseminated",
    "ai_on_heat": "inseminated on heat",
    "preg_check": "pregnancy checks",
    "watch": "watches for heat",
    "mga_start": "melengestrol: first feeding",
    "mga_end": "melengestrol: last feeding",
    "bulls_in": "bulls in",
    "bulls_out": "bulls out",
    "heat": "heat sightings",
    "other": "other acts",
}


def find_done(season: SeasonNow) -> tuple[DoneLine, ...]:
    """What was recorded of the ranch's day up to the instant, by group, kind and person."""
    day = to_local(season.at, season.zone).date()
    start = season.at - timedelta(hours=26)

    def is_today(at: datetime) -> bool:
        return start <= at <= season.at and to_local(at, season.zone).date() == day

    found: dict[tuple[str, str, str], list[datetime]] = {}
    group_wide = {do.value for do in GROUP_ACTS}
    for group, acts in season.group_acts.items():
        for act in acts:
            if is_today(act.at):
                found.setdefault((group, act.do, act.by), []).append(act.at)
    for female in season.females.values():
        for do, by, at in _acts_of(female):
            if is_today(at) and do not in group_wide:
                found.setdefault((female.group, do, by), []).append(at)
    lines = [
        DoneLine(group, do, _WORDS.get(do, do), by, len(times), min(times), max(times))
        for (group, do, by), times in found.items()
    ]
    return tuple(sorted(lines, key=lambda line: (line.first, line.group, line.do)))


def _acts_of(female: FemaleNow) -> Iterable[tuple[str, str, datetime]]:
    for act in female.acts:
        yield act.do, act.by, act.at
    for sighting in female.sightings:
        yield "heat", "", sighting.seen_at

"""How far each female is: what was done, and when the rest of her schedule now falls.

A step that happened is linked to what was recorded. Every step that hangs on it by elapsed hours
then counts from the *actual* time she got it, not from the plan: two females of one group may
have different hours. Steps by day keep the local clock of her own first treatment, across a
change of clocks.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from sunup.base.hours import add_hours, hours_between, same_clock, to_local
from sunup.planning.schedule import WHO_WORDS, slots
from sunup.protocols.protocol import Do, Who

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import ScheduledStep

# What is done to a group as a whole; the rest is done female by female.
GROUP_ACTS = frozenset(
    {Do.WATCH, Do.MGA_START, Do.MGA_END, Do.CALVES_OFF, Do.CALVES_ON, Do.BULLS_IN, Do.BULLS_OUT}
)
UNNAMED = "other"  # an act with no step word of its own (a heat aid put on): its step says what
ON_HEAT = "ai_on_heat"  # an insemination on heat fulfils no step at a fixed time
SERVED = "already inseminated"
MINUTE_H = 1.0 / 60.0
_WHO = {words: who for who, words in WHO_WORDS.items()}


class Phase(StrEnum):
    """Where one female stands with one step at an instant."""

    DONE = "done"
    COMING = "coming"  # her window is not open yet
    DUE = "due"  # her window is open
    BEYOND = "beyond"  # her window has closed and nothing is recorded
    WAITS = "waits"  # the step her hours count from is beyond its window and not recorded
    NOT_HERS = "not_hers"  # the step is for others: in heat, not inseminated


@dataclass(frozen=True, slots=True)
class Act:
    """One thing done to one female (or to her whole group), as recorded.

    `do` is the step word; `at` is true time, UTC; `event` the id of the record.
    """

    do: str
    at: datetime
    event: str = ""
    by: str = ""
    step: str | None = None


@dataclass(frozen=True, slots=True)
class History:
    """What the rules on who a step is for need to know of a female, this season.

    `heats` are instants of heats seen, `inseminated` of inseminations, `open_at` of findings of
    not pregnant; in time order.
    """

    acts: tuple[Act, ...] = ()
    heats: tuple[datetime, ...] = ()
    inseminated: tuple[datetime, ...] = ()
    open_at: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class Held:
    """Why a female is held back from a step: `is_refused` where the act itself may do harm.

    `insert_in` says that an insert is in her, which must come out all the same.
    """

    why: str
    is_refused: bool
    insert_in: bool = False


@dataclass(frozen=True, slots=True)
class FemaleStep:
    """One step of one female at an instant.

    `at` is when her turn is now planned, `window` the earliest and latest time that keeps the
    step's promise for her. `until` is when a step that lasts (a watch) ends for her. `hours_off`
    says how far outside her window it was done: negative is early, positive late, 0 inside.
    """

    female: str
    step: str
    phase: Phase
    at: datetime
    window: tuple[datetime, datetime]
    done: Act | None = None
    hours_off: float = 0.0
    until: datetime | None = None
    is_late: bool = False  # due, and her planned time has passed
    why: str = ""
    held: Held | None = None


@dataclass(frozen=True, slots=True)
class GroupStep:
    """One step of a group: the females it is for, each with her own hours.

    `at`, `window` are those of the females still to do (of all where none is left): the first
    planned, the earliest opening and the first closing.
    """

    step: ScheduledStep
    females: tuple[FemaleStep, ...]
    at: datetime
    window: tuple[datetime, datetime]
    done_as_group: Act | None = None

    def of_phase(self, *phases: Phase) -> tuple[FemaleStep, ...]:
        """The females in one of these phases, first closing first."""
        found = [f for f in self.females if f.phase in phases]
        return tuple(sorted(found, key=lambda f: (f.window[1], f.at)))

    @property
    def until(self) -> datetime | None:
        """When a step that lasts ends for the last of those still in it; None where none lasts."""
        open_ = self.of_phase(Phase.COMING, Phase.DUE) or self.females
        return max((f.until for f in open_ if f.until is not None), default=self.step.until_utc)

    @property
    def is_group_act(self) -> bool:
        """Whether it is done to the group as a whole."""
        return Do(self.step.do) in GROUP_ACTS


@dataclass(frozen=True, slots=True)
class GroupProgress:
    """A group's schedule as it now stands."""

    group: str
    steps: tuple[GroupStep, ...]
    extra: tuple[tuple[str, Act], ...] = field(default=())  # acts that belong to no step


def link_acts(
    acts: Sequence[Act], steps: Sequence[ScheduledStep], *, near_h: float
) -> tuple[dict[str, Act], tuple[Act, ...]]:
    """Say which recorded act fulfils which step.

    An act that names a step counts for it; where two name the same step the first in time counts
    and the other is extra. Any other act counts for the nearest step of its kind that nothing
    named, if it lies within `near_h` of it. An insert that went in comes out but once: however
    early, that counts.

    Parameters
    ----------
    acts : sequence of Act
        Of one female, or of the group as a whole.
    steps : sequence of ScheduledStep
    near_h : float
        `practice.act_of_step_hours`. [h]

    Returns
    -------
    dict of step id to Act, and the acts that belong to no step
    """
    by_id = {step.id: step for step in steps}
    linked: dict[str, Act] = {}
    extra: list[Act] = []
    unnamed: list[Act] = []
    for act in sorted(acts, key=lambda a: a.at):
        named = by_id.get(act.step or "")
        if named is None or act.do not in {named.do, UNNAMED}:
            unnamed.append(act)
        elif named.id in linked:
            extra.append(act)
        else:
            linked[named.id] = act
    went_in = min((a.at for a in acts if a.do == Do.INSERT_IN), default=None)
    for act in unnamed:
        free = [s for s in steps if s.do == act.do and s.id not in linked]
        near = min(free, key=lambda s: abs(hours_between(s.at_utc, act.at)), default=None)
        is_out = act.do == Do.INSERT_OUT and went_in is not None and went_in < act.at
        if near is None or (abs(hours_between(near.at_utc, act.at)) > near_h and not is_out):
            extra.append(act)
        else:
            linked[near.id] = act
    return linked, tuple(sorted(extra, key=lambda a: a.at))


@dataclass(frozen=True, slots=True)
class _Frame:
    """A step's place in the plan: what it hangs on and by how much it may bend."""

    step: ScheduledStep
    anchor: ScheduledStep | None
    days: int  # from zero, of a step by day
    early_h: float
    late_h: float  # from the anchor (hard) or from the clock of zero on its day (soft)


def _frames(steps: Sequence[ScheduledStep], zone: ZoneInfo) -> tuple[_Frame, ...]:
    by_id = {step.id: step for step in steps}
    zero = min(steps, key=lambda s: s.at_utc)
    frames = []
    for step in steps:
        anchor = by_id.get(step.after_step or "")
        if anchor is not None:
            origin, days = anchor.at_utc, 0
        else:
            days, origin = _day_of(step, zero, zone)
        frames.append(
            _Frame(
                step,
                anchor,
                days,
                hours_between(origin, step.window_utc[0]),
                hours_between(origin, step.window_utc[1]),
            )
        )
    return tuple(frames)


def _day_of(step: ScheduledStep, zero: ScheduledStep, zone: ZoneInfo) -> tuple[int, datetime]:
    """The day a soft step stands on, and the clock of zero on that day (its window's middle)."""
    apart = (to_local(step.at_utc, zone).date() - to_local(zero.at_utc, zone).date()).days
    middle = step.window_utc[0] + (step.window_utc[1] - step.window_utc[0]) / 2
    offers = [(d, same_clock(zero.at_utc, d, zone).utc) for d in (apart - 1, apart, apart + 1)]
    return min(offers, key=lambda offer: abs(offer[1] - middle))


def _clamp(at: datetime, window: tuple[datetime, datetime]) -> datetime:
    return min(max(at, window[0]), window[1])


@dataclass(frozen=True, slots=True)
class _Hers:
    """A female's own hours: what was linked, and her turn in the plan of each step."""

    linked: Mapping[str, Act]
    turn: Mapping[str, datetime]
    in_line: dict[str, datetime] = field(default_factory=dict)  # turns of steps by elapsed hours

    def origin(self, anchor: ScheduledStep) -> datetime:
        """The hour her own hours count from: what was recorded, else her turn."""
        done = self.linked.get(anchor.id)
        return done.at if done else self.turn[anchor.id]


def _draw_up_line(frame: _Frame, everyone: Sequence[_Hers]) -> None:
    """Give each her turn at a step by elapsed hours, by when she is due, as fast as planned.

    She is due so long after what her hours count from as the first of the plan, or as her own turn
    in the plan where that is sooner. A line treated an hour late is an hour later here; one female
    treated late goes to the end of the line, which is no longer for it.
    """
    step, anchor = frame.step, frame.anchor
    if anchor is None or not everyone:
        return
    pace = (step.ends_utc - step.at_utc) / len(everyone)

    def due(hers: _Hers) -> datetime:
        origin = hers.origin(anchor)
        in_turn = hers.turn[step.id] + (origin - hers.turn[anchor.id])
        return min(origin + (step.at_utc - anchor.at_utc), in_turn)

    free: datetime | None = None
    for hers in sorted(everyone, key=lambda one: (due(one), one.turn[step.id])):
        at = due(hers) if free is None else max(due(hers), free)
        hers.in_line[step.id] = at
        free = at + pace


def _place(
    frame: _Frame, hers: _Hers, zero: ScheduledStep, zone: ZoneInfo
) -> tuple[datetime, tuple[datetime, datetime]]:
    """When her turn of a step now is, and her window."""
    planned = hers.turn[frame.step.id]
    if frame.anchor is not None:
        origin = hers.origin(frame.anchor)
        window = (add_hours(origin, frame.early_h), add_hours(origin, frame.late_h))
        return _clamp(hers.in_line[frame.step.id], window), window
    done = hers.linked.get(zero.id)
    origin = hers.origin(zero)
    if frame.step.visit == zero.visit and frame.days == 0:
        # of the first treatment her place in the line is the middle; of what else is done at that
        # visit, the hour she got the first treatment
        other = done is not None and frame.step.id != zero.id
        middle = origin if other else planned
        return middle, (add_hours(middle, frame.early_h), add_hours(middle, frame.late_h))
    centre = same_clock(origin, frame.days, zone).utc
    window = (add_hours(centre, frame.early_h), add_hours(centre, frame.late_h))
    later = (to_local(origin, zone).date() - to_local(hers.turn[zero.id], zone).date()).days
    moved = same_clock(planned, later, zone).utc if later else planned
    return _clamp(moved, window), window


def hours_outside(window: tuple[datetime, datetime], at: datetime) -> float:
    """How far an instant lies outside a window [h]: negative early, positive late, 0 inside.

    Hours are written down to the minute: less than one is inside.
    """
    off = min(0.0, hours_between(window[0], at)) or max(0.0, hours_between(window[1], at))
    return off if abs(off) >= MINUTE_H else 0.0


def _is_hers(step: ScheduledStep, past: History, since: datetime, at: datetime) -> str:
    """Why a step is not for her; empty where it is."""
    who = _WHO.get(step.who, Who.ALL)
    served = any(since <= moment <= at for moment in past.inseminated)
    in_heat = any(since <= moment <= at for moment in past.heats)
    if who is Who.IN_HEAT and not in_heat:
        return "not seen in heat"
    if who is Who.NOT_IN_HEAT and in_heat:
        return "seen in heat"
    if who is Who.NOT_PREGNANT and not any(moment <= at for moment in past.open_at):
        return "not found open"
    by_clock = who is Who.NOT_INSEMINATED or Do(step.do) in {Do.AI, Do.PGF}
    if served and by_clock:
        return SERVED
    return ""


def follow_group(
    group: str,
    steps: Sequence[ScheduledStep],
    females: Mapping[str, History],
    *,
    at: datetime,
    zone: ZoneInfo,
    near_h: float,
    as_group: Sequence[Act] = (),
) -> GroupProgress:
    """Lay a group's schedule over what was recorded, female by female.

    Parameters
    ----------
    group : str
    steps : sequence of ScheduledStep
        Of the group, as planned; cancelled ones are left out.
    females : mapping of female to History
        The females treated, in treatment order: her place in it gives her planned minute.
    at : datetime
        The instant it is looked at; later acts are not seen.
    zone : ZoneInfo
    near_h : float
        Within so many hours an act that names no step counts for one.
    as_group : sequence of Act
        What was recorded of the group as a whole.

    Returns
    -------
    GroupProgress
        Steps in the order of the plan.
    """
    live = [step for step in steps if not step.cancelled]
    if not live:
        return GroupProgress(group, ())
    frames = _frames(live, zone)
    zero = min(live, key=lambda s: s.at_utc)
    turns = {step.id: slots(step.at_utc, step.ends_utc, len(females)) for step in live}
    # a watch goes on until its end, however often it was recorded
    since = min(f.step.window_utc[0] for f in frames) - timedelta(hours=near_h)
    told = [a for a in as_group if since <= a.at <= at and a.do != Do.WATCH.value]
    whole, extra_whole = link_acts(told, live, near_h=near_h)
    extra: list[tuple[str, Act]] = [("", act) for act in extra_whole]
    lines: dict[str, list[FemaleStep]] = {step.id: [] for step in live}
    everyone: list[_Hers] = []
    for place, (female, past) in enumerate(females.items()):
        seen = [a for a in past.acts if since <= a.at <= at]
        linked, more = link_acts(seen, live, near_h=near_h)
        extra += [(female, act) for act in more]
        everyone.append(_Hers({**whole, **linked}, {s.id: turns[s.id][place] for s in live}))
    for frame in frames:
        _draw_up_line(frame, everyone)
    for hers, (female, past) in zip(everyone, females.items(), strict=True):
        phases: dict[str, Phase] = {}
        served: set[str] = set()  # visits that are not hers: she is inseminated already
        for frame in frames:
            line = _line(
                frame, hers, past, phases, female=female, at=at, zero=zero, zone=zone, since=since
            )
            if line.why == SERVED:
                served.add(frame.step.visit)
            elif frame.step.visit in served and line.done is None:
                line = replace(line, phase=Phase.NOT_HERS, why=SERVED)
            phases[frame.step.id] = line.phase
            lines[frame.step.id].append(line)
    return GroupProgress(
        group,
        tuple(group_step(step, lines[step.id], whole.get(step.id)) for step in live),
        tuple(extra),
    )


def _line(
    frame: _Frame,
    hers: _Hers,
    past: History,
    phases: Mapping[str, Phase],
    *,
    female: str,
    at: datetime,
    zero: ScheduledStep,
    zone: ZoneInfo,
    since: datetime,
) -> FemaleStep:
    step = frame.step
    turn, window = _place(frame, hers, zero, zone)
    done = hers.linked.get(step.id)
    if done is not None:
        off = hours_outside(window, done.at)
        return FemaleStep(female, step.id, Phase.DONE, turn, window, done, off)
    why = _is_hers(step, past, since, at)
    if why:
        return FemaleStep(female, step.id, Phase.NOT_HERS, turn, window, why=why)
    stuck = frame.anchor is not None and phases.get(frame.anchor.id) in {Phase.BEYOND, Phase.WAITS}
    if stuck and frame.anchor is not None:
        why = f"no {frame.anchor.words} recorded, her hours count from it"
        return FemaleStep(female, step.id, Phase.WAITS, turn, window, why=why)
    until = None
    if step.until_utc is not None:  # it moves with her own hours, as her window does
        until = step.until_utc + (window[0] - step.window_utc[0])
    if at < window[0]:
        return FemaleStep(female, step.id, Phase.COMING, turn, window, until=until)
    if at <= (until or window[1]):
        return FemaleStep(female, step.id, Phase.DUE, turn, window, until=until, is_late=at > turn)
    return FemaleStep(female, step.id, Phase.BEYOND, turn, window, until=until)


def group_step(
    step: ScheduledStep, lines: Sequence[FemaleStep], done_as_group: Act | None
) -> GroupStep:
    """Draw a group's step together from its females' own."""
    open_ = [f for f in lines if f.phase in {Phase.COMING, Phase.DUE}] or [
        f for f in lines if f.phase is not Phase.NOT_HERS
    ]
    at = min((f.at for f in open_), default=step.at_utc)
    window = (
        min((f.window[0] for f in open_), default=step.window_utc[0]),
        min((f.window[1] for f in open_), default=step.window_utc[1]),
    )
    return GroupStep(step, tuple(lines), at, window, done_as_group)

"""Use-cases of recording: what was done to whom, kept whole and flagged, never refused."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from sunup.app.held import find_held_at
from sunup.app.lot_expiry import lot_expiry
from sunup.app.sire_of import UNKNOWN_SIRE, only_sire, semen_of, sires_at_step, sires_on_heat
from sunup.app.step_meant import fixed_step_meant, heat_over_by, heats_over_by
from sunup.app.tag_list import is_electronic
from sunup.app.visit_steps import UnknownStepError, find_steps, said_of
from sunup.base.problems import UsageError
from sunup.planning.held_back import by_female, find_held, why_unknown
from sunup.planning.insemination_list import straws
from sunup.planning.progress import ON_HEAT, UNNAMED, FemaleStep, Phase
from sunup.planning.readiness import ReadinessFigures
from sunup.planning.season_now import follow, members
from sunup.planning.warning_rules import find_flags
from sunup.planning.warnings import Her, Intent, WarningFigures
from sunup.protocols.protocol import INJECTIONS, Do
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import date, datetime

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import GroupPlan, ScheduledStep
    from sunup.planning.progress import Held
    from sunup.planning.season_now import SeasonNow
    from sunup.planning.warnings import Flag

_INJECTED = frozenset(do.value for do in INJECTIONS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Details:
    """What may be said once for a whole batch; absent where nothing was said.

    Lots, expiries and withdrawals are by step word (gnrh, insert_in); under "" stands what was said
    of the visit's only drug, or of all. A withdrawal is asked, never assumed: absent means nobody
    wrote it down.
    """

    active: str | None = None
    dose_ml: float | None = None
    dose_share: float | None = None
    lots: Mapping[str, str] = field(default_factory=dict)
    expires: Mapping[str, date] = field(default_factory=dict)
    withdrawals: Mapping[str, float] = field(default_factory=dict)
    site: str | None = None
    note: str | None = None
    lost: frozenset[str] = frozenset()  # tags whose insert was not found
    sire: str | None = None
    batch: str | None = None
    semen: str | None = None
    technician: str | None = None
    tank: str | None = None
    canister: str | None = None
    timed: bool = False
    in_heat: bool | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One female of a batch: what was kept of her, and what speaks against it."""

    tag: str
    female: str
    at: datetime
    events: tuple[Event, ...]
    flags: tuple[tuple[str, Flag], ...]  # (step in words, flag)
    unlisted: bool = False
    on_file: tuple[str, ...] = ()  # steps of the visit that were recorded before, in words


@dataclass(frozen=True, slots=True)
class Entry:
    """What one entry kept."""

    group: str
    words: tuple[str, ...]
    lines: tuple[Line, ...]
    events: tuple[Event, ...]
    repeated: tuple[str, ...] = ()
    left_to_do: tuple[str, ...] = field(default=())  # tags the visit is still due to
    left_for_heat: tuple[str, ...] = ()  # tags left out: their heat is over by the fixed time
    held_back: tuple[tuple[str, Held], ...] = ()  # tags left out: refused them, or on hold
    sires_taken: tuple[tuple[str, tuple[str, ...]], ...] = ()  # nobody named one: sire, tags


def her_now(female: FemaleNow, season: SeasonNow, *, at: datetime) -> Her:
    """A female as the rules want her, at an instant."""
    ended, days = female.last_progestin
    day = at.astimezone(season.zone).date()
    return Her(
        facts=female.facts,
        group=female.group,
        is_here=female.is_here,
        acts=(
            *((Do.AI.value if a.do == ON_HEAT else a.do, a.at) for a in female.acts),
            *female.befell,
        ),
        insert_since=female.inserted,
        progestin_ended=ended,
        progestin_days=days,
        hold=female.hold_on(day),
        withdrawals=female.withdrawals(season.zone),
        assigned=female.assigned,
        served_at=female.services[-1].at if female.services else None,
        with_bulls=female.with_bulls,
        unknown=why_unknown(female, season),
    )


def spread_times(at: datetime, until: datetime | None, n: int) -> tuple[datetime, ...]:
    """When each of a list was done, in the order given: evenly from `at` to `until`.

    Raises
    ------
    UsageError
        If `until` lies before `at`.
    """
    if until is None or n < 2:
        return (at,) * n
    if until < at:
        message = "--until lies before --at: the first of the list is done first."
        raise UsageError(message)
    pace = (until - at) / (n - 1)
    return tuple(at + pace * i for i in range(n))


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch as it is looked up once: who wears which tag, where each female's steps stand."""

    desk: Desk
    group: GroupPlan | None
    steps: Mapping[tuple[str, str], FemaleStep]
    figures: WarningFigures
    straws: Mapping[str, float] | None
    by_tag: Mapping[str, Sequence[FemaleNow]]
    held: Mapping[tuple[str, str], Held]  # by female and step
    sires: Mapping[str, str] = field(default_factory=dict)  # by female, where nobody named one

    def sire_of(self, female: FemaleNow | None, group: GroupPlan | None) -> str:
        """The sire Today names for her; of a female not on file the group's only one."""
        return only_sire(group) if female is None else self.sires.get(female.id, UNKNOWN_SIRE)


def look_up(desk: Desk, group: str | None, *, at: datetime) -> Batch:
    """Look up once for a batch: who wears which tag, where each female's steps stand."""
    now = max(at, desk.season.at)
    desk = desk if now == desk.season.at else desk.looking_at(now)
    plan = desk.season.group(group) if group else None
    groups = desk.season.in_force.plan.groups if desk.season.in_force else ()
    progress = [follow(desk.season, one) for one in groups]
    steps = {
        (her.female, line.step.id): her
        for told in progress
        for line in told.steps
        for her in line.females
    }
    held = straws(desk.season)
    left: dict[str, float] = {}
    for count in held.counts:
        left[count.place.sire] = left.get(count.place.sire, 0.0) + count.left
    return Batch(
        desk=desk,
        group=plan,
        steps=steps,
        figures=WarningFigures.of(desk.library),
        straws=left if held.counts else None,
        by_tag=desk.season.by_tag(),
        held=find_held(desk.season, progress, ReadinessFigures(desk.library), at=at),
    )


def who_wears(batch: Batch, tag: str, group: str | None) -> FemaleNow | None:
    """Who wears a tag: of several the one in the group; None where nobody, or it is not sure."""
    found = batch.by_tag.get(tag, ())
    here = [f for f in found if f.is_here] or list(found)
    if len(here) > 1 and group:
        here = [f for f in here if f.group == group] or here
    return here[0] if len(here) == 1 else None


def unlisted_events(
    desk: Desk, tag: str, group: str | None, at: datetime
) -> tuple[str, list[Event]]:
    """A tag nobody has on file becomes a female of her own, to be identified later."""
    her = desk.writer.make_id()
    body: dict[str, Any] = {"tag": tag, "listed": False}
    if is_electronic(tag):
        body["rfid"] = tag
    events = [desk.writer.write(Kind.FEMALE_ADDED, body, at=at, female=her)]
    if group:
        events.append(desk.writer.write(Kind.MOVED, {"to": group}, at=at, female=her))
    return her, events


def record_visit(
    desk: Desk,
    group_name: str,
    visit: str,
    tags: Sequence[str],
    *,
    at: datetime,
    until: datetime | None = None,
    details: Details | None = None,
    due_only: bool = False,
    keep: bool = True,
) -> Entry:
    """Record that females passed through a visit of their group's plan.

    Everything done at the visit is kept for each: PGF and insert out, insemination and GnRH. What
    speaks against it is flagged; nothing is refused.

    Parameters
    ----------
    desk : Desk
    group_name : str
    visit : str
        Id of a visit or of one step, e.g. "pgf".
    tags : sequence of str
        In the order they passed.
    at, until : datetime
        When the first was done, and the last: the others are spread between them.
    details : Details, optional
    due_only : bool
        Only what is still due to each: a step of the visit on file already is not recorded again.
        An insert that is out already never is, where something else of the visit is to do.
    keep : bool
        False only looks: what would be flagged, before the act.

    Returns
    -------
    Entry

    Raises
    ------
    NoSeasonError, UnknownGroupNameError, UnknownStepError
    """
    desk.need_plan()
    name = desk.need_group(group_name)
    desk = replace(desk, writer=desk.writer.batch())
    batch = look_up(desk, name, at=until or at)
    if batch.group is None:
        raise UnknownStepError(name, visit, [])
    steps = find_steps(batch.group, visit)
    details = details or Details()
    ids = {step.id for step in steps}
    over = heats_over_by(batch.desk, ids)
    held = by_female((her, why) for (her, step), why in batch.held.items() if step in ids)
    if details.sire is None and any(step.do == Do.AI for step in steps):
        worn = [her for tag in tags if (her := who_wears(batch, tag, name)) is not None]
        out = over | held.keys()
        given = sires_at_step(batch.desk, steps, batch.steps, out, worn)
        batch = replace(batch, sires=given)
    lines: list[Line] = []
    for tag, when in zip(tags, spread_times(at, until, len(tags)), strict=True):
        female = who_wears(batch, tag, name)
        done = _done_before(batch, female, steps, due_only=due_only)
        todo = [step for step in steps if step not in done]
        line = _record_one(batch, tag, name, todo, at=when, details=details)
        lines.append(replace(line, on_file=tuple(step.words for step in done)))
        _promise_straw(batch, lines[-1])
    events = tuple(event for line in lines for event in line.events)
    if keep:
        desk.append(events)
    passed = {line.female for line in lines}
    over -= passed
    females = batch.desk.season.females
    held = {h: why for h, why in held.items() if h not in passed and females[h].group == name}
    return Entry(
        group=name,
        words=tuple(step.words for step in steps),
        lines=tuple(lines),
        events=events if keep else (),
        left_to_do=_left(batch, steps, passed | over | held.keys()),
        left_for_heat=tuple(sorted(females[one].tag for one in over if females[one].group == name)),
        held_back=tuple((females[her].tag, why) for her, why in held.items()),
        sires_taken=_sires_taken(lines, details),
    )


def _done_before(
    batch: Batch, female: FemaleNow | None, steps: Sequence[ScheduledStep], *, due_only: bool
) -> tuple[ScheduledStep, ...]:
    """Steps of a visit that are on file of her, where others are still to do."""
    lines = {} if female is None else {s.id: batch.steps.get((female.id, s.id)) for s in steps}
    done = [s for s in steps if (told := lines.get(s.id)) and told.phase is Phase.DONE]
    if female is None or len(done) == len(steps):
        return ()
    is_out = female.inserted is None
    return tuple(s for s in done if due_only or (s.do == Do.INSERT_OUT and is_out))


def _sires_taken(
    lines: Sequence[Line], details: Details
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Which sires were put down, and for whom, where nobody named one; not known ones last."""
    found: dict[str, list[str]] = {}
    for line in lines if details.sire is None else ():
        for event in line.events:
            if event.kind is Kind.INSEMINATED:
                found.setdefault(str(event.body["sire"]), []).append(line.tag)
    ordered = sorted(found, key=lambda sire: (sire == UNKNOWN_SIRE, sire))
    return tuple((sire, tuple(found[sire])) for sire in ordered)


def _promise_straw(batch: Batch, line: Line) -> None:
    """Count a straw used inside the batch, so that the last of a tank is not used twice."""
    if not isinstance(batch.straws, dict):
        return
    for event in line.events:
        sire = event.body.get("sire")
        if event.kind is Kind.INSEMINATED and sire in batch.straws:
            batch.straws[sire] -= 1


def _left(batch: Batch, steps: Sequence[ScheduledStep], done: set[str]) -> tuple[str, ...]:
    ids = {step.id for step in steps}
    waiting = {
        female
        for (female, step), line in batch.steps.items()
        if step in ids and line.phase is Phase.DUE and female not in done
    }
    group = batch.group.name if batch.group else ""
    females = batch.desk.season.females
    return tuple(sorted(females[f].tag for f in waiting if females[f].group == group))


def _record_one(
    batch: Batch,
    tag: str,
    group: str,
    steps: Sequence[ScheduledStep],
    *,
    at: datetime,
    details: Details,
) -> Line:
    desk = batch.desk
    female = who_wears(batch, tag, group)
    events: list[Event] = []
    flags: list[tuple[str, Flag]] = []
    if female is None:
        her_id, events = unlisted_events(desk, tag, group, at)
    else:
        her_id = female.id
    for step in steps:
        sire = None
        if step.do == Do.AI:
            sire = details.sire or batch.sire_of(female, batch.group)
        pen = partial(desk.writer.write, at=at, female=her_id)
        made = _event(pen, step, tag, details=details, sire=sire, group=batch.group)
        events.append(made)
        if female is None:
            continue
        found = find_flags(
            her_now(female, desk.season, at=at),
            Intent(
                do=step.do,
                at=at,
                zone=desk.season.zone,
                group=group,
                step=batch.steps.get((her_id, step.id)) if female.group == group else None,
                sire=sire if sire != UNKNOWN_SIRE else None,
                straws=_straws_of(batch, sire),
                timed=step.do == Do.AI,
                expires_on=said_of(details.expires, step.do),
                lot_expires_on=lot_expiry(desk.season.changes, made),
                ml=made.body.get("dose_ml"),
                found=tag not in details.lost,
                share=details.dose_share if step.do in _INJECTED else None,
                heat_over=heat_over_by(batch, female, step.id, at),
                held=batch.held.get((her_id, step.id)) if female.group == group else None,
                off_list=None
                if (her_id, step.id) in batch.steps
                else _why_off_list(batch, female, group),
            ),
            batch.figures,
        )
        flags += [(step.words, flag) for flag in found]
    return Line(tag, her_id, at, tuple(events), _once(flags), unlisted=female is None)


def _why_off_list(batch: Batch, female: FemaleNow, group: str) -> str | None:
    """Why the plan does not count on a female of its group; None where she is of another."""
    in_force = batch.desk.season.in_force
    if in_force is None or female.group != group:
        return None
    worn = {female.tag, *female.tags}
    line = next((f for f in in_force.plan.females if f.tag in worn), None)
    if line is None:
        return "the plan does not name her"
    reasons = "; ".join(reason.text for reason in line.reasons[:2])
    if line.ready_on is not None:
        day = f"{line.ready_on:%a} {line.ready_on.day} {line.ready_on:%b}"
        return f"ready on {day}" + (f" ({reasons})" if reasons else "")
    return reasons or "the plan holds her back"


def _once(flags: Sequence[tuple[str, Flag]]) -> tuple[tuple[str, Flag], ...]:
    """A flag that speaks of every step of a visit is told once."""
    seen: dict[tuple[str, str], tuple[str, Flag]] = {}
    for words, flag in flags:
        seen.setdefault((flag.rule, flag.text), (words, flag))
    return tuple(seen.values())


def _straws_of(batch: Batch, sire: str | None) -> float | None:
    if batch.straws is None or sire is None or sire == UNKNOWN_SIRE:
        return None
    return batch.straws.get(sire, 0.0)


def _event(
    pen: Callable[..., Event],
    step: ScheduledStep,
    tag: str,
    *,
    details: Details,
    sire: str | None,
    group: GroupPlan | None,
) -> Event:
    """The event of one step of one female; `pen` knows who and when."""
    do = step.do
    common: dict[str, Any] = {"step": step.id, "note": details.note}
    if do == Do.INSERT_OUT:
        body = {"found": tag not in details.lost, **common}
        return pen(Kind.INSERT_REMOVED, body)
    if do == Do.AI:
        body = ai_body(details, sire or UNKNOWN_SIRE, semen=semen_of(group, sire), timed=True)
        return pen(Kind.INSEMINATED, {**body, **common})
    if do == Do.INSERT_IN:
        body = {**_bottle(details, do), **common}
        return pen(Kind.INSERT_PLACED, body)
    if do in _INJECTED:
        active = details.active or (step.dose.active.partition("/")[0] if step.dose else None)
        ml = details.dose_ml
        if ml is None and step.dose is not None:
            ml = step.dose.ml_each
        if ml is not None and details.dose_share is not None and details.dose_ml is None:
            ml *= details.dose_share
        body = {
            "act": do,
            "active": active,
            "dose_ml": ml,
            "dose_share": details.dose_share,
            "site": details.site,
            **_bottle(details, do),
            **common,
        }
        return pen(Kind.TREATED, body)
    body = {"act": UNNAMED, **common}
    return pen(Kind.TREATED, body)


def _bottle(details: Details, do: str) -> dict[str, Any]:
    expires = said_of(details.expires, do)
    return {
        "lot": said_of(details.lots, do),
        "expires_on": expires.isoformat() if expires is not None else None,
        "withdrawal_days": said_of(details.withdrawals, do),
    }


def ai_body(details: Details, sire: str, *, semen: str | None, timed: bool) -> dict[str, Any]:
    """The body of an insemination, from what was said once for the batch."""
    return {
        "sire": sire,
        "batch": details.batch,
        "semen": details.semen or semen,
        "technician": details.technician,
        "tank": details.tank,
        "canister": details.canister,
        "timed": timed,
        "in_heat": details.in_heat,
    }


def record_ai(
    desk: Desk,
    tags: Sequence[str],
    *,
    at: datetime,
    until: datetime | None = None,
    details: Details | None = None,
    keep: bool = True,
) -> Entry:
    """Record inseminations on heat, of females of any group."""
    details = details or Details()
    desk = replace(desk, writer=desk.writer.batch())
    batch = look_up(desk, None, at=until or at)
    if details.sire is None:
        worn = [her for tag in tags if (her := who_wears(batch, tag, None)) is not None]
        batch = replace(batch, sires=sires_on_heat(batch.desk.as_of(until or at), worn))
    lines = []
    for tag, when in zip(tags, spread_times(at, until, len(tags)), strict=True):
        female = who_wears(batch, tag, None)
        events: list[Event] = []
        her_id = female.id if female is not None else ""
        if female is None:
            her_id, events = unlisted_events(desk, tag, None, when)
        group = desk.season.group(female.group) if female is not None else None
        sire = details.sire or batch.sire_of(female, group)
        semen = semen_of(group, sire)
        body = ai_body(
            replace(details, in_heat=True if details.in_heat is None else details.in_heat),
            sire,
            semen=semen,
            timed=details.timed,
        )
        events.append(desk.writer.write(Kind.INSEMINATED, body, at=when, female=her_id))
        flags: tuple[tuple[str, Flag], ...] = ()
        if female is not None:
            meant = fixed_step_meant(batch, female, when, timed=details.timed)
            named = meant.step if meant is not None and details.timed else None
            intent = Intent(
                do=Do.AI.value,
                at=when,
                zone=desk.season.zone,
                sire=sire if sire != UNKNOWN_SIRE else None,
                straws=_straws_of(batch, sire),
                timed=details.timed,
                step=meant,
                heat_over=heat_over_by(batch, female, named, when),
            )
            found = find_flags(her_now(female, desk.season, at=when), intent, batch.figures)
            flags = tuple(("inseminated", flag) for flag in found)
        lines.append(Line(tag, her_id, when, tuple(events), flags, unlisted=female is None))
        _promise_straw(batch, lines[-1])
    events_all = tuple(event for line in lines for event in line.events)
    if keep:
        desk.append(events_all)
    return Entry(
        "",
        ("inseminated",),
        tuple(lines),
        events_all if keep else (),
        sires_taken=_sires_taken(lines, details),
    )


def due_tags(
    desk: Desk, group_name: str, visit: str, *, at: datetime, until: datetime | None = None
) -> tuple[str, ...]:
    """Tags a visit was due to between two instants and that are not recorded, in treatment order.

    Those whose heat is over by the fixed time, and those held back, are left out, as Today leaves
    them out.

    Raises
    ------
    NoSeasonError, UnknownGroupNameError, UnknownStepError
    """
    name = desk.need_group(group_name)
    desk.need_plan()
    group = desk.season.group(name)
    if group is None:
        raise UnknownStepError(name, visit, [])
    ids = {step.id for step in find_steps(group, visit)}
    ends = until or at
    out = heats_over_by(desk, ids) | find_held_at(desk, group, ids, at=ends).keys()
    open_ = {Phase.DUE, Phase.COMING, Phase.BEYOND}
    due = dict.fromkeys(
        her.female
        for line in follow(desk.season, group).steps
        if line.step.id in ids
        for her in line.females
        if her.phase in open_
        and her.window[0] <= ends
        and her.window[1] >= at
        and her.female not in out
    )
    place = {f.id: i for i, f in enumerate(members(desk.season, group))}
    ordered = sorted(due, key=lambda f: place.get(f, len(place)))
    return tuple(desk.season.females[f].tag for f in ordered)

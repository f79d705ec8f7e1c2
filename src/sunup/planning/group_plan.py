"""Planning one group: a protocol, clock times, the schedule, what it costs."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.figures import Figure, Kind
from sunup.base.hours import same_clock, to_local
from sunup.base.problems import Problem, Severity, UsageError
from sunup.planning.alternative import find_bulls_alone
from sunup.planning.capacity import describe_capacity, durations, find_paced_times
from sunup.planning.clashes import find_capacity_clashes, find_day_clashes, find_event_clashes
from sunup.planning.clock_times import Wish
from sunup.planning.cost import cost_lines, total
from sunup.planning.dosing import choose_drug
from sunup.planning.fit import (
    choose_drugs,
    find_default,
    find_fits,
    find_group_refusal,
    find_mismatch,
    lead_days,
)
from sunup.planning.groups import describe_group, treatment_order
from sunup.planning.options import apply_options
from sunup.planning.plan import GroupPlan
from sunup.planning.readiness import Dates, assess, count_reasons, count_states, view_later
from sunup.planning.schedule import Binding, bind_schedule, straws_per_female
from sunup.planning.supplies import GroupNeed, sire_use
from sunup.planning.visits import FirstService, find_first_service, find_visits
from sunup.protocols.protocol import INJECTIONS, Do, Protocol
from sunup.protocols.rules import RuleLimits, check_protocol
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.planning.clock_times import Clock
    from sunup.planning.dosing import Chosen
    from sunup.planning.fit import GroupContext
    from sunup.planning.plan import Capacity, Clash, FemaleLine, Fit, Rejected, ScheduledStep
    from sunup.planning.readiness import ReadinessFigures
    from sunup.planning.request import Request
    from sunup.planning.visits import Visit
    from sunup.records.female import Female

_START = ", start "


class UnknownProtocolError(UsageError):
    """A protocol was asked for that the library does not hold."""

    def __init__(self, key: str, known: Sequence[str]) -> None:
        near = difflib.get_close_matches(key, known, n=3)
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        super().__init__(f"No protocol '{key}'.{hint} See: sunup protocol list --all.")


@dataclass(frozen=True, slots=True)
class Setting:
    """What every group's planning needs."""

    request: Request
    library: Library
    pack: RegionPack
    figures: ReadinessFigures
    holidays: Mapping[date, str]
    new_uid: Callable[[], str]
    clock: Clock


@dataclass(frozen=True, slots=True)
class GroupResult:
    """One group's plan and what the season's lists are counted from."""

    plan: GroupPlan
    lines: tuple[FemaleLine, ...]
    clashes: tuple[Clash, ...]
    problems: tuple[Problem, ...]
    need: GroupNeed | None
    drugs: Mapping[str, Chosen]
    first_ai_on: date


@dataclass(frozen=True, slots=True)
class _Days:
    """Day of the first treatment and of the first insemination."""

    treatment_on: date
    ai_on: date


@dataclass(frozen=True, slots=True)
class _Laid:
    """A schedule and what it rests on."""

    steps: tuple[ScheduledStep, ...]
    capacity: tuple[Capacity, ...]
    days: _Days
    drugs: Mapping[str, Chosen]
    problems: tuple[Problem, ...]


def base_name(group: str) -> str:
    """The herd file's group of a start that was split off."""
    return group.partition(_START)[0]


def start_name(group: str, number: int) -> str:
    """The name of one of several starts of a group."""
    return f"{group}{_START}{number}"


def days_later(group: str) -> int:
    """Days by which a split-off start follows the first."""
    _, found, number = group.partition(_START)
    return int(number) - 1 if found else 0


def plan_group(
    name: str,
    members: Sequence[Female],
    *,
    setting: Setting,
    busy: tuple[tuple[int, int], ...] = (),
    previous_order: Sequence[str] = (),
) -> GroupResult:
    """Plan one group.

    Parameters
    ----------
    name : str
    members : sequence of Female
    setting : Setting
    busy : tuple of (start, end)
        Minutes the chute is taken by groups planned before this one.
    previous_order : sequence of str
        Treatment order of a former plan, kept where it can be.

    Returns
    -------
    GroupResult

    Raises
    ------
    UsageError
        If the protocol, an option or a drug asked for does not exist.
    """
    wanted = _wanted_days(name, setting.request, lead=None)
    lines = _assess_all(members, wanted, None, setting)
    context = describe_group(base_name(name), members, lines, library=setting.library)
    fits, rejected = find_fits(
        context,
        request=setting.request,
        library=setting.library,
        pack=setting.pack,
        ai_on=None if setting.request.first_ai_on is None else wanted.ai_on,
        not_cycling=[x for x in lines if x.is_treated and x.needs_progestin],
    )
    plain, by, problems = _choose(context, fits, wanted.ai_on, setting)
    options = setting.request.options.get(base_name(name), ())
    protocol = None
    laid = None
    if plain is not None:
        protocol = _without_barred(
            apply_options(plain, options, library=setting.library, classes=context.classes),
            setting.pack,
        )
        problems += _rule_problems(name, protocol, setting.library)
        days = _wanted_days(name, setting.request, lead=lead_days(protocol, setting.library))
        lines = _assess_all(members, days, protocol, setting)
        laid = _lay_out(name, protocol, lines, days, setting=setting, busy=busy)
        if laid is not None:
            again = _assess_all(members, laid.days, protocol, setting)
            if sum(x.is_treated for x in again) != sum(x.is_treated for x in lines):
                laid = _lay_out(name, protocol, again, laid.days, setting=setting, busy=busy)
            lines, wanted = again, (laid.days if laid else days)
        else:
            wanted = days
            problems += (_no_times(name, protocol, days),)
    return _collect(
        name,
        lines,
        fits=fits,
        rejected=rejected,
        protocol=protocol,
        by=by,
        laid=laid,
        problems=problems,
        days=wanted,
        setting=setting,
        order=treatment_order(lines, previous_order),
    )


def _wanted_days(name: str, request: Request, *, lead: int | None) -> _Days:
    """The days asked for, the other end counted by the protocol's lead (0 until one is chosen)."""
    gap = timedelta(days=lead or 0)
    shift = timedelta(days=days_later(name))
    if request.first_ai_on is not None:
        return _Days(request.first_ai_on + shift - gap, request.first_ai_on + shift)
    start = (request.first_treatment_on or request.today) + shift
    return _Days(start, start + gap)


def _assess_all(
    members: Sequence[Female], days: _Days, protocol: Protocol | None, setting: Setting
) -> list[FemaleLine]:
    insert_on = None
    minimum = None
    if protocol is not None:
        hours = nominal_hours(protocol)
        placed = [hours[step.id] for step in protocol.steps if step.do is Do.INSERT_IN]
        if placed:
            insert_on = days.treatment_on + timedelta(days=int(min(placed) // 24))
            minimum = find_insert_minimum(setting)
    dates = Dates(days.treatment_on, days.ai_on, insert_on, minimum)
    return [assess(f, dates, setting.figures) for f in members]


def find_insert_minimum(setting: Setting) -> Figure | None:
    """Fewest days after calving for an insert by the label text held, as a figure; None if none."""
    used = choose_drug(
        Do.INSERT_IN.value, library=setting.library, pack=setting.pack, asked=setting.request.drugs
    )
    found = [
        held
        for held in setting.pack.held
        if held.does == Do.INSERT_IN.value
        and held.min_days_postpartum is not None
        and (used is None or held.active in {None, used.active.key})
        and (used is None or not held.strengths or used.strength.key in held.strengths)
    ]
    if not found:
        return None
    held = max(found, key=lambda h: h.min_days_postpartum or 0.0)
    return Figure(
        key=f"regions.{setting.pack.key}.{held.key}",
        value=held.min_days_postpartum or 0.0,
        unit="d",
        kind=Kind.PUBLISHED,
        seen=held.seen,
        source=held.source,
        applies=held.text,
    )


def _choose(
    context: GroupContext, fits: Sequence[Fit], ai_on: date, setting: Setting
) -> tuple[Protocol | None, str, tuple[Problem, ...]]:
    """Take the protocol asked for unless the plan refuses it; else the first that fits."""
    request, library = setting.request, setting.library
    asked = request.protocols.get(context.name)
    if asked is None:
        default = find_default(fits)
        if default is not None:
            return library.protocols[default.protocol], "default", ()
        problem = Problem(
            context.name,
            "No recommended protocol fits this group.",
            "See why beside each; change the day, the limits or the group.",
            Severity.WARNING,
        )
        return None, "none", (problem,)
    protocol = library.protocols.get(asked)
    if protocol is None:
        raise UnknownProtocolError(asked, list(library.protocols))
    refusal = find_group_refusal(
        protocol, context, request=request, library=library, pack=setting.pack
    )
    if refusal is not None:
        problem = Problem(
            context.name, f"{protocol.name} is refused: {refusal}.", "Choose another protocol."
        )
        return None, "asked", (problem,)
    reason = find_mismatch(protocol, context, request=request, library=library, ai_on=ai_on)
    if reason is None:
        return protocol, "asked", ()
    problem = Problem(
        context.name,
        f"{protocol.name} was asked for and is laid out, but does not fit: {reason}.",
        "Look at the protocols that fit.",
        Severity.WARNING,
    )
    return protocol, "asked", (problem,)


def _without_barred(protocol: Protocol, pack: RegionPack) -> Protocol:
    """Leave out steps that may be left out and whose active the region bars."""
    barred = {b.active for b in pack.barred}
    steps = tuple(
        s
        for s in protocol.steps
        if not (s.optional and (s.do.value in barred or s.active in barred))
    )
    return protocol if steps == protocol.steps else replace(protocol, steps=steps)


def _service(protocol: Protocol, library: Library) -> FirstService:
    found = find_first_service(
        protocol,
        first_heat_after_pgf_h=library.number("practice.first_heat_after_pgf_h"),
        morning_evening_h=library.number("practice.morning_evening_h"),
    )
    return found or FirstService(0, 0.0, 0.0)


def _lay_out(
    name: str,
    protocol: Protocol,
    lines: Sequence[FemaleLine],
    days: _Days,
    *,
    setting: Setting,
    busy: tuple[tuple[int, int], ...],
) -> _Laid | None:
    """Choose clock times and bind the protocol to the group; None when the day cannot be had."""
    request, library = setting.request, setting.library
    visits = find_visits(protocol)
    head = sum(line.is_treated for line in lines)
    hours = durations(visits, head=head, library=library, chutes=request.chutes)
    forward = request.first_treatment_on is not None
    wish = Wish(
        service=_service(protocol, library),
        open_at=request.open_at,
        close_at=request.close_at,
        durations_h=hours,
        service_on=None if forward else days.ai_on,
        service_at=request.first_ai_at,
        zero_on=days.treatment_on if forward else None,
        busy=busy,
    )
    times, used_h, is_slowed = find_paced_times(visits, wish, clock=setting.clock)
    if times is None:
        return None
    starts = tuple(setting.clock.instant(minute) for minute in times.starts)
    drugs = choose_drugs(protocol, library=library, pack=setting.pack, asked=request.drugs)
    zone = setting.clock.zone
    binding = Binding(
        group=name,
        classes=tuple(dict.fromkeys(sorted(x.class_ for x in lines if x.is_treated))),
        head=head,
        protocol=protocol,
        visits=visits,
        starts=starts,
        durations_h=used_h,
        zone=zone,
        pack=setting.pack,
        chosen=drugs,
        prescriber=request.prescriber,
    )
    service_at = starts[wish.service.visit] + timedelta(hours=wish.service.offset_h)
    capacity = describe_capacity(
        visits,
        wish,
        head=head,
        library=library,
        chutes=request.chutes,
        times=times,
        is_slowed=is_slowed,
        clock=setting.clock,
    )
    return _Laid(
        steps=bind_schedule(binding, new_uid=setting.new_uid),
        capacity=capacity,
        days=_Days(
            to_local(starts[0], zone).date(),
            to_local(service_at, zone).date(),
        ),
        drugs=drugs,
        problems=(
            *_drug_problems(name, protocol, drugs, setting.pack),
            *_gap_notices(name, visits, starts, zone),
        ),
    )


def _rule_problems(name: str, protocol: Protocol, library: Library) -> tuple[Problem, ...]:
    """Check the rules of harm again on what is laid out, options included."""
    limits = RuleLimits(
        long_progestin_days=library.number("practice.long_progestin_days"),
        heat_to_pass_days=library.number("practice.heat_to_pass_days"),
        exposure_before_pgf_days=library.number("practice.exposure_before_pgf_days"),
    )
    return tuple(
        Problem(f"{name}, {protocol.name}, step {p.where}", p.what, p.fix)
        for p in check_protocol(protocol, limits=limits)
    )


def _gap_notices(
    name: str, visits: Sequence[Visit], starts: Sequence[datetime], zone: ZoneInfo
) -> tuple[Problem, ...]:
    """Say where a step that keeps the clock of zero meets a change of clocks."""
    found: list[Problem] = []
    for visit in visits:
        if visit.anchor is None and visit.day:
            kept = same_clock(starts[0], visit.day, zone)
            if kept.notice is not None and kept.utc == starts[visit.index]:
                found.append(replace(kept.notice, where=f"{name}, {kept.notice.where}"))
    return tuple(found)


def _drug_problems(
    name: str, protocol: Protocol, drugs: Mapping[str, Chosen], pack: RegionPack
) -> tuple[Problem, ...]:
    """Say which drug steps have no strength chosen, so that no dose can be shown."""
    does = dict.fromkeys(s.do for s in protocol.steps if s.do in INJECTIONS | {Do.INSERT_IN})
    return tuple(
        Problem(
            name,
            f"No {do.value.replace('_', ' ')} is held for {pack.name}; no dose is shown.",
            f"Name one with --drug {do.value}=ACTIVE/STRENGTH, from the label in hand.",
            Severity.WARNING,
        )
        for do in does
        if do.value not in drugs
    )


def _no_times(name: str, protocol: Protocol, days: _Days) -> Problem:
    return Problem(
        name,
        f"{protocol.name} cannot put the first insemination on {days.ai_on:%a} {days.ai_on.day} "
        f"{days.ai_on:%b} at the time asked for and keep the hours between its steps.",
        "Leave the clock time open (give the day only), widen --hours, or choose another day.",
    )


def _collect(
    name: str,
    lines: Sequence[FemaleLine],
    *,
    fits: tuple[Fit, ...],
    rejected: tuple[Rejected, ...],
    protocol: Protocol | None,
    by: str,
    laid: _Laid | None,
    problems: tuple[Problem, ...],
    days: _Days,
    setting: Setting,
    order: tuple[str, ...],
) -> GroupResult:
    request, library = setting.request, setting.library
    options = request.options.get(base_name(name), ())
    head = len(order)
    need = None
    clashes: list[Clash] = []
    per_female = None
    if protocol is not None and laid is not None:
        sires = [replace(s, group=name) for s in request.sires if s.group == base_name(name)]
        need = GroupNeed(
            name=name,
            head=head,
            protocol=protocol,
            steps=laid.steps,
            sires=sire_use(
                name,
                head=head,
                straws_each=straws_per_female(protocol),
                sires=sires,
                spare_share=library.number("practice.spare_straws_share"),
            ),
            first_treatment_on=days.treatment_on,
            first_ai_on=days.ai_on,
        )
        zone = setting.clock.zone
        clashes += find_day_clashes(
            name, laid.steps, zone=zone, request=request, holidays=setting.holidays
        )
        clashes += find_event_clashes(
            name,
            first_treatment_on=days.treatment_on,
            first_ai_on=days.ai_on,
            events=request.events,
            library=library,
        )
        clashes += find_capacity_clashes(name, laid.steps, laid.capacity, zone=zone)
        per_female = total(
            cost_lines(
                protocol,
                head=head,
                library=library,
                chutes=request.chutes,
                options=options,
                sires=sires,
            )
        )
    classes = dict.fromkeys(line.class_ for line in lines)
    plan = GroupPlan(
        name=name,
        class_=next(iter(classes)) if len(classes) == 1 else "mixed",
        n=len(lines),
        ready=head,
        by_state=count_states(lines),
        by_reason=count_reasons(lines),
        later=view_later(lines, days.ai_on),
        fits=fits,
        rejected=rejected,
        bulls_alone=find_bulls_alone(
            head or len(lines), library=library, earlier_days=request.earlier_days
        ),
        chosen=protocol.key if protocol and laid else None,
        chosen_name=protocol.name if protocol and laid else None,
        chosen_by=by if laid else "none",
        options=options,
        schedule=laid.steps if laid else (),
        order=order,
        capacity=laid.capacity if laid else (),
        sires=tuple(need.sires) if need else (),
        cost_per_female=per_female,
        cost_total=None if per_female is None else per_female * head,
    )
    return GroupResult(
        plan=plan,
        lines=tuple(lines),
        clashes=tuple(clashes),
        problems=(*problems, *(laid.problems if laid else ())),
        need=need,
        drugs=laid.drugs if laid else {},
        first_ai_on=days.ai_on,
    )

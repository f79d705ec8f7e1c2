"""Planning one group: a protocol, clock times, the schedule, what it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.figures import Figure, Kind
from sunup.base.problems import Problem, Severity
from sunup.planning.alternative import find_bulls_alone, with_bulls_paid
from sunup.planning.choice import choose_protocol, find_rule_problems, without_barred
from sunup.planning.clashes import find_capacity_clashes, find_day_clashes, find_event_clashes
from sunup.planning.cost import cost_lines, total
from sunup.planning.dosing import choose_drug
from sunup.planning.fit import find_fits, lead_days
from sunup.planning.groups import describe_group, treatment_order
from sunup.planning.heat_aids import with_aids
from sunup.planning.heat_sessions import find_sessions, find_tightest, with_early_word, with_looks
from sunup.planning.layout import lay_out, no_times
from sunup.planning.options import apply_options
from sunup.planning.plan import GroupPlan
from sunup.planning.readiness import Dates, assess, count_reasons, count_states, view_later
from sunup.planning.schedule import straws_per_female
from sunup.planning.setting import base_name, wanted_days
from sunup.planning.supplies import GroupNeed, sire_use
from sunup.protocols.protocol import Do
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from sunup.planning.dosing import Chosen
    from sunup.planning.layout import Laid
    from sunup.planning.plan import (
        Capacity,
        Clash,
        FemaleLine,
        Fit,
        Rejected,
        ScheduledStep,
    )
    from sunup.planning.request import Sire
    from sunup.planning.setting import Days, Setting
    from sunup.protocols.protocol import Protocol
    from sunup.records.female import Female

_SHARES_AGREE = 0.005  # thirds are typed as 0.33


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
    wanted = wanted_days(name, setting.request, lead=None)
    lines = _assess_all(members, wanted, None, setting)
    base = base_name(name, setting.request)
    context = describe_group(base, members, lines, library=setting.library, figures=setting.figures)
    fits, rejected = find_fits(
        context,
        request=setting.request,
        library=setting.library,
        pack=setting.pack,
        ai_on=None if setting.request.first_ai_on is None else wanted.ai_on,
        not_cycling=[x for x in lines if x.is_treated and x.needs_progestin],
    )
    plain, by, problems = choose_protocol(context, fits, wanted.ai_on, setting)
    options = setting.request.options.get(base, ())
    protocol = None
    laid = None
    if plain is not None:
        protocol = without_barred(
            apply_options(plain, options, library=setting.library, classes=context.classes),
            setting.pack,
        )
        told = setting.request.watched(base)
        usual = int(setting.library.number("practice.watch_times_per_day"))
        protocol = with_looks(with_aids(protocol, told), told=told, usual=usual)
        problems += find_rule_problems(name, protocol, setting.library)
        days = wanted_days(name, setting.request, lead=lead_days(protocol, setting.library))
        lines = _assess_all(members, days, protocol, setting)
        laid = lay_out(name, protocol, lines, days, setting=setting, busy=busy)
        if laid is not None:
            same = laid.days == days
            again = lines if same else _assess_all(members, laid.days, protocol, setting)
            if sum(x.is_treated for x in again) != sum(x.is_treated for x in lines):
                laid = lay_out(name, protocol, again, laid.days, setting=setting, busy=busy)
            lines, wanted = again, (laid.days if laid else days)
        else:
            wanted = days
            problems += (no_times(name, protocol, days),)
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


def _assess_all(
    members: Sequence[Female], days: Days, protocol: Protocol | None, setting: Setting
) -> list[FemaleLine]:
    insert_on = None
    minimum = None
    last_pgf_on = None
    if protocol is not None:
        hours = nominal_hours(protocol)
        doses = [hours[step.id] for step in protocol.steps if step.do is Do.PGF]
        if doses:
            last_pgf_on = days.treatment_on + timedelta(days=math.ceil(max(doses) / 24))
        placed = [hours[step.id] for step in protocol.steps if step.do is Do.INSERT_IN]
        if placed:
            insert_on = days.treatment_on + timedelta(days=int(min(placed) // 24))
            minimum = find_insert_minimum(setting)
    dates = Dates(
        days.treatment_on,
        days.ai_on,
        insert_on,
        minimum,
        today=setting.request.judged_on,
        last_pgf_on=last_pgf_on,
    )
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


def _nobody(name: str, ai_on: date) -> Problem:
    return Problem(
        name,
        f"Nobody in this group is ready on {ai_on:%a} {ai_on.day} {ai_on:%b}; the schedule shows "
        "hours only.",
        "See why beside each female, and how many are ready later.",
        Severity.WARNING,
    )


def _shares(name: str, sires: Sequence[Sire]) -> tuple[Problem, ...]:
    """Say how shares of the straws that do not add up to all were taken."""
    told = sum(sire.share for sire in sires)
    equal = all(sire.share == 1.0 for sire in sires)  # none was given
    if not sires or equal or abs(told - 1.0) < _SHARES_AGREE:
        return ()
    given = ", ".join(f"{sire.code} {sire.share:g}" for sire in sires)
    taken = ", ".join(f"{sire.code} {sire.share / told:.2g}" for sire in sires)
    return (
        Problem(
            name,
            f"The shares of its sires ({given}) add up to {told:g}, not to 1: taken as {taken}.",
            "Give shares that add up to 1 with --sire, or name the bull for the rest.",
            Severity.WARNING,
        ),
    )


def _collect(
    name: str,
    lines: Sequence[FemaleLine],
    *,
    fits: tuple[Fit, ...],
    rejected: tuple[Rejected, ...],
    protocol: Protocol | None,
    by: str,
    laid: Laid | None,
    problems: tuple[Problem, ...],
    days: Days,
    setting: Setting,
    order: tuple[str, ...],
) -> GroupResult:
    request, library = setting.request, setting.library
    base = base_name(name, request)
    options = request.options.get(base, ())
    head = len(order)
    need = None
    clashes: list[Clash] = []
    per_female = None
    steps = laid.steps if laid else ()
    sessions: tuple[ScheduledStep, ...] = ()
    tightest: tuple[Capacity, ...] = ()
    if protocol is not None and laid is not None:
        sires = [replace(s, group=name) for s in request.sires if s.group == base]
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
            name,
            laid.steps,
            zone=zone,
            request=request,
            holidays=setting.holidays,
            capacity=laid.capacity,
        )
        clashes += find_event_clashes(
            name,
            first_treatment_on=days.treatment_on,
            first_ai_on=days.ai_on,
            events=request.events,
            library=library,
        )
        pace = library.number("practice.work_rate_ai") * request.chutes
        first_heat_h = library.number("practice.first_heat_after_pgf_h")
        sessions = find_sessions(
            laid.steps,
            zone=zone,
            request=request,
            head_per_hour=pace,
            first_heat_h=first_heat_h,
            new_uid=setting.new_uid,
        )
        steps = with_early_word(laid.steps, zone=zone, request=request, first_heat_h=first_heat_h)
        tightest = find_tightest(sessions, request=request, head_per_hour=pace, zone=zone)
        clashes += find_capacity_clashes(
            name, (*laid.steps, *sessions), (*laid.capacity, *tightest), zone=zone
        )
        if not head:  # work for nobody is in nobody's way
            clashes = []
        per_female = total(
            with_bulls_paid(
                cost_lines(
                    protocol,
                    head=head,
                    library=library,
                    chutes=request.chutes,
                    options=options,
                    sires=sires,
                    watches=request.watched(base),
                ),
                protocol,
                head=head,
                library=library,
            )
        )
        problems = (*problems, *_shares(name, sires))
    if protocol is not None and laid is not None and not head:
        problems = (*problems, _nobody(name, days.ai_on))
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
            head or len(lines),
            library=library,
            earlier_days=request.earlier_days,
            unit=setting.pack.weight_unit,
        ),
        chosen=protocol.key if protocol and laid else None,
        chosen_name=protocol.name if protocol and laid else None,
        chosen_by=by if laid else "none",
        options=options,
        schedule=steps,
        order=order,
        capacity=(*laid.capacity, *tightest) if laid and head else (),
        sires=tuple(need.sires) if need else (),
        cost_per_female=per_female,
        cost_total=None if per_female is None else per_female * head,
        sessions=sessions,
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

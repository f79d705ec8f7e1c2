"""Making a plan: every group in turn, then what the season needs as a whole."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.hours import find_zone
from sunup.base.problems import Problem, Severity, UsageError
from sunup.base.quantities import CM_PER_IN
from sunup.planning.clashes import find_group_clashes
from sunup.planning.clock_times import Clock
from sunup.planning.dosing import check_drugs
from sunup.planning.follow_up import find_follow_up
from sunup.planning.group_plan import plan_group
from sunup.planning.groups import split_herd
from sunup.planning.old_calvings import find_old_calvings
from sunup.planning.plan import Plan, State
from sunup.planning.readiness import ReadinessFigures
from sunup.planning.run_up import find_gain_item, find_run_up, merge_run_up
from sunup.planning.setting import Setting, start_name
from sunup.planning.supplies import find_shopping
from sunup.planning.visits import feed_days

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import date, datetime

    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.planning.dosing import Chosen
    from sunup.planning.group_plan import GroupResult
    from sunup.planning.plan import GroupPlan, ScheduledStep
    from sunup.planning.request import Request
    from sunup.records.female import Female

GENERAL_CAUTIONS = (
    (
        "The label in hand and your veterinarian decide. A step that differs from the label text "
        "held says so; nothing here says that a plan is legal where you are."
    ),
    "PGF ends a pregnancy: every female must be one that cannot be pregnant before she gets it.",
    (
        "PGF passes through skin. Women of child-bearing age, asthmatics and people with breathing "
        "trouble should not handle it, or only with gloves and great care. Wash spills off at once."
    ),
    "The withdrawal period belongs to each treatment as given: ask for it and write it down.",
)


class UnknownGroupError(UsageError):
    """A group was named that the herd file does not have."""

    def __init__(self, name: str, known: Sequence[str]) -> None:
        super().__init__(f"No group '{name}' in the herd file. Groups: {', '.join(known)}.")


class TooManyStartsError(UsageError):
    """A group is to start in more parts than it has females."""

    def __init__(self, name: str, starts: int, head: int) -> None:
        super().__init__(
            f"--split {name}={starts}: '{name}' has {head} females, so at most {head} starts."
        )


class UnknownRegionError(UsageError):
    """A region was named that no rule pack is held for."""

    def __init__(self, name: str, known: Sequence[str]) -> None:
        super().__init__(f"No rule pack for region '{name}'. Held: {', '.join(known)}.")


def make_plan(
    females: Sequence[Female],
    request: Request,
    *,
    library: Library,
    holidays: Mapping[date, str],
    made_at_utc: datetime,
    new_uid: Callable[[], str],
    program_version: str,
    previous: Plan | None = None,
) -> Plan:
    """Make a season's plan from a herd and the user's wishes.

    Parameters
    ----------
    females : sequence of Female
    request : Request
        Gives exactly one of the first insemination day and the first treatment day.
    library : Library
    holidays : mapping of date to str
        Public holidays around the season, looked up by the caller.
    made_at_utc : datetime
        Aware; printed on everything.
    new_uid : callable
        Gives random ids for steps; the caller keeps those of a former plan (see ``renewal``).
    program_version : str
    previous : Plan, optional
        A former plan whose treatment order is kept.

    Returns
    -------
    Plan

    Raises
    ------
    UsageError
        If a group, protocol, option, drug, region or zone named does not exist, a group is split
        into more starts than it has females, or not exactly one of the two days is given.
    """
    if (request.first_ai_on is None) == (request.first_treatment_on is None):
        message = "Give either the first insemination day or the first treatment day."
        raise UsageError(message)
    zone = find_zone(request.zone)
    pack = library.regions.get(request.region)
    if pack is None:
        raise UnknownRegionError(request.region, sorted(library.regions))
    check_drugs(request.drugs, library=library, pack=pack)
    groups = split_herd(females)
    for name in (
        *request.protocols,
        *request.options,
        *request.splits,
        *request.watches,
        *request.technicians,
        *(s.group for s in request.sires),
        *(e.group for e in request.events if e.group),
    ):
        if name not in groups:
            raise UnknownGroupError(name, list(groups))
    for name, starts in request.splits.items():
        if starts > len(groups[name]):
            raise TooManyStartsError(name, starts, len(groups[name]))
    setting = Setting(
        request, library, pack, ReadinessFigures(library), holidays, new_uid, Clock(zone)
    )
    orders = {g.name: g.order for g in previous.groups} if previous else {}
    busy: list[tuple[int, int]] = []
    results: list[GroupResult] = []
    for name, members in _starts(groups, request.splits).items():
        result = plan_group(
            name, members, setting=setting, busy=tuple(busy), previous_order=orders.get(name, ())
        )
        results.append(result)
        busy += _busy(result.plan.schedule, setting.clock)
    return _assemble(
        results, females, setting, made_at_utc=made_at_utc, program_version=program_version
    )


def _starts(
    groups: Mapping[str, list[Female]], splits: Mapping[str, int]
) -> dict[str, list[Female]]:
    """Divide groups that were asked to start in several parts, a day apart."""
    parts: dict[str, list[Female]] = {}
    for name, members in groups.items():
        count = splits.get(name, 1)
        if count == 1:
            parts[name] = members
            continue
        ends = [len(members) * i // count for i in range(count + 1)]
        for i in range(count):
            label = start_name(name, i + 1)
            parts[label] = [replace(f, group=label) for f in members[ends[i] : ends[i + 1]]]
    return parts


def _busy(steps: Sequence[ScheduledStep], clock: Clock) -> list[tuple[int, int]]:
    spans = {(clock.minutes(s.at_utc), clock.minutes(s.ends_utc)) for s in steps}
    return sorted(span for span in spans if span[1] > span[0])


def _assemble(
    results: Sequence[GroupResult],
    females: Sequence[Female],
    setting: Setting,
    *,
    made_at_utc: datetime,
    program_version: str,
) -> Plan:
    request, library, pack = setting.request, setting.library, setting.pack
    plans = [r.plan for r in results]
    needs = [r.need for r in results if r.need is not None and r.need.head]
    first_ai_on = min((r.first_ai_on for r in results), default=request.today)
    clashes = [c for r in results for c in r.clashes]
    at_chute = {p.name: (*p.schedule, *p.sessions) for p in plans if p.ready}
    clashes += find_group_clashes(at_chute, zone=setting.clock.zone)
    drugs = {drug.key: drug for r in results for drug in r.drugs.values()}
    classes = {line.class_ for r in results for line in r.lines}
    held = {line.tag for r in results for line in r.lines if line.state is State.HOLD}
    gains = [
        item
        for name, members in split_herd(females).items()
        if (
            item := find_gain_item(
                name,
                [f for f in members if f.tag not in held],
                ai_on=first_ai_on,
                today=request.today,
                weighed_on=request.judged_on,
                library=library,
                unit=pack.weight_unit,
            )
        )
    ]
    return Plan(
        ranch=request.ranch,
        zone=request.zone,
        region=request.region,
        season=f"{first_ai_on.year}",
        made_at_utc=made_at_utc,
        library_version=library.version,
        program_version=program_version,
        settings=request.to_json(),
        females=tuple(line for r in results for line in r.lines),
        groups=tuple(plans),
        clashes=tuple(sorted(clashes, key=lambda c: (c.on, c.group, c.kind))),
        shopping=find_shopping(needs, library=library, drugs=drugs, zone=setting.clock.zone),
        run_up=merge_run_up(
            find_run_up(
                first_ai_on,
                library=library,
                classes=classes,
                feeds=any(feed_days(need.protocol) for need in needs),
                today=request.today,
            ),
            gains,
            *(
                find_follow_up(
                    r.plan,
                    r.lines,
                    library=library,
                    zone=setting.clock.zone,
                    today=request.today,
                )
                for r in results
            ),
        ),
        problems=(
            *(p for r in results for p in r.problems),
            *_pack_problems(setting),
            *_old_list(request, library),
            *_old_calvings(results, females, library),
            *_unknown_facts(females),
        ),
        cautions=_cautions(drugs.values(), pack, library),
        label_differences=_label_differences(plans),
        prescriber=request.prescriber,
        currency=library.figure("prices.insert").unit.partition("/")[0],
        region_name=pack.name,
        region_notes=(pack.holds, *pack.notes),
    )


def _pack_problems(setting: Setting) -> tuple[Problem, ...]:
    pack = setting.pack
    if not pack.is_stale(setting.request.today):
        return ()
    return (
        Problem(
            f"rule pack {pack.name}",
            f"Last checked {pack.last_checked}, thought valid until {pack.valid_until}.",
            "Check the law and the labels in hand before you act on its notes.",
            Severity.WARNING,
        ),
    )


def _old_list(request: Request, library: Library) -> tuple[Problem, ...]:
    """Say that the herd list is of a day long before the one it is planned on."""
    days = (request.today - request.judged_on).days
    if days <= library.number("practice.list_old_days"):
        return ()
    return (
        Problem(
            "herd list",
            f"It is of {request.judged_on}, {days} days before the day of this plan "
            f"({request.today}): females are judged by what it says, starts and orders by the "
            "day of the plan.",
            "Draw up the list anew: who has calved, been exposed or left since stands wrong here.",
            Severity.WARNING,
        ),
    )


def _old_calvings(
    results: Sequence[GroupResult], females: Sequence[Female], library: Library
) -> tuple[Problem, ...]:
    """Ask group by group whether the calvings on file are of this season."""
    first = min((r.first_ai_on for r in results), default=None)
    if first is None:
        return ()
    found = (
        find_old_calvings(name, members, ai_on=first, library=library)
        for name, members in split_herd(females).items()
    )
    return tuple(problem for problem in found if problem is not None)


def _unknown_facts(females: Sequence[Female]) -> tuple[Problem, ...]:
    """Say what readiness could not be judged by, group by group."""
    problems: list[Problem] = []
    for name, members in split_herd(females).items():
        cows = [f for f in members if f.class_.has_calved]
        heifers = [f for f in members if not f.class_.has_calved]
        asked = (
            ("body condition", sum(f.condition is None for f in members), len(members)),
            ("birth date", sum(f.born_on is None for f in heifers), len(heifers)),
            (
                "weight and mature weight",
                sum(not (f.weight_kg and f.mature_weight_kg) for f in heifers),
                len(heifers),
            ),
            ("tract score", sum(f.tract_score is None for f in heifers), len(heifers)),
            ("calving ease", sum(f.calving_ease is None for f in cows), len(cows)),
        )
        missing = [f"{what} for {count} of {of}" for what, count, of in asked if count]
        if missing:
            problems.append(
                Problem(
                    name,
                    f"Not on file: {', '.join(missing)}.",
                    "Those females are judged by the rest; add what you can.",
                    Severity.NOTICE,
                )
            )
    return tuple(problems)


def _cautions(drugs: Iterable[Chosen], pack: RegionPack, library: Library) -> tuple[str, ...]:
    lines = list(GENERAL_CAUTIONS)
    chosen = list(drugs)
    if any(drug.active.needle for drug in chosen):
        apart_in = library.number("practice.injection_spacing_in")
        lines.append(
            f"Injections go into the {library.figure('practice.injection_site').value}; two at one "
            f"visit at least {apart_in:g} in ({apart_in * CM_PER_IN:.0f} cm) apart, at most "
            f"{library.number('practice.injection_max_ml_per_site'):g} mL at one site or what the "
            "label says."
        )
    for drug in chosen:
        lines += [f"Ask first: {ask}" for ask in pack.asks_of(drug.active.key)]
        lines += [f"{drug.active.name}: {c.text}" for c in drug.active.cautions]
    return tuple(dict.fromkeys(lines))


def _label_differences(plans: Sequence[GroupPlan]) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            f"{step.group}, {step.words}: {step.label_note}"
            for plan in plans
            for step in plan.schedule
            if step.label_note
        )
    )

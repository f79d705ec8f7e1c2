"""Who is inseminated when: heats not yet served, each with her time, her sire and her straw."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import time
from math import inf
from typing import TYPE_CHECKING

from sunup.base.hours import hours_between, to_local
from sunup.planning.heat_flags import HeatFlag, flag_heats
from sunup.planning.insemination_times import (
    EVENING,
    MORNING,
    ONCE,
    Half,
    InseminationTime,
    Rule,
    Timeliness,
    half_day_of,
    insemination_time,
    say_time,
)
from sunup.planning.plan import TO_CHOOSE
from sunup.planning.schedule import inseminate_rule
from sunup.planning.sires import (
    Assigned,
    Choice,
    StrawMove,
    StrawPlace,
    StrawUse,
    kin_warning,
    reconcile,
)
from sunup.planning.sires import choose_for_list as choose_straws
from sunup.protocols.protocol import Do, Inseminate

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date, datetime

    from sunup.planning.females_now import FemaleNow
    from sunup.planning.heats import Heat, HeatFigures
    from sunup.planning.insemination_times import TimeFigures
    from sunup.planning.plan import GroupPlan
    from sunup.planning.season_now import SeasonNow
    from sunup.planning.sires import Reconciled
    from sunup.planning.stock import Change, Count
    from sunup.protocols.protocol import Protocol


@dataclass(frozen=True, slots=True)
class RuleInForce:
    """The rule that turns a group's heats into inseminations, and why it is that one.

    Sessions are wall clock, inside the working hours of the plan. `usual_gap_h` is the longest time
    between two watches. [h]
    """

    how: Inseminate
    words: str
    morning: time = MORNING
    evening: time = EVENING
    once: time = ONCE
    usual_gap_h: float = 12.0


@dataclass(frozen=True, slots=True)
class AiLine:
    """One female to be inseminated on heat.

    `standing` says where the instant lies against her window; `fixed` names the fixed time her
    group has, where one is still to come for her.
    """

    female: str
    tag: str
    group: str
    heat: Heat
    time: InseminationTime
    standing: Timeliness
    text: str
    sire: str | None
    straw: Choice | None
    flags: tuple[HeatFlag, ...]
    fixed: datetime | None = None
    hold: str | None = None  # why she is on hold


def rule_in_force(
    season: SeasonNow, group: GroupPlan | None, *, per_day: float, protocol: Protocol | None = None
) -> RuleInForce:
    """The rule of the group's watch; the morning/evening rule where its plan has none.

    Parameters
    ----------
    season : SeasonNow
    group : GroupPlan or None
    per_day : float
        Watches a day where the protocol does not say.
    protocol : Protocol, optional
        The group's, as the library has it.

    Notes
    -----
    Watches are at first and last light and between (common practice, no source), so that the
    longest gap is twelve hours; watched once a day it is twenty-four. The once-a-day session is the
    ranch's setting, else 11:00 (09:00 to 11:00 in use: trade press), as the forecast takes it.
    """
    opens, closes = _working_hours(season)
    how, words = Inseminate.AM_PM, "common practice: the plan names no rule"
    for step in group.schedule if group is not None else ():
        rule = inseminate_rule(step)
        if rule is not None and rule is not Inseminate.NONE and not step.cancelled:
            how, words = rule, f"the plan of {step.group}"
            break
    return RuleInForce(
        how,
        words,
        morning=max(MORNING, opens),
        evening=min(EVENING, closes),
        once=min(max(season.once_a_day or ONCE, opens), closes),
        usual_gap_h=12.0 if _watches(protocol, per_day) > 1 else 24.0,
    )


def _working_hours(season: SeasonNow) -> tuple[time, time]:
    settings = season.in_force.plan.settings if season.in_force is not None else {}
    opens, closes = settings.get("open_at"), settings.get("close_at")
    return time.fromisoformat(opens or "00:00"), time.fromisoformat(closes or "23:59")


def _watches(protocol: Protocol | None, per_day: float) -> float:
    said = [
        step.times_per_day
        for step in (protocol.steps if protocol is not None else ())
        if step.do is Do.WATCH and step.times_per_day is not None
    ]
    return min(said, default=per_day)


def unserved(female: FemaleNow, at: datetime, *, over_days: float) -> Heat | None:
    """Her last heat, last seen within so many days, where no insemination followed it."""
    heats = [h for h in female.heats if not h.was_missed and h.first_seen_at <= at]
    if not heats:
        return None
    last = heats[-1]
    if hours_between(last.last_seen_at, at) > over_days * 24:
        return None
    if any(s.at >= last.first_seen_at for s in female.services):
        return None
    return last


@dataclass(frozen=True, slots=True)
class HerTimes:
    """When each female is inseminated on a heat, under the rule her group has in force."""

    season: SeasonNow
    figures: TimeFigures
    protocols: Mapping[str, Protocol]
    rules: dict[str, RuleInForce] = field(default_factory=dict)

    def of(self, female: FemaleNow, heat: Heat) -> InseminationTime:
        """Her time and window on a heat."""
        group = self.season.group(female.group)
        told = self.rules.get(female.group)
        if told is None:
            key = group.chosen if group is not None else None
            told = self.rules[female.group] = rule_in_force(
                self.season,
                group,
                per_day=self.figures.watches.number,
                protocol=self.protocols.get(key or ""),
            )
        rule = Rule(
            how=told.how,
            zone=self.season.zone,
            morning=told.morning,
            evening=told.evening,
            once=told.once,
            usual_gap_h=told.usual_gap_h,
            is_sexed=_semen(female, group) == "sexed",
        )
        return insemination_time(heat, rule, figures=self.figures)


def find_inseminations(
    season: SeasonNow,
    *,
    heat_figures: HeatFigures,
    time_figures: TimeFigures,
    protocols: Mapping[str, Protocol] | None = None,
    females: Iterable[FemaleNow] | None = None,
) -> tuple[AiLine, ...]:
    """Everybody in heat and not yet inseminated, soonest first.

    Straws are promised in that order too, but first to those that may be inseminated as things
    stand: not to one on hold, too late, or whose heat is not to be used.

    Parameters
    ----------
    season : SeasonNow
    heat_figures : HeatFigures
    time_figures : TimeFigures
    protocols : mapping of key to Protocol, optional
        For how often a day each watches.
    females : iterable of FemaleNow, optional
        Only these, however long ago their heat was; all of the herd where absent.
    """
    over_days = time_figures.over.number if females is None else inf
    wanted = season.females.values() if females is None else females
    found: list[tuple[FemaleNow, Heat, InseminationTime]] = []
    times = HerTimes(season, time_figures, protocols or {})
    for female in wanted:
        heat = None
        if female.is_here:
            heat = unserved(female, season.at, over_days=over_days)
        if heat is None:
            continue
        found.append((female, heat, times.of(female, heat)))
    found.sort(key=lambda item: (item[2].at, item[0].tag))
    flags = {
        f.id: tuple(
            flag
            for flag in flag_heats(f.heats, f.past(season.zone), figures=heat_figures)
            if flag.heat is heat
        )
        for f, heat, _ in found
    }
    holds = {f.id: f.hold_on(local_day(season.at, season)) for f, _, _ in found}
    last = {
        f.id
        for f, _, when in found
        if when.standing(season.at) is Timeliness.TOO_LATE
        or holds[f.id]
        or any(flag.is_stop for flag in flags[f.id])
    }
    stock = straws(season)
    chosen = choose_straws(
        [
            (f.id, assigned, f.facts.sire, None)
            for f, _, _ in sorted(found, key=lambda item: item[0].id in last)
            if (assigned := assigned_to(f, season.group(f.group))) is not None
        ],
        stock,
    )
    lines = []
    for female, heat, when in found:
        choice = chosen.get(female.id)
        told = assigned_to(female, season.group(female.group))
        group = season.group(female.group)
        fixed = _fixed(season, group)
        lines.append(
            AiLine(
                female=female.id,
                tag=female.tag,
                group=female.group,
                heat=heat,
                time=when,
                standing=when.standing(season.at),
                text=say_time(
                    when,
                    now=season.at,
                    zone=season.zone,
                    figures=time_figures,
                    fixed=fixed,
                    is_renewed=is_renewed(group, heat, fixed),
                ),
                sire=_named(choice, told, female),
                straw=choice if stock.counts else None,
                flags=flags[female.id],
                fixed=fixed,
                hold=holds[female.id],
            )
        )
    return tuple(lines)


def of_half_day(lines: Sequence[AiLine], season: SeasonNow) -> tuple[AiLine, ...]:
    """Lines due in the half-day of the season's instant, or overdue and still worth a straw."""
    day, half = half_day_of(season.at, season.zone)
    return tuple(
        line
        for line in lines
        if line.time.half_day(season.zone) == (day, half)
        or (line.time.at < season.at and line.standing in {Timeliness.NOW, Timeliness.LATE})
    )


def half_day_words(season: SeasonNow) -> tuple[date, Half]:
    """The half-day of the season's instant."""
    return half_day_of(season.at, season.zone)


def _semen(female: FemaleNow, group: GroupPlan | None) -> str:
    told = assigned_to(female, group)
    return told.semen if told is not None else "conventional"


def assigned_to(female: FemaleNow, group: GroupPlan | None) -> Assigned | None:
    """The sire chosen for her; where none was, those the plan has for her group."""
    if female.assigned:
        return Assigned(female.assigned[0], female.assigned[1:], female.assigned_semen)
    named = [s for s in group.sires if s.code != TO_CHOOSE] if group is not None else []
    if not named:
        return None
    first, *others = sorted(named, key=lambda s: -s.share)
    return Assigned(first.code, tuple(s.code for s in others), first.semen)


def choose_sires(females: Iterable[FemaleNow], season: SeasonNow) -> dict[str, str | None]:
    """The sire each of a list is to have, by id, in its order: who comes first has the last straw.

    Where no straws are kept account of, or none is left of any sire she may have, as planned.
    """
    told = [(f, assigned_to(f, season.group(f.group))) for f in females]
    stock = straws(season)
    wanted = [(f.id, a, f.facts.sire, None) for f, a in told if a is not None]
    chosen = choose_straws(wanted, stock) if stock.counts else {}
    return {f.id: _named(chosen.get(f.id), a, f) for f, a in told}


def _named(choice: Choice | None, told: Assigned | None, female: FemaleNow) -> str | None:
    return choice.sire if choice is not None and choice.sire else _first(told, female)


def _first(told: Assigned | None, female: FemaleNow) -> str | None:
    if told is None:
        return None
    codes = (told.sire, *told.alternates)
    return next((c for c in codes if not kin_warning(c, her_sire=female.facts.sire)), told.sire)


def _fixed(season: SeasonNow, group: GroupPlan | None) -> datetime | None:
    """The group's fixed-time insemination, where it is still to come."""
    times = [
        step.at_utc
        for step in (group.schedule if group is not None else ())
        if step.do == Do.AI.value and not step.cancelled and step.ends_utc >= season.at
    ]
    return min(times, default=None)


def is_renewed(group: GroupPlan | None, heat: Heat, fixed: datetime | None) -> bool:
    """Whether the group's plan gives a PGF between a heat and its fixed time."""
    if group is None or fixed is None:
        return False
    return any(
        step.do == Do.PGF.value and not step.cancelled and heat.first_seen_at < step.at_utc < fixed
        for step in group.schedule
    )


def straws(season: SeasonNow) -> Reconciled:
    """Straws as bought, counted and used; days told of them are the ranch's."""
    moves = [_move(c) for c in season.changes if c.item.kind == "semen" and c.why != "used"]
    moves += [_count(c) for c in season.counts if c.item.kind == "semen"]
    if not moves:
        return reconcile([], [])
    moves = [replace(m, at=to_local(m.at, season.zone)) for m in moves]
    first = min(m.at for m in moves)
    uses = [
        StrawUse(
            at=to_local(s.at, season.zone),
            place=StrawPlace(s.sire, s.batch, s.semen, s.tank, s.canister),
            female=f.id,
            tag=f.tag,
            technician=s.technician,
            straws=s.straws,
        )
        for f in season.females.values()
        for s in f.services
        if s.sire != "unknown" and first <= s.at <= season.at
    ]
    return reconcile(moves, uses)


def _place(change: Change | Count) -> StrawPlace:
    tank, _, canister = change.item.place.partition("/")
    return StrawPlace(
        change.item.name, change.item.lot, change.item.semen or "conventional", tank, canister
    )


def _move(change: Change) -> StrawMove:
    return StrawMove(change.at, _place(change), change.amount)


def _count(count: Count) -> StrawMove:
    return StrawMove(count.at, _place(count), count.amount, is_count=True)


def local_day(at: datetime, season: SeasonNow) -> date:
    """The day of an instant on the ranch's clock."""
    return to_local(at, season.zone).date()

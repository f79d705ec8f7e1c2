"""From events as they stand to the running season: females joined, stock and plan read."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import find_zone
from sunup.planning.female_reading import bull_times, read_female
from sunup.planning.females_now import FemaleNow, Noted
from sunup.planning.nitrogen import Level
from sunup.planning.progress import Act
from sunup.planning.stock import DRUG, INSERT, OTHER, SEMEN, Change, Count, Item
from sunup.protocols.protocol import Do
from sunup.records.corrections import settle
from sunup.records.event import Event, Kind
from sunup.records.forms import has_form
from sunup.records.identity import find_same
from sunup.records.order import each_once

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.planning.heats import HeatFigures
    from sunup.records.bull_times import WithBulls


@dataclass(frozen=True, slots=True)
class PlanEvent:
    """A plan as an event set it: its id and season, the plan's plain values, the event."""

    plan_id: str
    season: str
    plan: Mapping[str, Any]
    at: datetime
    event: str


@dataclass(frozen=True, slots=True)
class Recorded:
    """What events say up to an instant, before a plan is read from its plain values."""

    females: Mapping[str, FemaleNow]
    group_acts: Mapping[str, tuple[Act, ...]]
    plans: tuple[PlanEvent, ...]  # as they now stand, in order of adoption
    forecasts: Mapping[tuple[str, str], Mapping[str, Any]]  # by plan id and group
    changes: tuple[Change, ...]
    counts: tuple[Count, ...]
    levels: Mapping[str, tuple[Level, ...]]
    settings: Mapping[str, Any]
    tallies: tuple[Event, ...]


def as_they_stand(events: Iterable[Event]) -> tuple[Event, ...]:
    """Events as they stand after corrections, in order, times by a right clock.

    The same as ``records.corrections.stand``, but an event nothing is said against is passed on as
    it is: of a million events few are copied.
    """
    unique, _ = each_once(events)
    return tuple(
        s.event
        if s.event.clock_offset_s is None and s.event.occurred_at == s.at
        else replace(s.event, occurred_at=s.at, entered_at=s.entered_at, clock_offset_s=None)
        for s in settle(unique).standing
    )


_GROUP_KINDS = {
    Kind.WATCHED: "watch",
    Kind.BULLS_IN: "bulls_in",
    Kind.BULLS_OUT: "bulls_out",
}
RECENT_DAYS = 10.0  # what Today tells of a female lies inside it: a heat, what was done today
ML = "ml"  # unit of a count of a drug; in older counts it stands as their place
_PASSED_ON = frozenset({Kind.WATCHED, Kind.BULLS_IN, Kind.BULLS_OUT, Kind.FED})


def read_recorded(
    standing: Sequence[Event],
    *,
    at: datetime,
    figures: HeatFigures,
    zone: str,
    season_only: bool = False,
) -> Recorded:
    """Read everything the running season is made from.

    Parameters
    ----------
    standing : sequence of Event
        As they stand after corrections, in order (``records.corrections.stand``).
    at : datetime
        Later events are not seen.
    figures : HeatFigures
    zone : str
        IANA zone of the ranch.
    season_only : bool
        Leave out females that the plan in force has nothing to do with: not in its groups now, with
        nothing recorded for days. What they used of stock is counted all the same.
    """
    # what cannot be read is kept by the ledger and told by sunup check; nothing is made of it here
    standing = [e for e in standing if e.occurred_at <= at and has_form(e.kind, e.body)]
    same = find_same(standing)
    own: dict[str, list[Event]] = defaultdict(list)
    whole: dict[str, list[Event]] = defaultdict(list)
    for event in standing:
        if event.female is not None:
            own[same.get(event.female, event.female)].append(event)
        elif event.group is not None:
            whole[event.group].append(event)
    place = find_zone(zone)
    groups = {
        name: _Shared(tuple(n for n in notes if n.kind in _PASSED_ON), bull_times(notes, name))
        for name, notes in ((g, [*map(_noted, told)]) for g, told in whole.items())
    }
    plans, forecasts = _plans(standing)
    over_at = last_season_until(standing, plans)
    wanted = _in_season(own, plans, at, straws=_has_straws(standing)) if season_only else own
    females = {
        key: _female(key, _open(told, over_at), groups, zone=place, figures=figures)
        for key, told in wanted.items()
    }
    changes, counts, levels = _stock(standing)
    return Recorded(
        females=females,
        group_acts={g: tuple(_acts(told)) for g, told in whole.items()},
        plans=plans,
        forecasts=forecasts,
        changes=changes,
        counts=counts,
        levels=levels,
        settings={
            str(e.body.get("key")): (e.body.get("value") or {}).get("value")
            for e in standing
            if e.kind is Kind.SETTING_CHANGED
        },
        tallies=tuple(e for e in standing if e.kind is Kind.TALLIED),
    )


def last_season_until(standing: Iterable[Event], plans: Sequence[PlanEvent]) -> datetime | None:
    """When the season before the plan in force was over; None where none came before.

    A season begins with its plan's adoption, or its first step where it was adopted later. Before
    that lie the last insemination recorded and the last one planned for an earlier season: what was
    chosen for females later than those was chosen for the season to come.
    """
    if not plans:
        return None
    began = min(plans[-1].at, min(_times(plans[-1].plan), default=plans[-1].at))
    served = [e.occurred_at for e in standing if e.kind is Kind.INSEMINATED]
    planned = [at for told in plans[:-1] for at in _times(told.plan, do=Do.AI.value)]
    return max((at for at in (*served, *planned) if at < began), default=None)


def _times(plan: Mapping[str, Any], *, do: str | None = None) -> Iterable[datetime]:
    for group in plan.get("groups", ()):
        for step in group.get("schedule", ()):
            if do in {None, step.get("do")} and not step.get("cancelled"):
                yield datetime.fromisoformat(step["at_utc"])


def _open(told: Sequence[Event], over_at: datetime | None) -> Sequence[Event]:
    """Leave out the sires chosen for a season that is over."""
    if over_at is None:
        return told
    return [e for e in told if e.kind is not Kind.SIRE_ASSIGNED or e.occurred_at > over_at]


def _in_season(
    own: Mapping[str, Sequence[Event]],
    plans: Sequence[PlanEvent],
    at: datetime,
    *,
    straws: bool,
) -> Mapping[str, Sequence[Event]]:
    """Leave out females the plan in force has nothing to do with; without a plan, nobody."""
    if not plans:
        return own
    groups = {str(g.get("name")) for g in plans[-1].plan.get("groups", ())}
    recent = at - timedelta(days=RECENT_DAYS)

    def is_wanted(told: Sequence[Event]) -> bool:
        if told[-1].occurred_at >= recent:
            return True
        stay = [e for e in told if e.kind in {Kind.MOVED, Kind.LEFT_HERD}]
        if stay and stay[-1].kind is Kind.MOVED and stay[-1].body.get("to") in groups:
            return True
        unlisted = any(e.kind is Kind.FEMALE_ADDED and not e.body.get("listed", True) for e in told)
        return unlisted or (straws and any(e.kind is Kind.INSEMINATED for e in told))

    return {key: told for key, told in own.items() if is_wanted(told)}


def _has_straws(events: Iterable[Event]) -> bool:
    """Whether straws are kept account of: then who used each is told by name."""
    return any(
        (e.kind is Kind.STOCK_MOVED and e.body.get("unit") == "straws")
        or (e.kind is Kind.TALLIED and e.body.get("what") == "straws")
        for e in events
    )


def _noted(event: Event) -> Noted:
    return Noted(event.kind, event.occurred_at, event.body, event.entered_by, event.id)


@dataclass(frozen=True, slots=True)
class _Shared:
    """What was recorded of a group as a whole that bears on its females."""

    notes: tuple[Noted, ...]
    bulls: tuple[WithBulls, ...]


def _female(
    key: str,
    told: Sequence[Event],
    groups: Mapping[str, _Shared],
    *,
    zone: ZoneInfo,
    figures: HeatFigures,
) -> FemaleNow:
    """Read one female; where two records were one animal, her listed one names her."""
    added = [e for e in told if e.kind is Kind.FEMALE_ADDED]
    listed = [e for e in added if e.body.get("listed", True)] or added
    drop = {e.id for e in added if listed and e.id != listed[0].id}
    first = [e for e in told if e.kind is Kind.FEMALE_ADDED and e.id not in drop]
    rest = [e for e in told if e.kind is not Kind.FEMALE_ADDED]
    stays: list[tuple[datetime, str]] = [
        (e.occurred_at, str(e.body.get("to") or "")) for e in rest if e.kind is Kind.MOVED
    ]
    group = stays[-1][1] if stays else ""
    shared: list[Noted] = []
    with_bulls: list[WithBulls] = []
    for i, (since, name) in enumerate(stays):
        until = stays[i + 1][0] if i + 1 < len(stays) else None
        theirs = groups.get(name)
        if theirs is None:
            continue
        shared += [n for n in theirs.notes if n.at >= since and (until is None or n.at < until)]
        # bulls that were in before she came are with her from then on, until she leaves them
        for span in theirs.bulls:
            ends = [e for e in (span.until_at, until) if e is not None]
            start, end = max(span.from_at, since), min(ends, default=None)
            if end is None or start < end:
                with_bulls.append(replace(span, from_at=start, until_at=end))
    # her listed record comes first whenever it was entered: an unlisted tag is met before it
    return read_female(
        key,
        [*map(_noted, first), *map(_noted, rest)],
        group=group,
        zone=zone,
        figures=figures,
        of_group=shared,
        with_bulls=with_bulls,
        stays=stays,
    )


def _acts(events: Iterable[Event]) -> Iterable[Act]:
    for event in events:
        kind, step = event.kind, event.body.get("step")
        do = _GROUP_KINDS.get(kind)
        if kind is Kind.FED and event.body.get("feed") == "melengestrol":
            first, last = event.body.get("first_day"), event.body.get("last_day")
            do = "mga_start" if first else "mga_end" if last else "fed"
        elif kind is Kind.TREATED:
            do = str(event.body.get("act", "other"))
        if do is not None:
            yield Act(do, event.occurred_at, event.id, event.entered_by, step)


def _plans(
    events: Iterable[Event],
) -> tuple[tuple[PlanEvent, ...], dict[tuple[str, str], Mapping[str, Any]]]:
    plans: dict[str, PlanEvent] = {}
    forecasts: dict[tuple[str, str], Mapping[str, Any]] = {}
    for event in events:
        body = event.body
        plan_id = str(body.get("plan_id", ""))
        if event.kind is Kind.PLAN_ADOPTED:
            plans[plan_id] = PlanEvent(
                plan_id, str(body.get("season", "")), body["plan"], event.occurred_at, event.id
            )
        elif event.kind is Kind.PLAN_CHANGED and plan_id in plans:
            plans[plan_id] = replace(plans[plan_id], plan=body["plan"], event=event.id)
        elif event.kind is Kind.FORECAST_KEPT:
            forecast = body.get("forecast") or {}
            forecasts[(plan_id, str(forecast.get("group", "")))] = forecast
    return tuple(plans.values()), forecasts


def _stock(
    events: Iterable[Event],
) -> tuple[tuple[Change, ...], tuple[Count, ...], dict[str, tuple[Level, ...]]]:
    changes: list[Change] = []
    counts: list[Count] = []
    levels: dict[str, list[Level]] = defaultdict(list)
    for event in events:
        body = event.body
        if event.kind is Kind.STOCK_MOVED:
            changes.append(_moved(event))
        elif event.kind is Kind.NITROGEN_READ:
            levels[str(body.get("tank", ""))].append(
                Level(event.occurred_at, float(body["level_cm"]), bool(body.get("filled")))
            )
        elif event.kind is Kind.TALLIED and _is_of_stock(event):
            counts.append(Count(_counted(body), event.occurred_at, float(body["count"])))
        elif event.female is not None:
            used = _used(event)
            if used is not None:
                changes.append(used)
    return tuple(changes), tuple(counts), {tank: tuple(told) for tank, told in levels.items()}


def _is_of_stock(event: Event) -> bool:
    """Whether a count is of the shelf, not of a group's females or of the inserts in them."""
    what = event.body.get("what")
    return what != "head" and not (what == "inserts" and event.group is not None)


def _moved(event: Event) -> Change:
    body = event.body
    unit, amount = str(body.get("unit")), float(body.get("amount", 0.0))
    name, bottle = str(body.get("item")), body.get("bottle_ml")
    if unit == "straws" or name == "semen":
        item = Item(
            SEMEN,
            str(body.get("sire") or "unknown"),
            body.get("batch") or "",
            _tank(body.get("tank"), body.get("canister")),
            str(body.get("semen") or "conventional"),
        )
    elif unit == "inserts" or name in {"insert", "progesterone_insert"}:
        item = Item(INSERT, "progesterone_insert", body.get("lot") or "")
    elif unit in {"ml", "bottles"}:
        item = Item(DRUG, name, body.get("lot") or "")
        amount *= float(bottle or 0.0) if unit == "bottles" else 1.0
    else:
        item = Item(OTHER, name, body.get("lot") or "")
    expires = body.get("expires_on")
    return Change(
        item,
        event.occurred_at,
        amount,
        str(body.get("why", "")),
        expires_on=date.fromisoformat(expires) if expires else None,
        bottle_ml=bottle,
        cost=body.get("cost"),
    )


def _tank(tank: str | None, canister: str | None) -> str:
    return f"{tank or ''}/{canister}" if canister else tank or ""


def _counted(body: Mapping[str, Any]) -> Item:
    what, name = str(body.get("what")), str(body.get("item") or "")
    lot = str(body.get("lot") or "")
    if what == "inserts":
        return Item(INSERT, "progesterone_insert", lot)
    if what == "straws":
        return Item(SEMEN, name, lot, str(body.get("place") or ""), "conventional")
    if what == "units" and ML in {body.get("unit"), body.get("place")}:
        return Item(DRUG, name, lot)
    return Item(OTHER, name, lot)


def _used(event: Event) -> Change | None:
    """What one treatment or insemination took out of stock."""
    body, at = event.body, event.occurred_at
    if event.kind is Kind.INSERT_PLACED:
        item = Item(INSERT, "progesterone_insert", body.get("lot") or "")
        return Change(item, at, -1.0, "used")
    if event.kind is Kind.TREATED and body.get("active") and body.get("dose_ml"):
        item = Item(DRUG, str(body["active"]), body.get("lot") or "")
        return Change(item, at, -float(body["dose_ml"]), "used")
    if event.kind is Kind.INSEMINATED and body.get("sire", "unknown") != "unknown":
        place = _tank(body.get("tank"), body.get("canister"))
        semen = str(body.get("semen") or "conventional")
        item = Item(SEMEN, str(body["sire"]), body.get("batch") or "", place, semen)
        return Change(item, at, -float(body.get("straws") or 1), "used")
    return None

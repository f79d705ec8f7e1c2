"""From the state of a ledger to the running season at an instant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunup.base.hours import find_zone
from sunup.planning.females_now import FemaleNow, read_female
from sunup.planning.nitrogen import Level
from sunup.planning.progress import Act
from sunup.planning.stock import DRUG, INSERT, OTHER, SEMEN, Change, Count, Item
from sunup.records import observations as o

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from sunup.planning.heats import HeatFigures
    from sunup.records.state import FemaleRecord, HerdState

ML = "ml"  # stands as the place of a count of units that is in millilitres of a drug
_PASSED_ON = (o.Watched, o.Fed)


@dataclass(frozen=True, slots=True)
class PlanVersion:
    """A plan as it stood: its id and season, the plan's plain values, the event that set it."""

    plan_id: str
    season: str
    plan: Mapping[str, Any]
    adopted_at: datetime
    event: str


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a ledger says up to an instant, before a plan is read from its plain values."""

    females: Mapping[str, FemaleNow]
    group_acts: Mapping[str, tuple[Act, ...]]
    plans: tuple[PlanVersion, ...]  # in order of adoption
    forecasts: Mapping[tuple[str, str], Mapping[str, Any]]  # by plan id and group
    changes: tuple[Change, ...]
    counts: tuple[Count, ...]
    levels: Mapping[str, tuple[Level, ...]]
    settings: Mapping[str, Any]


def read_recorded(state: HerdState, *, at: datetime, figures: HeatFigures, zone: str) -> Recorded:
    """Read everything the running season is made from, as it stood at an instant.

    Parameters
    ----------
    state : HerdState
    at : datetime
        What happened later is not seen.
    figures : HeatFigures
    zone : str
        IANA zone of the ranch.
    """
    place = find_zone(zone)
    females: dict[str, FemaleNow] = {}
    for key, record in (*state.females.items(), *state.unplaced.items()):
        female = read_female(
            record,
            at=at,
            zone=place,
            figures=figures,
            with_bulls=state.with_bulls(record),
            of_group=_of_groups(record, state),
        )
        if female is not None:
            females[key] = female
    changes, counts = _stock(state, females.values(), at)
    return Recorded(
        females=females,
        group_acts={
            name: tuple(_acts(x for x in group.log if x.at <= at))
            for name, group in state.groups.items()
        },
        plans=_plans(state, at),
        forecasts={
            (f.plan_id, str(f.forecast.get("group", ""))): f.forecast
            for f in state.forecasts
            if f.at <= at
        },
        changes=changes,
        counts=counts,
        levels={
            tank: tuple(Level(x.at, x.level_cm, x.filled) for x in log)
            for tank, log in state.nitrogen.items()
        },
        settings={key: setting.value for key, setting in state.settings.items()},
    )


def _of_groups(record: FemaleRecord, state: HerdState) -> list[o.Observation]:
    """Watches and feed of her groups while she was in them."""
    found: list[o.Observation] = []
    for stay in record.stays:
        group = state.groups.get(stay.group)
        if group is not None:
            found += [x for x in group.log if isinstance(x, _PASSED_ON) and stay.holds(x.at)]
    return found


def _acts(log: Iterable[o.Observation]) -> Iterable[Act]:
    """What was done to a group as a whole, in the words of steps."""
    for x in log:
        do, step = "", None
        if isinstance(x, o.Watched):
            do = "watch"
        elif isinstance(x, o.BullsIn):
            do = "bulls_in"
        elif isinstance(x, o.BullsOut):
            do = "bulls_out"
        elif isinstance(x, o.Fed) and x.feed == "melengestrol":
            do = "mga_start" if x.first_day else "mga_end" if x.last_day else "fed"
            step = x.step
        elif isinstance(x, o.Treated):
            do, step = x.act, x.step
        if do:
            yield Act(do, x.at, x.event, x.by, step)


def _plans(state: HerdState, at: datetime) -> tuple[PlanVersion, ...]:
    told = []
    for record in state.plans.values():
        versions = [v for v in (record.adopted, *record.changes) if v.at <= at]
        if versions:
            last = versions[-1]
            told.append(
                PlanVersion(record.plan_id, record.season, last.plan, record.adopted.at, last.event)
            )
    return tuple(sorted(told, key=lambda p: (p.adopted_at, p.event)))


def _stock(
    state: HerdState, females: Iterable[FemaleNow], at: datetime
) -> tuple[tuple[Change, ...], tuple[Count, ...]]:
    changes = [_moved(x) for x in state.stock if x.at <= at]
    counts = [
        Count(_counted(x), x.at, x.count) for x in state.tallies if x.what != "head" and x.at <= at
    ]
    for female in females:
        changes += _used(female)
    return tuple(changes), tuple(counts)


def _moved(x: o.StockMoved) -> Change:
    amount = x.amount
    if x.unit == "straws" or x.item == "semen":
        item = Item(
            SEMEN,
            x.sire or "unknown",
            x.batch or "",
            _tank(x.tank, x.canister),
            x.semen or "conventional",
        )
    elif x.unit == "inserts" or x.item in {"insert", "progesterone_insert"}:
        item = Item(INSERT, "progesterone_insert", x.lot or "")
    elif x.unit in {"ml", "bottles"}:
        item = Item(DRUG, x.item, x.lot or "")
        amount *= (x.bottle_ml or 0.0) if x.unit == "bottles" else 1.0
    else:
        item = Item(OTHER, x.item, x.lot or "")
    return Change(
        item,
        x.at,
        amount,
        x.why,
        expires_on=x.expires_on,
        bottle_ml=x.bottle_ml,
        cost=x.cost,
    )


def _tank(tank: str | None, canister: str | None) -> str:
    return f"{tank or ''}/{canister}" if canister else tank or ""


def _counted(x: o.Tallied) -> Item:
    name, lot = x.item or "", x.lot or ""
    if x.what == "inserts":
        return Item(INSERT, "progesterone_insert", lot)
    if x.what == "straws":
        return Item(SEMEN, name, lot, x.place or "", "conventional")
    if x.what == "units" and x.place == ML:
        return Item(DRUG, name, lot)
    return Item(OTHER, name, lot)


def _used(female: FemaleNow) -> Iterable[Change]:
    for given in female.given:
        if given.what == "insert_in":
            yield Change(Item(INSERT, "progesterone_insert", given.lot), given.at, -1.0, "used")
        elif given.active and given.ml:
            yield Change(Item(DRUG, given.active, given.lot), given.at, -given.ml, "used")
    for service in female.services:
        if service.sire != "unknown":
            place = _tank(service.tank, service.canister)
            item = Item(SEMEN, service.sire, service.batch, place, service.semen)
            yield Change(item, service.at, -float(service.straws), "used")


__all__ = ["ML", "PlanVersion", "Recorded", "read_recorded"]

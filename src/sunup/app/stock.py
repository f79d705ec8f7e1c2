"""Use-cases of the shelf: bought, counted, running out; inserts in and out; who read what."""

from __future__ import annotations

import math
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from sunup.app.desk import READ_CAUTION
from sunup.base.hours import hours_between, to_local
from sunup.base.problems import UsageError
from sunup.planning.insemination_list import straws
from sunup.planning.insert_count import tally_inserts
from sunup.planning.nitrogen import NitrogenFigures, TankState, judge_tank
from sunup.planning.progress import Phase
from sunup.planning.season_from_events import ML
from sunup.planning.season_now import follow
from sunup.planning.stock import (
    DRUG,
    INSERT,
    SEMEN,
    Balance,
    DoseCount,
    InsertCount,
    Item,
    Need,
    RunsOut,
    balances,
    find_shortages,
)
from sunup.planning.warnings import TWICE_KEY
from sunup.protocols.protocol import Do
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from sunup.app.desk import Desk
    from sunup.planning.females_now import Given
    from sunup.planning.plan import GroupPlan
    from sunup.planning.progress import GroupProgress, GroupStep

WHY = ("bought", "broken", "expired", "returned", "moved", "used")


def stock_now(desk: Desk) -> tuple[Balance, ...]:
    """Everything kept, at the desk's instant."""
    season = desk.season
    on = to_local(season.at, season.zone).date()
    drugs = [c for c in season.changes if c.item.kind != SEMEN]
    counts = [c for c in season.counts if c.item.kind != SEMEN]
    return (*balances(drugs, counts, at=season.at, on=on), *_straws(desk))


def _straws(desk: Desk) -> list[Balance]:
    """Straws by place, each use taken from where it can have come from."""
    lines = []
    for count in straws(desk.season).counts:
        place = count.place
        where = "/".join(p for p in (place.tank, place.canister) if p)
        flags = []
        if count.left < 0:
            flags.append(f"{-count.left:g} straws more used than came in: count them")
        lines.append(
            Balance(
                item=Item(SEMEN, place.sire, place.batch, where, place.semen),
                bought=count.came,
                used=float(count.used),
                lost=0.0,
                on_hand=count.left,
                expires_on=None,
                bottle_ml=None,
                counted_at=None,
                missing=0.0,
                flags=tuple(flags),
            )
        )
    return lines


def find_needs(desk: Desk, progress: Sequence[GroupProgress] | None = None) -> tuple[Need, ...]:
    """What the season's coming steps take: drugs, inserts and straws for the females to go."""
    season = desk.season
    if season.in_force is None:
        return ()
    followed = progress or [follow(season, g) for g in season.in_force.plan.groups]
    needs: list[Need] = []
    for group in followed:
        for line in group.steps:
            head = len(line.of_phase(Phase.DUE, Phase.COMING))
            needs += [
                Need(kind, name, group.group, line.step.id, line.step.words, line.at, amount)
                for kind, name, amount in _takes(line, season.group(group.group), head)
            ]
    return tuple(needs)


def _takes(line: GroupStep, plan: GroupPlan | None, head: int) -> list[tuple[str, str, float]]:
    """What one step takes for so many females: (kind, name, amount)."""
    step = line.step
    if head == 0:
        return []
    if step.do == Do.AI.value:
        sires = plan.sires if plan is not None else ()
        return [(SEMEN, use.code, float(round(head * use.share))) for use in sires]
    if step.do == Do.INSERT_IN.value:
        return [(INSERT, "progesterone_insert", float(head))]
    if step.dose is not None and step.dose.ml_each is not None:
        return [(DRUG, step.dose.active.partition("/")[0], head * step.dose.ml_each)]
    return []


def count_inserts(desk: Desk) -> tuple[InsertCount, ...]:
    """Inserts of each group as it was then: in, out, lost, still in somebody."""
    return tally_inserts(desk.season.females.values())


def count_doses(desk: Desk) -> tuple[DoseCount, ...]:
    """Doses recorded against females treated, by drug and the group each was in then."""
    found: dict[tuple[str, str], list[tuple[str, Given]]] = {}
    twice_h = desk.library.number(TWICE_KEY)
    for female in desk.season.females.values():
        for given in female.given:
            if given.what != "insert_in":
                key = (female.group_at(given.at), given.active or given.what)
                found.setdefault(key, []).append((female.tag, given))
    return tuple(
        DoseCount(
            group=group,
            name=name,
            females=len({tag for tag, _ in told}),
            doses=len(told),
            ml_recorded=sum(given.ml or 0.0 for _, given in told),
            without_amount=sum(given.ml is None for _, given in told),
            twice=_twice(told, min(twice_h, _apart(desk, group, told[0][1].what))),
        )
        for (group, name), told in sorted(found.items())
    )


def _apart(desk: Desk, group: str, do: str) -> float:
    """Half the hours between two doses of a kind that the plan of a group gives nearest in time."""
    plan = desk.season.group(group)
    steps = () if plan is None else plan.schedule
    ats = sorted(step.at_utc for step in steps if step.do == do and not step.cancelled)
    return min((0.5 * hours_between(a, b) for a, b in pairwise(ats) if b > a), default=math.inf)


def _twice(told: Sequence[tuple[str, Given]], within_h: float) -> tuple[str, ...]:
    """Tags of females given the same drug twice within so many hours."""
    times: dict[str, list[datetime]] = {}
    for tag, given in told:
        times.setdefault(tag, []).append(given.at)
    return tuple(
        tag
        for tag, ats in times.items()
        if any(hours_between(a, b) <= within_h for a, b in pairwise(sorted(ats)))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """Something bought, lost or counted, as it was said."""

    item: str
    amount: float
    unit: str | None = None
    lot: str | None = None
    expires_on: date | None = None
    bottle_ml: float | None = None
    sire: bool = False
    semen: str | None = None
    tank: str | None = None
    canister: str | None = None
    cost: float | None = None
    note: str | None = None


def _kind_of(desk: Desk, parcel: Parcel) -> tuple[str, str]:
    """(kind, name) of what was named: an active by key or name, inserts, a sire, a supply."""
    told = parcel.item.strip()
    if parcel.sire:
        return SEMEN, told
    folded = told.casefold().replace(" ", "_")
    if folded in {"insert", "inserts", "progesterone_insert"}:
        return INSERT, "progesterone_insert"
    for key, active in desk.library.actives.items():
        if folded in {key, active.name.casefold().replace(" ", "_")}:
            return DRUG, key
    begun = [key for key in desk.library.actives if key.startswith(folded)]
    if len(begun) == 1:
        return DRUG, begun[0]
    if len(begun) > 1:
        message = f"'{told}' may be {', '.join(begun)}. Say which."
        raise UsageError(message)
    return "other", told


def find_active(desk: Desk, named: str) -> str | None:
    """Key of the active a word names, by key, name or its beginning; None where it names none.

    Raises
    ------
    UsageError
        If the word is the beginning of several.
    """
    kind, name = _kind_of(desk, Parcel(item=named, amount=1))
    return "progesterone_insert" if kind == INSERT else name if kind == DRUG else None


def move_stock(desk: Desk, parcel: Parcel, *, why: str, at: datetime) -> Event:
    """Record that something came in or went out other than by treatments.

    Drugs are in millilitres, or bottles of `bottle_ml`; inserts and straws by number.

    Raises
    ------
    UsageError
        If the reason, the unit or the amount makes no sense.
    """
    if why not in WHY:
        message = f"--why '{why}' is not known. Choose one of: {', '.join(WHY)}."
        raise UsageError(message)
    if parcel.amount <= 0:
        message = "Give an amount above 0; --why says whether it came in or went out."
        raise UsageError(message)
    kind, name = _kind_of(desk, parcel)
    unit = _unit(kind, parcel)
    amount = parcel.amount if why == "bought" else -parcel.amount
    body: dict[str, Any] = {
        "item": "semen" if kind == SEMEN else "insert" if kind == INSERT else name,
        "unit": unit,
        "amount": amount,
        "why": why,
        "expires_on": parcel.expires_on.isoformat() if parcel.expires_on else None,
        "bottle_ml": parcel.bottle_ml,
        "cost": parcel.cost,
        "note": parcel.note,
    }
    if kind == SEMEN:
        body |= {
            "sire": name,
            "batch": parcel.lot,
            "semen": parcel.semen or "conventional",
            "tank": parcel.tank,
            "canister": parcel.canister,
        }
    else:
        body["lot"] = parcel.lot
    event = desk.writer.batch().write(Kind.STOCK_MOVED, body, at=at)
    desk.append([event])
    return event


def doubt_loss(desk: Desk, parcel: Parcel) -> str | None:
    """What to ask about something that went out; None where stock holds it and enough of it.

    Parameters
    ----------
    desk : Desk
        As it was before.
    parcel : Parcel
    """
    kind, name = _kind_of(desk, parcel)
    shelf = stock_now(desk)
    held = [b for b in shelf if b.item.kind == kind and b.item.name.casefold() == name.casefold()]
    if not held:
        other = [b for b in shelf if b.item.name.casefold() == name.casefold()]
        if any(b.item.kind == SEMEN for b in other):
            return f"{name} is on file as a sire: straws lost are recorded with --straws"
        known = sorted({b.item.name for b in shelf} | set(desk.library.actives))
        near = get_close_matches(name, known, n=2)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        return f"nothing named '{name}' is on file in stock{hint}"
    if parcel.lot:
        held = [b for b in held if b.item.lot.casefold() == parcel.lot.casefold()]
    on_hand = sum(b.on_hand or 0.0 for b in held)
    unit = _unit(kind, parcel)
    lost = parcel.amount * ((parcel.bottle_ml or 0.0) if unit == "bottles" else 1.0)
    if lost <= on_hand:
        return None
    of_lot = f" of lot {parcel.lot}" if parcel.lot else ""
    words = "mL" if kind == DRUG else unit
    return f"{lost:g} {words} out, and {on_hand:g}{of_lot} on hand by the records"


def _unit(kind: str, parcel: Parcel) -> str:
    if kind == SEMEN:
        return "straws"
    if kind == INSERT:
        return "inserts"
    if kind != DRUG:
        return parcel.unit or "units"
    unit = (parcel.unit or ("bottles" if parcel.bottle_ml else "ml")).lower()
    if unit == "bottles" and not parcel.bottle_ml:
        message = "How big is a bottle? Give --bottle-ml."
        raise UsageError(message)
    if unit not in {"ml", "bottles"}:
        message = f"Drugs are counted in ml or bottles, not '{unit}'."
        raise UsageError(message)
    return unit


def count_stock(desk: Desk, parcel: Parcel, *, at: datetime) -> Event:
    """Record how much there was when somebody counted; the balance goes on from there."""
    kind, name = _kind_of(desk, parcel)
    what = {SEMEN: "straws", INSERT: "inserts"}.get(kind, "units")
    place = "/".join(p for p in (parcel.tank, parcel.canister) if p) if kind == SEMEN else ""
    amount = parcel.amount
    if kind == DRUG and _unit(kind, parcel) == "bottles":
        amount *= parcel.bottle_ml or 0.0
    body = {
        "what": what,
        "count": amount,
        "unit": ML if kind == DRUG else None,
        "item": name,
        "lot": parcel.lot,
        "place": place or None,
        "note": parcel.note,
    }
    event = desk.writer.batch().write(Kind.TALLIED, body, at=at)
    desk.append([event])
    return event


def read_nitrogen(desk: Desk, tank: str, level_cm: float, *, filled: bool, at: datetime) -> Event:
    """Record the level of a semen tank, read with the stick."""
    if level_cm < 0:
        message = "A level is 0 cm or more."
        raise UsageError(message)
    body = {"tank": tank, "level_cm": level_cm, "filled": filled or None}
    event = desk.writer.batch().write(Kind.NITROGEN_READ, body, at=at)
    desk.append([event])
    return event


@dataclass(frozen=True, slots=True)
class CautionsOf:
    """The human-safety lines of one active, and who has read them."""

    active: str
    name: str
    texts: tuple[str, ...]
    read_by: tuple[str, ...]


def find_cautions(desk: Desk) -> tuple[CautionsOf, ...]:
    """Cautions of every drug the plan gives, with who said to have read them.

    Nobody's health is asked or stored: only that the lines were read.
    """
    in_force = desk.need_plan()
    used = dict.fromkeys(
        step.dose.active.partition("/")[0]
        for group in in_force.plan.groups
        for step in group.schedule
        if step.dose is not None and not step.cancelled
    )
    told = []
    for key in used:
        active = desk.library.actives.get(key)
        if active is None:
            continue
        readers = sorted(p for p, read in desk.season.acknowledged.items() if key in read)
        texts = tuple(c.text for c in active.cautions)
        told.append(CautionsOf(key, active.name, texts, tuple(readers)))
    return tuple(told)


def unread_by(desk: Desk, person: str, active: str | None) -> bool:
    """Whether a person has not yet said to have read the cautions of an active."""
    if active is None or not person:
        return False
    return active not in desk.season.acknowledged.get(person, frozenset())


def read_cautions(desk: Desk, person: str, *, at: datetime) -> tuple[Event, ...]:
    """Keep that a person has read the cautions of every drug the plan gives.

    Raises
    ------
    UsageError
        If no person is named.
    """
    name = person.strip()
    if not name or "/" in name:
        message = "Say who has read them: --by NAME (without a slash)."
        raise UsageError(message)
    pen = desk.writer.batch()
    events = tuple(
        pen.write(
            Kind.SETTING_CHANGED,
            {"key": f"{READ_CAUTION}{name}/{line.active}", "value": {"value": True}},
            at=at,
        )
        for line in find_cautions(desk)
        if name not in line.read_by
    )
    desk.append(events)
    return events


def drugs_of_visit(desk: Desk, group_name: str, visit: str) -> tuple[tuple[str, str], ...]:
    """Drugs a visit of a group gives: (key of the active, name)."""
    group = desk.season.group(desk.need_group(group_name))
    found = {
        step.dose.active.partition("/")[0]: step.dose.name
        for step in (group.schedule if group is not None else ())
        if visit in {step.visit, step.id} and step.dose is not None and not step.cancelled
    }
    return tuple(found.items())


@dataclass(frozen=True, slots=True)
class Shelf:
    """Everything kept at an instant, and what does not add up."""

    balances: tuple[Balance, ...]
    inserts: tuple[InsertCount, ...]
    doses: tuple[DoseCount, ...]
    tanks: tuple[TankState, ...]
    runs_out: tuple[RunsOut, ...]


def find_tanks(desk: Desk) -> tuple[TankState, ...]:
    """Every semen tank: level, fall, day to refill."""
    figures = NitrogenFigures.of(desk.library)
    told = [
        judge_tank(tank, levels, at=desk.season.at, zone=desk.season.zone, figures=figures)
        for tank, levels in desk.season.levels.items()
    ]
    return tuple(tank for tank in told if tank is not None)


def find_shelf(desk: Desk) -> Shelf:
    """Draw the shelf at the desk's instant."""
    stock = stock_now(desk)
    on = to_local(desk.season.at, desk.season.zone).date()
    return Shelf(
        balances=stock,
        inserts=count_inserts(desk),
        doses=count_doses(desk),
        tanks=find_tanks(desk),
        runs_out=find_shortages(find_needs(desk), stock, on=on),
    )

"""Use-cases of recording what no plan asks for: a drug, a vaccine, a bull's exam."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.app.record_facts import Made, record_each
from sunup.app.stock import find_active
from sunup.base.problems import UsageError
from sunup.planning.returns import Bull, ReturnFigures, bull_power
from sunup.planning.warnings import VACCINATES, Intent
from sunup.protocols.protocol import INJECTIONS, Do, Style
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime

    from sunup.app.desk import Desk
    from sunup.app.record import Entry
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import GroupPlan
    from sunup.planning.returns import BullPower

OTHER = "other"
_INJECTED = frozenset(do.value for do in INJECTIONS)
_INSERT_OUT = frozenset({"insert_out", "insert-out"})
RESULTS = ("satisfactory", "deferred", "unsatisfactory")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """What was said of a drug given; absent where nothing was said."""

    ml: float | None = None
    share: float | None = None
    lot: str | None = None
    expires_on: date | None = None
    withdrawal_days: float | None = None
    site: str | None = None
    note: str | None = None
    lost: frozenset[str] = frozenset()  # insert out: tags that had none


def find_drug(desk: Desk, named: str) -> tuple[str, str | None]:
    """What a word names: the act, and the active where the word is one.

    "pgf" is an act whose active the plan of her group says; "cloprostenol" an active; a word the
    library does not know is a drug of that name.

    Raises
    ------
    UsageError
        If it is a feed, or the beginning of several actives.
    """
    word = named.strip().casefold().replace(" ", "_")
    if word in _INJECTED:
        return word, None
    if word in _INSERT_OUT:
        return Do.INSERT_OUT.value, None
    active = find_active(desk, named)
    if active is None:
        return OTHER, named.strip()
    does = desk.library.actives[active].does
    if does in {Do.MGA_START.value, Do.MGA_END.value}:
        message = f"{named} is fed to a group: sunup record feed GROUP."
        raise UsageError(message)
    return does, active


def record_drug(
    desk: Desk,
    named: str,
    tags: Sequence[str],
    *,
    at: datetime,
    until: datetime | None = None,
    dose: Dose | None = None,
    keep: bool = True,
) -> Entry:
    """Record a drug given off the plan, or an insert put in or taken out off it.

    The plan's millilitres are taken where it gives her group the same drug and none were said.

    Raises
    ------
    UsageError
        If the word names no one drug.
    """
    dose = dose or Dose()
    act, active = find_drug(desk, named)

    def make(female: FemaleNow | None, when: datetime) -> Made:
        group = desk.season.group(female.group) if female is not None else None
        found = not (
            female is not None and {female.tag, female.facts.rfid, *female.tags} & dose.lost
        )
        kind, body = _given(act, active, dose, group=group, found=found)
        intent = Intent(
            do=act,
            at=when,
            zone=desk.season.zone,
            expires_on=dose.expires_on,
            found=found,
            share=dose.share if kind is Kind.TREATED else None,
        )
        return kind, body, intent

    words = named.strip() if act == OTHER or active else act.replace("_", " ")
    return record_each(desk, tags, make, at=at, until=until, words=words, keep=keep)


def _given(
    act: str, active: str | None, dose: Dose, *, group: GroupPlan | None, found: bool
) -> tuple[Kind, dict[str, Any]]:
    bottle = {
        "lot": dose.lot,
        "expires_on": dose.expires_on.isoformat() if dose.expires_on else None,
        "withdrawal_days": dose.withdrawal_days,
        "note": dose.note,
    }
    if act == Do.INSERT_IN:
        return Kind.INSERT_PLACED, bottle
    if act == Do.INSERT_OUT:
        return Kind.INSERT_REMOVED, {"found": found, "note": dose.note}
    planned, planned_ml = _planned(act, active, group)
    ml = dose.ml
    if ml is None and planned_ml is not None:
        ml = planned_ml * (1.0 if dose.share is None else dose.share)
    body = {
        "act": act,
        "active": active or planned,
        "dose_ml": ml,
        "dose_share": dose.share,
        "site": dose.site,
        **bottle,
    }
    return Kind.TREATED, body


def _planned(
    act: str, active: str | None, group: GroupPlan | None
) -> tuple[str | None, float | None]:
    """Active and millilitres the plan of her group gives for an act."""
    doses = {
        (step.dose.active.partition("/")[0], step.dose.ml_each)
        for step in (group.schedule if group is not None else ())
        if step.do == act and step.dose is not None and not step.cancelled
    }
    fits = [(key, ml) for key, ml in doses if active in {None, key}]
    return fits[0] if len(fits) == 1 else (None, None)


def record_vaccine(
    desk: Desk,
    tags: Sequence[str],
    body: Mapping[str, Any],
    *,
    at: datetime,
    until: datetime | None = None,
    keep: bool = True,
) -> Entry:
    """Record a vaccination; too near breeding, or in pregnancy, it is flagged.

    Parameters
    ----------
    body : mapping
        As the event keeps it: against, modified_live, lot, note.
    """

    def make(female: FemaleNow | None, when: datetime) -> Made:
        group = desk.season.group(female.group) if female is not None else None
        intent = Intent(
            do=VACCINATES,
            at=when,
            zone=desk.season.zone,
            modified_live=body.get("modified_live"),
            first_ai_on=_first_ai(group, desk),
        )
        return Kind.VACCINATED, body, intent

    words = f"vaccinated against {body['against']}"
    return record_each(desk, tags, make, at=at, until=until, words=words, keep=keep)


def _first_ai(group: GroupPlan | None, desk: Desk) -> date | None:
    """Day of the first insemination a group's plan has."""
    steps = group.schedule if group is not None else ()
    ats = [s.at_utc for s in steps if s.do == Do.AI.value and not s.cancelled]
    return min(ats).astimezone(desk.season.zone).date() if ats else None


def record_exams(
    desk: Desk,
    bulls: Mapping[str, float | None],
    *,
    result: str,
    at: datetime,
    note: str | None = None,
) -> tuple[tuple[Event, ...], tuple[tuple[str, str], ...]]:
    """Record breeding soundness exams of bulls.

    Parameters
    ----------
    bulls : mapping of name or tag to scrotal circumference, cm
    result : str

    Returns
    -------
    events, and (bull, group he runs with) of those who may not serve and are with females

    Raises
    ------
    UsageError
        If the result is none we know.
    """
    if result not in RESULTS:
        message = f"--result '{result}' is not known. Choose one of: {', '.join(RESULTS)}."
        raise UsageError(message)
    pen = replace(desk.writer.batch(), zone=desk.zone_name)
    events = tuple(
        pen.write(
            Kind.BULL_EXAMINED,
            {"bull": bull, "result": result, "scrotum_cm": cm, "note": note},
            at=at,
        )
        for bull, cm in bulls.items()
    )
    desk.append(events)
    runs_with = {
        name.casefold(): span.group
        for female in desk.season.females.values()
        for span in female.with_bulls
        if span.until_at is None
        for name in span.bulls
    }
    bad = [b for b in bulls if result != RESULTS[0] and b.casefold() in runs_with]
    return events, tuple((b, runs_with[b.casefold()]) for b in bad)


def find_exams(desk: Desk) -> dict[str, tuple[date, str]]:
    """Last exam of each bull: day and result, by his name in small letters."""
    return {
        str(e.body["bull"]).casefold(): (
            e.occurred_at.astimezone(desk.season.zone).date(),
            str(e.body["result"]),
        )
        for e in desk.standing
        if e.kind is Kind.BULL_EXAMINED and e.body.get("bull") and e.body.get("result")
    }


def check_bulls(desk: Desk, group_name: str, bulls: Sequence[str], *, at: datetime) -> BullPower:
    """Whether bulls turned in are enough for the females of a group, and their exams in date.

    Where the group's plan is natural service of synchronised heats they serve fewer each.
    """
    name = desk.need_group(group_name)
    plan = desk.season.in_force.plan if desk.season.in_force is not None else None
    chosen = next((g.chosen for g in plan.groups if g.name == name), None) if plan else None
    protocol = desk.library.protocols.get(chosen or "")
    exams = find_exams(desk)
    told = []
    for bull in bulls:
        on, result = exams.get(bull.casefold(), (None, None))
        told.append(Bull(bull, examined_on=on, exam=result))
    return bull_power(
        told,
        n_females=sum(f.group == name and f.is_here for f in desk.season.females.values()),
        bulls_in_on=at.astimezone(desk.season.zone).date(),
        is_synchronised=protocol is not None and protocol.style is Style.NATURAL_SERVICE,
        figures=ReturnFigures.of(desk.library),
    )

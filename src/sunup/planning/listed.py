"""A line of a herd list as facts of the ledger: what it says of her, and of which day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunup.records.event import Kind
from sunup.records.female import Cycling, ExposureKind, Female

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact of a female: kind and body of its event, and the day it is of."""

    kind: Kind
    body: Mapping[str, Any]
    on: date


def added(female: Female) -> dict[str, Any]:
    """The body of FemaleAdded for a female on file; what is not known is left out."""
    body = {
        "tag": female.tag,
        "listed": True,
        "class": female.class_.value,
        "rfid": female.rfid,
        "born_on": female.born_on.isoformat() if female.born_on else None,
        "breed_shares": dict(female.breed_shares) or None,
        "sire": female.sire,
        "dam": female.dam,
        "calved_on": female.calved_on.isoformat() if female.calved_on else None,
        "calving_ease": female.calving_ease,
        "mature_weight_kg": female.mature_weight_kg,
        "ever_given_estradiol": female.ever_given_estradiol,
        "note": female.remarks,
    }
    return {key: value for key, value in body.items() if value is not None}


def facts_of(female: Female, listed_on: date) -> tuple[Fact, ...]:
    """Everything a herd list says of a female, as facts.

    Parameters
    ----------
    female : Female
    listed_on : date
        The day of the list; what carries no day of its own is of that day.

    Returns
    -------
    tuple of Fact
        FemaleAdded first; the rest in time order. A due date is not held by the ledger.
    """
    facts = [*_measures(female, listed_on), *_breeding(female, listed_on)]
    if female.retained_membranes and female.calved_on is not None:
        body: dict[str, Any] = {"retained_membranes": True}
        if female.calving_ease is not None:
            body["ease"] = female.calving_ease
        facts.append(Fact(Kind.CALVED, body, female.calved_on))
    if female.hold_reason is not None:
        facts.append(Fact(Kind.HOLD_SET, {"why": female.hold_reason}, listed_on))
    first = Fact(Kind.FEMALE_ADDED, added(female), listed_on)
    return (first, *sorted(facts, key=lambda fact: fact.on))


def _measures(female: Female, on: date) -> list[Fact]:
    pairs = (
        (Kind.CONDITION_SCORED, "score", female.condition),
        (Kind.WEIGHED, "weight_kg", female.weight_kg),
        (Kind.TRACT_SCORED, "score", female.tract_score),
        (Kind.PELVIS_MEASURED, "area_cm2", female.pelvic_area_cm2),
    )
    facts = [Fact(kind, {key: value}, on) for kind, key, value in pairs if value is not None]
    if female.cycling is not None:
        cycling = female.cycling is Cycling.CYCLING
        facts.append(Fact(Kind.OVARY_SCANNED, {"cycling": cycling}, on))
    return facts


def _breeding(female: Female, listed_on: date) -> list[Fact]:
    facts: list[Fact] = []
    for seen in female.exposure.parts if female.exposure is not None else ():
        if seen.kind is ExposureKind.AI:
            facts.append(Fact(Kind.INSEMINATED, {"sire": "unknown"}, seen.from_on))
            continue
        facts.append(Fact(Kind.BULLS_IN, {"bulls": ["not named"]}, seen.from_on))
        if seen.until_on is not None:
            facts.append(Fact(Kind.BULLS_OUT, {}, seen.until_on))
    if female.last_heat_on is not None:
        facts.append(Fact(Kind.HEAT_SEEN, {"sign": "other"}, female.last_heat_on))
    if female.pregnancy is not None:
        method = female.pregnancy_method.value if female.pregnancy_method else "other"
        facts.append(
            Fact(
                Kind.PREGNANCY_CHECKED,
                {"method": method, "result": female.pregnancy.value},
                female.pregnancy_checked_on or listed_on,
            )
        )
    return facts

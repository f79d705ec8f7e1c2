"""What is odd in a value itself: a weight no such animal has, a dose no such drug is given in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.quantities import KG_PER_LB
from sunup.records import observations as o
from sunup.records.odd import day

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sunup.records.odd import Odd
    from sunup.records.odd_case import Case

# what may lie before her birth: who she is, and where she stands
_NOT_HERS = (o.Added, o.Identified, o.TagChanged, o.Moved, o.HoldSet, o.HoldLifted)


def _weights(case: Case) -> Iterator[Odd]:
    for x in case.female.log:
        if isinstance(x, o.Weighed):
            yield from _weight(case, x, x.weight_kg, case.limits.weight_kg, "She weighed")
        elif isinstance(x, o.Weaned) and x.weight_kg is not None:
            each = x.weight_kg / max(1, x.calves or 1)
            yield from _weight(case, x, each, case.limits.weaned_kg, "A calf of hers was weaned at")
        elif isinstance(x, o.Calved):
            for calf in x.calves:
                if calf.weight_kg is not None:
                    told = "A calf of hers weighed at birth"
                    yield from _weight(case, x, calf.weight_kg, case.limits.born_kg, told)


def _weight(
    case: Case, x: o.Observation, kg: float, span: tuple[float, float], told: str
) -> Iterator[Odd]:
    low, high = span
    if low <= kg <= high:
        return
    yield case.odd(
        "weight_not_believed",
        x,
        f"{told} {kg:,.0f} kg ({kg / KG_PER_LB:,.0f} lb); {low:g} to {high:g} kg is believed.",
        "Read it again, the unit too, and put it right (sunup record correct, or record undo and "
        "say it again).",
    )


def _doses(case: Case) -> Iterator[Odd]:
    most = case.limits.dose_most_ml
    for x in case.female.of(o.Treated):
        if x.act != "other" and x.dose_ml is not None and x.dose_ml > most:
            yield case.odd(
                "dose_not_believed",
                x,
                f"{x.dose_ml:g} mL of {(x.active or x.act).replace('_', ' ')} were given; more "
                f"than {most:g} mL is no dose of such a drug.",
                "If it was another amount, put it right (sunup record correct). If she truly got "
                "so much, call the veterinarian.",
            )


def _before_birth(case: Case) -> Iterator[Odd]:
    born = case.female.added.born_on if case.female.added is not None else None
    if born is None:
        return
    early = [x for x in case.female.log if x.on < born and not isinstance(x, _NOT_HERS)]
    if early:
        first, *more = early
        n = f"{len(early)} things were" if more else "This was"
        yield case.odd(
            "before_birth",
            first,
            f"{n} recorded of a day before she was born ({day(born)}).",
            "The date, the tag or her day of birth is wrong: put it right, or take it back (sunup "
            "record undo NUMBER).",
            *more,
        )


VALUE_RULES: tuple[Callable[[Case], Iterator[Odd]], ...] = (_weights, _doses, _before_birth)

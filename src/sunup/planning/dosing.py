"""Which drug, in which strength, how much: from the step word to what is drawn up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.problems import UsageError
from sunup.base.quantities import Quantity, volume_ml
from sunup.planning.plan import DoseLine
from sunup.protocols.protocol import INJECTIONS, Do

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.library.active import Active, Strength
    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.protocols.protocol import Step

SYNCHRONISATION = "synchronisation"


class DrugChoiceError(UsageError):
    """A drug was asked for that cannot serve the step."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The active and strength used for one step word."""

    active: Active
    strength: Strength

    @property
    def key(self) -> str:
        """As written on the command line: active/strength."""
        return f"{self.active.key}/{self.strength.key}"


def choose_drug(
    does: str, *, library: Library, pack: RegionPack, asked: Mapping[str, str]
) -> Chosen | None:
    """Return the active and strength for a step word: the one asked for, else the region's usual.

    Returns None where the region names none and nothing was asked.

    Raises
    ------
    DrugChoiceError
        If what was asked for is unknown, serves another step, or is a strength that is not for
        synchronisation (the 125 ug/mL cloprostenol, for one).
    """
    wanted = asked.get(does) or pack.default(does)
    if wanted is None:
        return None
    key, _, strength_key = wanted.partition("/")
    active = library.actives.get(key)
    serving = [a for a in library.actives.values() if a.does == does]
    if active is None or active.does != does:
        offers = ", ".join(f"{a.key}/{s.key}" for a in serving for s in a.strengths)
        message = f"'{wanted}' does not serve a {does} step. Choose one of: {offers}."
        raise DrugChoiceError(message)
    try:
        strength = active.strength(strength_key) if strength_key else active.strengths[0]
    except KeyError:
        offers = ", ".join(s.key for s in active.strengths)
        message = f"{active.name} is not held in strength '{strength_key}'. Held: {offers}."
        raise DrugChoiceError(message) from None
    if SYNCHRONISATION not in strength.uses:
        message = (
            f"{active.name} {strength.amount} is held for {', '.join(strength.uses)}, not for "
            "synchronisation. Choose another strength."
        )
        raise DrugChoiceError(message)
    if strength.regions and pack.key not in strength.regions:
        message = (
            f"{active.name} {strength.amount} is held for {', '.join(strength.regions)}, not for "
            f"{pack.name}: the number may count another thing there ({strength.basis})."
        )
        raise DrugChoiceError(message)
    return Chosen(active, strength)


def check_drugs(asked: Mapping[str, str], *, library: Library, pack: RegionPack) -> None:
    """Refuse a drug that was asked for and cannot be used, before any protocol is looked at.

    Raises
    ------
    DrugChoiceError
        If no drug serves the step word, or `choose_drug` refuses the drug.
    """
    words = sorted({active.does for active in library.actives.values()})
    for does in asked:
        if does not in words:
            message = f"'{does}' is not a step that takes a drug. Steps: {', '.join(words)}."
            raise DrugChoiceError(message)
        choose_drug(does, library=library, pack=pack, asked=asked)


def dose_line(step: Step, chosen: Chosen, *, head: int, pack: RegionPack | None = None) -> DoseLine:
    """Return what one step gives each female and in all, with what the region asks of the drug.

    `ml_each` is None for what is not drawn up (inserts, feed).
    """
    full = chosen.strength.dose
    dose = Quantity(full.value * step.dose, full.unit)
    per_ml = chosen.strength.amount.unit.endswith("/mL")
    each = volume_ml(dose, chosen.strength.amount) if per_ml else None
    shown = str(dose) if step.do in INJECTIONS or step.do is Do.MGA_START else "1 insert"
    return DoseLine(
        active=chosen.key,
        name=chosen.active.name,
        strength=str(chosen.strength.amount),
        dose=shown,
        ml_each=each,
        ml_total=None if each is None else each * head,
        route=" or ".join(chosen.strength.routes),
        needle=chosen.active.needle,
        prescription=bool(chosen.active.prescription)
        or (pack is not None and pack.all_on_prescription),
        cautions=tuple(c.text for c in chosen.active.cautions),
        note=chosen.active.note,
        asks=() if pack is None else pack.asks_of(chosen.active.key),
    )

"""Units at the edge: weights, drug amounts, volumes."""

from __future__ import annotations

from dataclasses import dataclass

from sunup.base.problems import DomainError

KG_PER_LB = 0.45359237  # exact, international avoirdupois pound (1959 agreement)
CM_PER_IN = 2.54  # exact
_UG = {"ug": 1.0, "mg": 1_000.0, "g": 1_000_000.0}


class UnitError(DomainError):
    """Two amounts in units that cannot be brought together."""

    def __init__(self, found: str, allowed: str) -> None:
        super().__init__(f"unit '{found}' cannot be used here; allowed: {allowed}")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number and its unit."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}"


def kg_from(value: float, unit: str) -> float:
    """Bring a live weight to kilograms.

    Raises
    ------
    UnitError
        If `unit` is neither kg nor lb.
    """
    if unit == "kg":
        return value
    if unit == "lb":
        return value * KG_PER_LB
    raise UnitError(unit, "kg, lb")


def micrograms(amount: Quantity) -> float:
    """Bring a drug amount by mass to micrograms; refuses units of activity (IU)."""
    if amount.unit not in _UG:
        raise UnitError(amount.unit, ", ".join(_UG))
    return amount.value * _UG[amount.unit]


def volume_ml(dose: Quantity, strength: Quantity) -> float:
    """Volume to draw for a dose: dose over strength, with units checked.

    Parameters
    ----------
    dose : Quantity
        Mass of the active (ug, mg, g) or activity (IU).
    strength : Quantity
        The same per millilitre, as ``mg/mL``, ``ug/mL`` or ``IU/mL``.

    Returns
    -------
    float
        Millilitres.

    Raises
    ------
    UnitError
        If mass and activity are mixed or the strength is not per mL.

    Examples
    --------
    >>> volume_ml(Quantity(25, "mg"), Quantity(12.5, "mg/mL"))
    2.0
    """
    per, _, volume = strength.unit.partition("/")
    if volume != "mL":
        raise UnitError(strength.unit, "mg/mL, ug/mL, IU/mL")
    if dose.unit == "IU" or per == "IU":
        if dose.unit != per:
            raise UnitError(dose.unit, per)
        return dose.value / strength.value
    return micrograms(dose) / micrograms(Quantity(strength.value, per))

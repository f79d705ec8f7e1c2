"""Numbers as people write them: decimal commas, thousands, units beside the number."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sunup.base.quantities import kg_from
from sunup.exchange.faults import Fault

if TYPE_CHECKING:
    from collections.abc import Callable

_THOUSANDS = re.compile(r"[0-9]{1,3}(?:[, ][0-9]{3})+(?:\.[0-9]+)?")
_THOUSANDS_POINT = re.compile(r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+")
_PLAIN = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,15})?|[.,][0-9]{1,15}")
_HALF = re.compile(r"([0-9]{1,2})(?: ?½| 1/2)")
_WEIGHT = re.compile(r"([0-9][0-9., ]*?) ?(lb|lbs|pounds?|#|kgs?|kilos?|kilograms?)\.?")


def number_in(text: str) -> float | None:
    """Read an unsigned number; None where the text is none.

    A comma before exactly three digits parts thousands, any other comma is a decimal comma.

    Examples
    --------
    >>> number_in("1,150"), number_in("523,5"), number_in("1.150,5"), number_in("5 1/2")
    (1150.0, 523.5, 1150.5, 5.5)
    """
    if _THOUSANDS.fullmatch(text):
        return float(text.replace(",", "").replace(" ", ""))
    if _PLAIN.fullmatch(text):
        return float(text.replace(",", "."))
    if _THOUSANDS_POINT.fullmatch(text):
        return float(text.replace(".", "").replace(",", "."))
    half = _HALF.fullmatch(text)
    return float(half[1]) + 0.5 if half else None


def weight_reader(unit: str | None) -> Callable[[str], object]:
    """Make the reader of a weight column, in kilograms.

    Parameters
    ----------
    unit : str or None
        "lb" or "kg" as the header or the user said; None: only cells that name their unit are
        read, the others stay unknown (the header is reported once, not each cell).
    """

    def read(text: str) -> object:
        number, said = number_in(text), unit
        if number is None:
            match = _WEIGHT.fullmatch(text.casefold())
            number = number_in(match[1].strip()) if match else None
            if match:
                said = "kg" if match[2].startswith("k") else "lb"
        if number is None:
            return Fault(f"'{text[:40]}' is not a weight.", "Write a number such as 1150.")
        return None if said is None else kg_from(number, said)

    return read


def score_reader(name: str, lowest: int, highest: int, *, step: float) -> Callable[[str], object]:
    """Make the reader of a score between two ends in whole or half steps."""
    halves = step < 1
    steps = "whole numbers and halves" if halves else "whole numbers"
    fix = f"{name[0].upper()}{name[1:]} goes from {lowest} to {highest} in {steps}."

    def read(text: str) -> object:
        number = number_in(text)
        if number is None:
            return Fault(f"'{text[:40]}' is not a {name}.", fix)
        if not lowest <= number <= highest:
            return Fault(f"{name} {number:g} is outside {lowest} to {highest}.", fix)
        if (number / step) % 1:
            return Fault(f"{name} {number:g} lies between the steps of the scale.", fix)
        return number if halves else int(number)

    return read


def range_reader(name: str, lowest: float, highest: float, *, unit: str) -> Callable[[str], object]:
    """Make the reader of a measure that must lie in a plausible range."""

    def read(text: str) -> object:
        number = number_in(text.casefold().removesuffix(unit.casefold()).strip())
        if number is None:
            return Fault(f"'{text[:40]}' is not a {name}.", f"Write a number in {unit}.")
        if not lowest <= number <= highest:
            return Fault(
                f"{name} {number:g} {unit} is outside {lowest:g} to {highest:g}.",
                f"Check the number and its unit ({unit}).",
            )
        return number

    return read


def calvings_reader(most: int) -> Callable[[str], object]:
    """Make the reader of how often she has calved."""

    def read(text: str) -> object:
        number = number_in(text)
        if number is None or number % 1 or number > most:
            return Fault(f"'{text[:40]}' is not a number of calvings.", "Write 0, 1, 2 and so on.")
        return int(number)

    return read

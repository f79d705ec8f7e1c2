"""Active ingredients, with strengths bound to what each may be used for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sunup.base.figures import Seen
    from sunup.base.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Strength:
    """One strength of an active as it is sold.

    `basis` says what the number counts ("gonadorelin" or "gonadorelin diacetate tetrahydrate").
    `uses` names what this strength may be used for here; only a strength whose uses include
    "synchronisation" may stand in a plan. `dose` is one full dose in this strength. `pack_ml` are
    bottle sizes (mL); `pack_count` the count in a bag for inserts.
    """

    key: str  # unique in the active, e.g. "250"
    amount: Quantity  # Quantity(250, "ug/mL"); inserts Quantity(1.38, "g/insert")
    basis: str
    dose: Quantity
    uses: tuple[str, ...]
    routes: tuple[str, ...]
    regions: tuple[str, ...]  # region keys where this strength is known; empty = any
    partner: str | None  # key of the luteolytic its label pairs it with
    pack_ml: tuple[float, ...]
    pack_count: tuple[int, ...]
    source: tuple[str, ...]
    seen: Seen
    where: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """A line on the safety of people or of the animal, or on handling, with its source."""

    text: str
    source: tuple[str, ...]
    seen: Seen


@dataclass(frozen=True, slots=True)
class Active:
    """One active ingredient. `does` is the step word it serves (``gnrh``, ``pgf``, ...)."""

    key: str
    name: str
    does: str
    group: str  # pharmacological class in words
    prescription: bool | None
    needle: str
    strengths: tuple[Strength, ...]
    cautions: tuple[Caution, ...]
    note: str = ""

    def strength(self, key: str) -> Strength:
        """Return the strength of that key; KeyError if there is none."""
        for strength in self.strengths:
            if strength.key == key:
                return strength
        raise KeyError(key)

"""What ADE needs of the library: when the reading of a heat aid shows heat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.app.open import open_library
from sunup.planning.heats import HeatFigures, Says, Sighting, read_sighting

if TYPE_CHECKING:
    from collections.abc import Callable

    from sunup.exchange.standing import Standing


def shows_heat_of() -> Callable[[Standing], bool]:
    """Make the judge of readings of patches, chalk and collars, by the figures of the library."""
    library, _ = open_library()
    figures = HeatFigures.of(library)

    def shows_heat(one: Standing) -> bool:
        sighting = Sighting(
            one.at,
            str(one.body.get("aid", "")),
            score=one.body.get("score"),
            is_lost=bool(one.body.get("lost")),
        )
        return read_sighting(sighting, figures=figures) is Says.HEAT

    return shows_heat

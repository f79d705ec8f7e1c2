"""What a run reports of each female."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

MOST_HEATS = 12
OUTCOME = np.dtype(
    [
        ("first_ai_h", "f8"),
        ("chance_first", "f8"),  # of pregnancy at day 30 to the first service, before its luck
        ("second_ai_h", "f8"),  # of the second service by AI
        ("chance_second", "f8"),  # the same of the second, met only if the first failed
        ("conceived_h", "f8"),  # of the first pregnancy that reached day 30
        ("served_h", "f8"),  # the insemination or mating it is of
        ("calf_of_h", "f8"),  # the one a calf is born of: of a later pregnancy where that was lost
        ("p4_at_clock", "f8"),
        ("first_ovulation_h", "f8"),
        ("heat_on", "f8", (MOST_HEATS,)),
        ("heat_length", "f8", (MOST_HEATS,)),
        ("heat_seen", "f8", (MOST_HEATS,)),
        ("ovulation", "f8", (MOST_HEATS,)),
        ("ovulation_mm", "f8", (MOST_HEATS,)),
        ("emergence", "f8", (MOST_HEATS,)),
        ("luteolysis", "f8", (MOST_HEATS,)),  # hours at which a luteum began to fall by itself
        ("n_emergences", "i8"),
        ("n_falls", "i8"),
        ("is_endless", "i8"),  # more steps than a life can hold: a fault of the kernel
        ("n_heats", "i8"),
        ("n_ovulations", "i8"),
        ("n_ai", "i8"),
        ("n_services", "i8"),
        ("first_on_heat", "i8"),
        ("first_is_false", "i8"),  # on a mark that no heat made
        ("pregnant_first", "i8"),
        ("pregnant_second", "i8"),
        ("pregnant", "i8"),
        ("pregnant_by_bull", "i8"),
        ("cause_first", "i8"),
        ("was_cycling", "i8"),
        ("luteum_at_clock", "i8"),
        ("n_luteolysis", "i8"),
        ("luteum_stood", "i8"),  # after the clock PGF and any that followed it
        ("n_gnrh", "i8"),
        ("gnrh_ovulated", "i8", (4,)),
    ]
)
HEATS = ("heat_on", "heat_length", "heat_seen")  # a place for every heat
TRACED = 6  # numbers in a line of a trace: hour, p4, diameter, exposure, luteal p4, what it notes
DID_STEP, DID_EMERGE, DID_SPEND, DID_SURGE, DID_HEAT, DID_OVULATE = 0, 1, 2, 3, 4, 5
DID_AI, DID_GNRH, DID_PGF, DID_LOSE = 6, 7, 8, 9


def by_name(outcomes: NDArray[np.void], names: Sequence[str]) -> dict[str, NDArray[Any]]:
    """Lay fields of many females out, each in one piece of memory.

    A record is nearly a kilobyte: whoever reads a field more than once reads it faster from here.

    Parameters
    ----------
    outcomes : ndarray of OUTCOME, shape (replicates, n)
    names : sequence of str
        Fields wanted.

    Returns
    -------
    dict of str to ndarray
        Shape (replicates, n), of fields with places (replicates, n, places); of heats as many
        places as any female has filled, at least one.
    """
    filled = min(MOST_HEATS, max(1, int(outcomes["n_heats"].max(initial=0))))
    return {
        name: np.ascontiguousarray(
            outcomes[name][..., :filled] if name in HEATS else outcomes[name]
        )
        for name in names
    }

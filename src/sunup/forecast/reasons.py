"""Why a female is not pregnant to AI: one reason each, the first that stood in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sunup.physiology.fertility import (
    LOST_DAY_7,
    LOST_DAY_16,
    LOST_DAY_32,
    NO_OVULATION,
    NOT_FERTILISED,
    NOT_SERVED,
    TOO_EARLY,
    TOO_LATE,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from sunup.forecast.orders import Orders

# in the order of the waterfall
REASONS: tuple[tuple[str, str], ...] = (
    ("not_cycling", "not cycling, and not started by the treatment"),
    ("no_luteum", "no corpus luteum for the PGF to end"),
    ("luteum_held", "corpus luteum that no PGF ended"),
    ("no_follicle", "inseminated, but no follicle answered or ovulated in time"),
    ("false_heat", "inseminated for a heat that was none"),
    ("heat_missed", "in heat, not seen in time to be inseminated"),
    ("no_heat", "no standing heat while heats were watched"),
    ("too_early", "inseminated too early: the sperm did not last"),
    ("too_late", "inseminated too late: the ovum had aged"),
    ("not_fertilised", "ovum not fertilised"),
    ("lost_7", "embryo lost in its first week"),
    ("lost_16", "embryo lost by day 16"),
    ("lost_30", "embryo lost between day 16 and day 30"),
    ("pregnant", "pregnant to AI at day 30"),
)
PLACE = {key: place for place, (key, _) in enumerate(REASONS)}
_OF_CAUSE = {
    TOO_EARLY: "too_early",
    TOO_LATE: "too_late",
    NOT_FERTILISED: "not_fertilised",
    LOST_DAY_7: "lost_7",
    LOST_DAY_16: "lost_16",
    LOST_DAY_32: "lost_30",
}
LOW_P4_NG_ML = 1.0


def find_reasons(
    lives: Mapping[str, NDArray[Any]],
    orders: Orders,
    *,
    first: NDArray[np.bool_],
    kernel: NDArray[np.bool_],
    later_ai: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """Return the place in `REASONS` of each female, shape (replicates, n).

    Parameters
    ----------
    lives : mapping of str to ndarray, shape (replicates, n)
        Fields of OUTCOME.
    orders : Orders
    first, kernel, later_ai : ndarray of bool
        Pregnant to the first insemination with the herd's level, without it, and to a later one.

    Notes
    -----
    A female that the herd's level turns from pregnant to not is counted to the first week, in
    which herds, semen and technicians are thought to differ most (ours).
    """
    heats = lives["heat_on"]
    in_window = ((heats >= orders.from_h) & (heats <= orders.first_until_h)).any(axis=-1)
    served = lives["cause_first"] != NOT_SERVED
    reason = np.full(served.shape, PLACE["no_heat"])
    reason[~served & in_window] = PLACE["heat_missed"]
    reason[served] = PLACE["no_follicle"]
    is_false = (lives["first_is_false"] == 1) & (lives["cause_first"] == NO_OVULATION)
    reason[is_false] = PLACE["false_heat"]
    has_luteum = lives["luteum_at_clock"] == 1
    if orders.has_pgf:
        bare = ~has_luteum & (lives["p4_at_clock"] < LOW_P4_NG_ML) & ~in_window
        reason[bare] = PLACE["no_luteum"]
    idle = (lives["was_cycling"] == 0) & ~in_window & ~has_luteum
    reason[idle] = PLACE["not_cycling"]
    for cause, key in _OF_CAUSE.items():
        reason[served & (lives["cause_first"] == cause)] = PLACE[key]
    if orders.has_pgf:
        held = has_luteum & (lives["luteum_stood"] == 1) & ~in_window
        reason[held] = PLACE["luteum_held"]  # whatever then became of an insemination
    reason[kernel & ~first] = PLACE["lost_7"]
    reason[first | later_ai] = PLACE["pregnant"]
    return reason

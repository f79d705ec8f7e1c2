"""Which services leave a pregnancy once a herd's own level is laid over the kernel's chances.

The kernel gives each AI service's chance c before its luck. With the place u of her luck (below c
exactly where the kernel made her pregnant) she is pregnant where u < c', with
logit c' = w logit c + h + e and w = sqrt(1 + 0.346 sd^2), which keeps the mean over herds at c (the
usual logistic-normal approximation). The first and the second service are moved so. A female whom
h turns from pregnant to not has what comes later from the next female of her replicate that failed
at the same service, in a small group from the last in the replicates before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunup.forecast.orders import SETTLED_H

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from sunup.forecast.orders import Orders

WIDENING = 0.346  # (16 sqrt 3 / 15 pi)^2: logistic against normal
LEAST = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Chances:
    """What the kernel says of AI services, shape (replicates, n) each.

    Parameters
    ----------
    first, second : ndarray of float
        Chance of pregnancy at day 30, 0 where there was no such service. `second` is that of a
        female who failed the first: her own, or her stand-in's.
    kernel : ndarray of bool
        Pregnant to the first by the kernel's luck.
    stand_in : ndarray of int
        Place in the block (replicate after replicate) of the female whose later season is hers if
        she fails the first; -1 where there is none.
    later : ndarray of bool
        Pregnant to a third AI service or one after it.
    """

    first: NDArray[np.float64]
    second: NDArray[np.float64]
    kernel: NDArray[np.bool_]
    stand_in: NDArray[np.int64]
    later: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What became of a block, shape (replicates, n) each.

    Parameters
    ----------
    first : ndarray of bool
        Pregnant to the first service, by AI.
    later_ai : ndarray of bool
        Pregnant to a later one by AI.
    service_h : ndarray of float
        Of the service each pregnancy of day 30 came from, the first of a female; NaN without one.
    calf_of_h : ndarray of float
        Of the service her calf is born of, a later one where the first pregnancy was lost; NaN
        without one, or where the simulator has not followed the pregnancy.
    is_unfollowed : ndarray of bool
        Pregnant by the herd's level and not in the simulator: what becomes of it is to be drawn.
    by_ai : ndarray of bool
    again : ndarray of bool
        Inseminated in the second AI, which a heat shown in pregnancy can bring about too; nowhere
        where none is laid out.
    inseminations : ndarray of int
    """

    first: NDArray[np.bool_]
    later_ai: NDArray[np.bool_]
    service_h: NDArray[np.float64]
    calf_of_h: NDArray[np.float64]
    is_unfollowed: NDArray[np.bool_]
    by_ai: NDArray[np.bool_]
    again: NDArray[np.bool_]
    inseminations: NDArray[np.int64]


def shifted(
    chance: NDArray[np.float64],
    h: NDArray[np.float64] | float,
    *,
    sd: float | NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return chances moved by a herd's level `h` on the logit, their mean over herds kept.

    Parameters
    ----------
    chance : ndarray of float
        0 to 1; a chance of 0 stays 0.
    h : float or ndarray
        Broadcast against it.
    sd : float
        Of the levels of herds, on the logit.
    """
    return Moved.of(chance, sd=sd).at(h)


@dataclass(frozen=True, slots=True)
class Moved:
    """Chances laid out on the widened logit, to be moved by one level after another.

    Parameters
    ----------
    logit : ndarray of float, or None
        None: every chance is 0, and stays it.
    is_open : ndarray of bool
        Chances above 0.
    """

    logit: NDArray[np.float64] | None
    is_open: NDArray[np.bool_]

    @classmethod
    def of(cls, chance: NDArray[np.float64], *, sd: float | NDArray[np.float64]) -> Moved:
        """Lay out chances; parameters as for `shifted`."""
        is_open = chance > 0.0
        if not is_open.any():
            return cls(None, is_open)
        held = np.clip(chance, LEAST, 1.0 - LEAST)
        wide = np.sqrt(1.0 + WIDENING * sd * sd)
        return cls(wide * np.log(held / (1.0 - held)), is_open)

    def at(self, h: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Return the chances at a level."""
        if self.logit is None:
            return np.zeros(np.broadcast_shapes(self.is_open.shape, np.shape(h)))
        moved: NDArray[np.float64] = 1.0 / (1.0 + np.exp(-(self.logit + h)))
        return np.where(self.is_open, moved, 0.0)


def read_chances(lives: Mapping[str, NDArray[Any]], orders: Orders) -> Chances:
    """Read the kernel's chances of a block of lives, by name, shape (replicates, n)."""
    kernel = lives["pregnant_first"] == 1
    third = (lives["pregnant"] == 1) & ~kernel & (lives["pregnant_second"] == 0)
    third &= lives["pregnant_by_bull"] == 0
    third &= lives["conceived_h"] <= orders.last_ai_h + SETTLED_H
    stand_in = stand_ins(kernel, ~kernel)
    second = np.where(np.isnan(lives["second_ai_h"]), 0.0, lives["chance_second"])
    return Chances(
        first=np.where(np.isnan(lives["first_ai_h"]), 0.0, lives["chance_first"]),
        second=np.where(stand_in >= 0, second.reshape(-1)[stand_in], 0.0),
        kernel=kernel,
        stand_in=stand_in,
        later=third,
    )


def stand_ins(needs: NDArray[np.bool_], may: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return for each female the place of her stand-in in the block, -1 if there is none.

    Parameters
    ----------
    needs : ndarray of bool, shape (replicates, n)
        Who needs one; every other is her own.
    may : ndarray of bool
        Who may stand in: of her replicate the next of them after her place, round the end; where it
        has none, the last in the replicates before hers, so that more replicates change nothing;
        after hers only where there is none before.

    Returns
    -------
    ndarray of int, shape (replicates, n)
        Places counted replicate after replicate.
    """
    n = needs.shape[1]
    found: NDArray[np.int64] = np.arange(needs.size, dtype=np.int64)
    places = np.flatnonzero(needs)
    donors = np.flatnonzero(may)
    if donors.size == 0:
        found[places] = -1
        return found.reshape(needs.shape)
    first = np.searchsorted(donors, n * np.arange(needs.shape[0] + 1))
    r = places // n
    after = np.searchsorted(donors, places)
    found[places] = donors[np.where(after < first[r + 1], after, first[r]) % donors.size]
    for lonely in np.unique(r[first[r] == first[r + 1]]):
        hers, before = places[r == lonely], int(first[lonely])
        from_here = before - 1 - np.arange(hers.size) if before else np.arange(hers.size)
        found[hers] = donors[from_here % (before or donors.size)]
    return found.reshape(needs.shape)


def settle(
    lives: Mapping[str, NDArray[Any]],
    chances: Chances,
    orders: Orders,
    *,
    level: NDArray[np.float64],
    sd: NDArray[np.float64],
    luck: tuple[NDArray[np.float64], NDArray[np.float64]],
) -> Served:
    """Settle what every service left behind at a herd's level.

    Parameters
    ----------
    lives : mapping of str to ndarray, shape (replicates, n)
        Fields of OUTCOME.
    chances : Chances
    orders : Orders
    level, sd : ndarray of float
        Shift on the logit and its spread, broadcast against (replicates, n).
    luck : tuple of two ndarray of float
        Even draws, for the first and the second service.
    """
    kernel = chances.kernel
    first = _is_pregnant(chances.first, kernel, level=level, sd=sd, luck=luck[0])

    def hers(name: str, places: NDArray[np.int64]) -> NDArray[np.generic]:
        return lives[name].reshape(-1)[places]

    # her season after a failed first service, where she has one
    after = chances.stand_in
    goes_on = ~first & (after >= 0)
    kernel_2 = goes_on & (hers("pregnant_second", after) == 1)
    second = goes_on & _is_pregnant(chances.second, kernel_2, level=level, sd=sd, luck=luck[1])
    # and after a failed second one
    failed_2 = ~kernel & (lives["pregnant_second"] == 0)
    then = np.where(kernel_2, stand_ins(kernel_2, failed_2), after)
    goes_on_2 = goes_on & ~second & (then >= 0)
    by_itself = goes_on_2 & (hers("pregnant", then) == 1)
    third = by_itself & chances.later.reshape(-1)[then]
    own = np.where(by_itself, hers("served_h", then), np.nan)
    own = np.where(second, hers("second_ai_h", after), own)
    calf = np.where(by_itself, hers("calf_of_h", then), np.nan)
    calf = np.where(second & kernel_2, hers("calf_of_h", after), calf)
    calf = np.where(first & kernel, lives["calf_of_h"], calf)
    inseminations, again = _count_inseminations(
        lives, orders, first=first, chances=chances, goes_on=goes_on
    )
    return Served(
        first=first,
        later_ai=second | third,
        service_h=np.where(first, lives["first_ai_h"], own),
        calf_of_h=calf,
        is_unfollowed=(first & ~kernel) | (second & ~kernel_2),
        by_ai=first | second | third,
        again=again,
        inseminations=inseminations,
    )


def _count_inseminations(
    lives: Mapping[str, NDArray[Any]],
    orders: Orders,
    *,
    first: NDArray[np.bool_],
    chances: Chances,
    goes_on: NDArray[np.bool_],
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Inseminations of each female, and who of them has one of the second AI.

    A female pregnant to the first may show heat and be inseminated all the same; one whom the
    herd's level turns to pregnant has that from the next that the kernel made so.
    """
    count: NDArray[np.int64] = lives["n_ai"]
    if orders.second is None:
        return count, np.zeros_like(first)
    limit, kernel = orders.first_until_h, chances.kernel
    had = (lives["first_ai_h"] > limit) | (lives["second_ai_h"] > limit)
    like = np.where(first, stand_ins(first & ~kernel, kernel), chances.stand_in)
    again = (first | goes_on) & (like >= 0) & had.reshape(-1)[like]
    again |= lives["first_ai_h"] > limit
    return count - had + again, again


def _is_pregnant(
    chance: NDArray[np.float64],
    kernel: NDArray[np.bool_],
    *,
    level: NDArray[np.float64],
    sd: NDArray[np.float64],
    luck: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Whether a service leaves a pregnancy at a level, with the luck the kernel's outcome left."""
    place = np.where(kernel, luck * chance, chance + luck * (1.0 - chance))
    is_so: NDArray[np.bool_] = (place < shifted(chance, level, sd=sd)) & (chance > 0.0)
    return is_so

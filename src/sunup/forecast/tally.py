"""Counts of replicates, and the sums from which their spread is split by source."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from sunup.forecast.reasons import REASONS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from sunup.forecast.orders import Orders
    from sunup.forecast.services import Served

HALF_DAY_H = 12.0
PERIOD_DAYS = 21
WEEK_DAYS = 7
FIRST_CALVING_DAY = 259  # a week's edge, 24 days before the mean of most breeds
YEAR_DAYS = 365
# Gauss-Hermite nodes and weights of a standard normal: the herd's level
_X, _W = np.polynomial.hermite_e.hermegauss(7)
NODES: tuple[tuple[float, float], ...] = tuple(
    (float(x), float(w)) for x, w in zip(_X, _W / _W.sum(), strict=True)
)


@dataclass(frozen=True, slots=True)
class Split:
    """Sums of each female's chance by parameter set and herd level.

    Parameters
    ----------
    sums, squares : ndarray of float, shape (sets, nodes, n)
        Over the replicates of the set, of the chance and its square.
    totals, total_squares : ndarray of float, shape (sets, nodes)
        Over the replicates, of the chance summed over females, and its square.
    replicates : ndarray of int, shape (sets,)
    """

    sums: NDArray[np.float64]
    squares: NDArray[np.float64]
    totals: NDArray[np.float64]
    total_squares: NDArray[np.float64]
    replicates: NDArray[np.int64]

    def add(self, node: int, which: Sequence[int], chance: NDArray[np.float64]) -> None:
        """Add replicates at one herd level; `chance` has shape (replicates, n)."""
        square, totals = chance * chance, chance.sum(axis=1)
        parts = (self.sums, chance), (self.squares, square), (self.totals, totals)
        for turn in _turns(which):  # in a turn no set comes twice
            sets = list(which[turn])
            for whole, part in (*parts, (self.total_squares, totals**2)):
                whole[sets, node] += part[turn]
            if node == 0:
                self.replicates[sets] += 1

    def merge(self, other: Split) -> None:
        """Add the sums of another block."""
        for f in fields(Split):
            getattr(self, f.name)[...] += getattr(other, f.name)


def _turns(which: Sequence[int]) -> list[slice]:
    """Cut replicates, which take the sets in turn, into runs in which no set comes twice."""
    size = len(set(which))
    return [slice(at, at + size) for at in range(0, len(which), size)]


def new_split(sets: int, n: int) -> Split:
    """Return empty sums."""
    nodes = len(NODES)
    return Split(
        np.zeros((sets, nodes, n)),
        np.zeros((sets, nodes, n)),
        np.zeros((sets, nodes)),
        np.zeros((sets, nodes)),
        np.zeros(sets, np.int64),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Counts of females, replicate by replicate; the first axis is the replicate.

    Parameters
    ----------
    pregnant, on_heat, on_time, inseminations, ready : shape (R,)
        Pregnant to AI; inseminated first on heat and at a set time; inseminations; of those
        pregnant in the season, calved in time to be ready next year.
    again, pregnant_again : shape (R,)
        Inseminated in the second AI, and pregnant to it; none where none is laid out.
    true_heats, seen_heats : shape (R, half-days)
    conceived : shape (R, periods)
        Conceptions by 21-day period of the season.
    after_season : shape (R,)
        Pregnant to an insemination after its last day.
    calves, calves_ai : shape (R, weeks)
    reasons : shape (R, reasons)
    split : Split
    """

    pregnant: NDArray[np.int64]
    on_heat: NDArray[np.int64]
    on_time: NDArray[np.int64]
    inseminations: NDArray[np.int64]
    again: NDArray[np.int64]
    pregnant_again: NDArray[np.int64]
    ready: NDArray[np.int64]
    true_heats: NDArray[np.int64]
    seen_heats: NDArray[np.int64]
    conceived: NDArray[np.int64]
    after_season: NDArray[np.int64]
    calves: NDArray[np.int64]
    calves_ai: NDArray[np.int64]
    reasons: NDArray[np.int64]
    split: Split


def half_days(orders: Orders) -> tuple[float, int]:
    """First edge [h from the clock step] and number of half-days over which heats are counted."""
    low = np.floor((orders.from_h - orders.clock_h) / HALF_DAY_H)
    high = np.ceil((orders.until_h - orders.clock_h) / HALF_DAY_H)
    return float(low * HALF_DAY_H), max(1, int(high - low))


def heats_end(orders: Orders) -> float:
    """Hour from zero after which no heat is counted."""
    low, number = half_days(orders)
    return orders.clock_h + low + number * HALF_DAY_H


def periods(orders: Orders) -> int:
    """Number of 21-day periods of the season, the last perhaps shorter."""
    return max(1, int(np.ceil(orders.season_days / PERIOD_DAYS)))


def weeks(orders: Orders) -> int:
    """Number of calving weeks counted from `FIRST_CALVING_DAY` on."""
    last_ai = (orders.last_ai_h - orders.first_service_h) / 24.0
    return int(np.ceil((max(orders.season_days, last_ai) + 49) / WEEK_DAYS))


def count_block(
    lives: Mapping[str, NDArray[Any]],
    orders: Orders,
    *,
    served: Served,
    calving_h: NDArray[np.float64],
    reasons: NDArray[np.int64],
    split: Split,
    ready_days: float,
) -> Tally:
    """Reduce a block of replicates to counts.

    Parameters
    ----------
    lives : mapping of str to ndarray, shape (R, n)
        Fields of OUTCOME.
    orders : Orders
    served : Served
    calving_h : ndarray of float, shape (R, n)
        From zero; NaN where there is none.
    reasons : ndarray of int, shape (R, n)
    split : Split
    ready_days : float
        After calving, to be ready.
    """
    low, number = half_days(orders)
    on, seen = lives["heat_on"], lives["heat_seen"]
    has_ai = ~np.isnan(lives["first_ai_h"])
    on_heat = has_ai & (lives["first_on_heat"] == 1)
    pregnant_again = np.zeros_like(served.by_ai)
    if orders.second is not None:
        pregnant_again = served.by_ai & (served.service_h > orders.first_until_h)
    day = (served.service_h - orders.first_service_h) / 24.0
    calving_day = (calving_h - orders.first_service_h) / 24.0
    week = (calving_day - FIRST_CALVING_DAY) / WEEK_DAYS
    last_day = np.nextafter(max(orders.season_days, 1.0), 0.0)
    is_late = np.zeros_like(served.by_ai)
    if orders.has_season:
        with np.errstate(invalid="ignore"):
            is_late = served.by_ai & (day >= orders.season_days)
    in_season = np.where(is_late, np.nan, np.clip(day, 0.0, last_day))
    last_week = weeks(orders) - 1
    return Tally(
        pregnant=served.by_ai.sum(axis=1),
        on_heat=on_heat.sum(axis=1),
        on_time=(has_ai & ~on_heat).sum(axis=1),
        inseminations=served.inseminations.sum(axis=1),
        again=served.again.sum(axis=1),
        pregnant_again=pregnant_again.sum(axis=1),
        ready=(calving_day <= YEAR_DAYS - ready_days).sum(axis=1),
        true_heats=_by_bin((on - orders.clock_h - low) / HALF_DAY_H, number),
        seen_heats=_by_bin((seen - orders.clock_h - low) / HALF_DAY_H, number),
        conceived=_by_bin(in_season / PERIOD_DAYS, periods(orders)),
        after_season=is_late.sum(axis=1),
        calves=_by_bin(np.clip(week, 0.0, last_week), last_week + 1),
        calves_ai=_by_bin(
            np.where(served.by_ai, np.clip(week, 0.0, last_week), np.nan), last_week + 1
        ),
        reasons=_by_bin(reasons.astype(float), len(REASONS)),
        split=split,
    )


def _by_bin(place: NDArray[np.float64], number: int) -> NDArray[np.int64]:
    """Count places 0 to `number` by whole part, per replicate; others and NaN are not counted."""
    replicates = place.shape[0]
    flat = place.reshape(replicates, -1)
    with np.errstate(invalid="ignore"):
        fits = (flat >= 0.0) & (flat < number)
    r, _ = np.nonzero(fits)
    bins = r * number + flat[fits].astype(np.int64)
    counts: NDArray[np.int64] = np.bincount(bins, minlength=replicates * number).reshape(
        replicates, number
    )
    return counts


class TallySum:
    """Blocks of replicates put together in their order; what a block summed is let go at once.

    Parameters
    ----------
    sets, n : int
        Parameter sets, and females.
    """

    __slots__ = ("_parts", "_split")

    def __init__(self, *, sets: int, n: int) -> None:
        self._split = new_split(sets, n)
        self._parts: dict[str, list[NDArray[np.int64]]] = {
            f.name: [] for f in fields(Tally) if f.name != "split"
        }

    def add(self, tally: Tally) -> None:
        """Add the next block."""
        self._split.merge(tally.split)
        for name, parts in self._parts.items():
            parts.append(getattr(tally, name))

    def joined(self) -> Tally:
        """Return the whole."""
        whole = {name: np.concatenate(parts) for name, parts in self._parts.items()}
        return Tally(**whole, split=self._split)

"""How many of the females in heat the bulls serve: their number and age against busy days.

A bull serves so many females in heat a day (``bulls.served_per_day``); a yearling the share of them
that his usual number of cows is of a mature bull's. On a day with H females in heat B bulls of
capacity C serve min(H, B C) of them, each with the chance a fit number of bulls gives her
(``physiology.bull_serves``). The order that puts them in carries one share for the whole season,

    sum of min(H, B C) / sum of H

over the days with bulls of the first block of seasons of the group itself under its plan. Females
not served come back in heat and make later days busier: the sum is therefore taken twice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError
from sunup.forecast.first_block import live_first_block
from sunup.forecast.luck import BLOCK
from sunup.physiology.orders import Act

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures, ParamSets
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders
    from sunup.physiology.orders import OrderTable
    from sunup.physiology.params import Params

DAY_H = 24.0
ROUNDS = 2


class BullsError(DomainError):
    """A number of bulls that cannot be."""

    def __init__(self, number: int) -> None:
        super().__init__(f"{number} bulls cannot be put in; give 1 or more, or none at all.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bulls:
    """The bulls put to a group: how many, and whether they are yearlings."""

    number: int
    are_yearlings: bool = False

    def __post_init__(self) -> None:
        if self.number < 1:
            raise BullsError(self.number)

    def capacity(self, figures: ForecastFigures) -> float:
        """Females in heat they serve in a day between them."""
        worth = figures.yearling_worth if self.are_yearlings else 1.0
        return self.number * worth * figures.served_per_day


def with_bulls(
    bulls: Bulls,
    facts: HerdFacts,
    orders: Orders,
    *,
    figures: ForecastFigures,
    params: ParamSets,
    seed: int,
) -> Orders:
    """Return the orders with the share of heats that find a bull free in them.

    Parameters
    ----------
    bulls : Bulls
    facts : HerdFacts
    orders : Orders
    figures : ForecastFigures
    params : ParamSets
    seed : int

    Returns
    -------
    Orders
        As given where no bulls go in.
    """
    if orders.bulls_in_h is None or orders.bulls_out_h is None:
        return orders
    capacity = bulls.capacity(figures)
    share, busiest = 1.0, 0.0
    for _ in range(ROUNDS):
        heats = daily_heats(facts, orders, figures=figures, sets=params.sets, seed=seed)
        share, busiest = served_share(heats, capacity), float(heats.max(axis=1).mean())
        orders = replace(orders, tables=tuple(_sharing(table, share) for table in orders.tables))
    kind = "yearling" if bulls.are_yearlings else "mature"
    plural = "" if bulls.number == 1 else "s"
    ratio = len(facts) / bulls.number
    note = (
        f"{bulls.number} {kind} bull{plural}, {ratio:.0f} females each, that serve about "
        f"{capacity:.0f} females in heat a day; on the busiest day about {busiest:.0f} are in "
        f"heat, so that over the season {100.0 * share:.0f} of 100 heats find a bull free"
    )
    return replace(orders, notes=(*orders.notes, note), has_bull_number=True)


def _sharing(table: OrderTable, share: float) -> OrderTable:
    rows = tuple(
        replace(row, amount=share) if row.act is Act.BULLS_IN else row for row in table.orders
    )
    return replace(table, orders=rows)


def served_share(heats: NDArray[np.int64], capacity: float) -> float:
    """Share of heats that find a bull free, each day for itself; 1 where there are no heats.

    Parameters
    ----------
    heats : ndarray of int, shape (replicates, days)
    capacity : float
        Females served a day.
    """
    total = float(heats.sum())
    return float(np.minimum(heats, capacity).sum()) / total if total else 1.0


def daily_heats(
    facts: HerdFacts,
    orders: Orders,
    *,
    figures: ForecastFigures,
    sets: tuple[Params, ...],
    seed: int,
) -> NDArray[np.int64]:
    """Count the females that come in heat on each day with bulls, shape (`BLOCK`, days).

    The first block of seasons of the group, as `run_group` makes it.
    """
    lives = live_first_block(facts, orders, figures=figures, sets=sets, seed=seed)
    into, out = orders.bulls_in_h or 0.0, orders.bulls_out_h or 0.0
    days = max(1, int(np.ceil((out - into) / DAY_H)))
    counts = np.zeros((BLOCK, days), np.int64)
    with np.errstate(invalid="ignore"):
        is_in = (lives["heat_on"] >= into) & (lives["heat_on"] < out)
    rows, _, _ = np.nonzero(is_in)
    day = ((lives["heat_on"][is_in] - into) / DAY_H).astype(np.int64)
    np.add.at(counts, (rows, day), 1)
    return counts

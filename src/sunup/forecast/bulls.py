"""How many of the females in heat the bulls serve: their number and age against busy days.

A bull serves so many females in heat a day (``bulls.served_per_day``), and so many in any 21 days
(``bulls.served_per_21_d``); a yearling the share of them that his usual number of cows is of a
mature bull's. On a day with H females in heat the bulls serve all, up to their capacity for the day
and what is left of that for the 21 days that end with it, each with the chance a fit number of
bulls gives her (``physiology.bull_serves``). The order that puts them in carries one share for the
whole season, of served among those in heat, over the days with bulls of the first block of seasons
of the group itself under its plan. Females not served come back in heat and make later days busier:
the share is therefore taken twice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError
from sunup.forecast.first_block import live_first_block
from sunup.forecast.luck import BLOCK
from sunup.forecast.steps import inseminates
from sunup.physiology.orders import Act

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures, ParamSets
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders
    from sunup.physiology.orders import OrderTable
    from sunup.physiology.params import Params

DAY_H = 24.0
CYCLE_DAYS = 21
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

    def capacity(self, figures: ForecastFigures) -> tuple[float, float]:
        """Females in heat they serve between them, in a day and in 21 days."""
        worth = self.number * (figures.yearling_worth if self.are_yearlings else 1.0)
        return worth * figures.served_per_day, worth * figures.served_per_21_d


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
        share, busiest = served_share(heats, *capacity), float(heats.max(axis=1).mean())
        orders = replace(orders, tables=tuple(_sharing(table, share) for table in orders.tables))
    kind = "yearling" if bulls.are_yearlings else "mature"
    plural = "" if bulls.number == 1 else "s"
    ratio = len(facts) / bulls.number
    note = (
        f"{bulls.number} {kind} bull{plural}, {ratio:.0f} females each, that serve about "
        f"{capacity[0]:.0f} females in heat a day and {capacity[1]:.0f} in three weeks; on the "
        f"busiest day about {busiest:.0f} are in heat, so that over the season "
        f"{100.0 * share:.0f} of 100 heats find a bull free"
    )
    has_ai = any(inseminates(row) for table in orders.tables for row in table.orders)
    most = figures.yearling_most if bulls.are_yearlings else figures.mature_most
    most = figures.cleanup_most if has_ai and not bulls.are_yearlings else most
    if ratio > most:
        note += f"; look: no more than {most:.0f} females a bull are published"
    return replace(orders, notes=(*orders.notes, note), has_bull_number=True)


def _sharing(table: OrderTable, share: float) -> OrderTable:
    rows = tuple(
        replace(row, amount=share) if row.act is Act.BULLS_IN else row for row in table.orders
    )
    return replace(table, orders=rows)


def served_share(heats: NDArray[np.int64], a_day: float, in_21_days: float) -> float:
    """Share of heats that find a bull free; 1 where there are no heats.

    Parameters
    ----------
    heats : ndarray of int, shape (replicates, days)
    a_day, in_21_days : float
        Females served in a day, and in any 21 days.
    """
    total = float(heats.sum())
    if total == 0.0:
        return 1.0
    served = np.zeros(heats.shape)
    for day in range(heats.shape[1]):
        lately = served[:, max(0, day - CYCLE_DAYS + 1) : day].sum(axis=1)
        left = np.minimum(a_day, np.maximum(0.0, in_21_days - lately))
        served[:, day] = np.minimum(heats[:, day], left)
    return float(served.sum()) / total


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

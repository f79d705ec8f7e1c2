"""How many stand in heat together: a heat in company has more stands, and is seen more often.

The figures of a heat are those of groups in which several stand at once. With k others in heat
during hers, a female has `stands_alone` of those stands for k = 0, `stands_with_one` for k = 1, all
of them from 2 on, straight between. The others are counted in the first block of seasons of the
group itself under its plan, and every watch of the plan carries the mean over the heats that begin
in it: near 1 in synchronised and in large groups, low where few females cycle freely. What a
device finds does not depend on the number of stands.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.first_block import live_first_block
from sunup.physiology.orders import Act, Aid, Order

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures, ParamSets
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders

TOLD_BELOW = 0.9  # of the stands; nearer to 1 no note is worth reading


def with_company(
    facts: HerdFacts, orders: Orders, *, figures: ForecastFigures, params: ParamSets, seed: int
) -> Orders:
    """Return the orders with the share of stands of each watch in them.

    Parameters
    ----------
    facts : HerdFacts
    orders : Orders
    figures : ForecastFigures
    params : ParamSets
    seed : int

    Returns
    -------
    Orders
        As given where nobody watches by eye or with an aid that stands mark.
    """
    if not any(_counts_stands(row) for table in orders.tables for row in table.orders):
        return orders
    lives = live_first_block(facts, orders, figures=figures, sets=params.sets, seed=seed)
    on = lives["heat_on"]
    stands = stands_share(
        on, lives["heat_length"], alone=figures.stands_alone, with_one=figures.stands_with_one
    )
    least = 1.0
    tables = []
    for table in orders.tables:
        rows = []
        for row in table.orders:
            if _counts_stands(row):
                share = _mean_between(on, stands, row.hour, row.until_h or row.hour)
                least = min(least, share)
                rows.append(replace(row, amount=share))
            else:
                rows.append(row)
        tables.append(replace(table, orders=tuple(rows)))
    who = f"few of {len(facts)} females are in heat at once: each"
    note = (
        f"{who if len(facts) > 1 else 'she is alone and'} stands {least:.1f} times as often as in "
        "company, so that more heats are missed"
    )
    notes = (*orders.notes, note) if least < TOLD_BELOW else orders.notes
    return replace(orders, tables=tuple(tables), notes=notes)


def stands_share(
    on: NDArray[np.float64], length: NDArray[np.float64], *, alone: float, with_one: float
) -> NDArray[np.float64]:
    """Share of the stands of a heat in company, by how many others stand during it.

    Parameters
    ----------
    on, length : ndarray of float, shape (replicates, n, heats)
        Onset [h] and length [h]; NaN where there is no heat.
    alone, with_one : float
        Shares with no and with one other.

    Returns
    -------
    ndarray of float, shape (replicates, n, heats)
        NaN where there is no heat.
    """
    is_heat = np.isfinite(on)
    share: NDArray[np.float64] = np.full(on.shape, np.nan)
    if not is_heat.any():
        return share
    replicate = np.nonzero(is_heat)[0]
    base = np.floor(on[is_heat].min())
    first = np.floor(on[is_heat] - base).astype(np.int64)
    last = np.maximum(first + 1, np.ceil(on[is_heat] + length[is_heat] - base).astype(np.int64))
    hours = int(last.max()) + 1
    change = np.zeros((on.shape[0], hours + 1))
    np.add.at(change, (replicate, first), 1.0)
    np.add.at(change, (replicate, last), -1.0)
    in_heat = np.cumsum(change, axis=1)[:, :hours]
    so_far = np.concatenate([np.zeros((on.shape[0], 1)), np.cumsum(in_heat, axis=1)], axis=1)
    others = (so_far[replicate, last] - so_far[replicate, first]) / (last - first) - 1.0
    share[is_heat] = np.interp(others, (0.0, 1.0, 2.0), (alone, with_one, 1.0))
    return share


def _counts_stands(row: Order) -> bool:
    return row.act is Act.WATCH and row.aid is not Aid.ELECTRONIC


def _mean_between(
    on: NDArray[np.float64], stands: NDArray[np.float64], from_h: float, until_h: float
) -> float:
    with np.errstate(invalid="ignore"):
        inside = (on >= from_h) & (on < until_h)
    return float(stands[inside].mean()) if inside.any() else 1.0

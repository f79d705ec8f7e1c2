"""The first block of seasons of a group under its orders, to see how busy its days are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.forecast.herd import draw_females
from sunup.forecast.luck import BLOCK, seed_of_block
from sunup.forecast.slips import draw_plans
from sunup.forecast.starts import condition_starts
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders
    from sunup.physiology.params import Params


def live_first_block(
    facts: HerdFacts,
    orders: Orders,
    *,
    figures: ForecastFigures,
    sets: tuple[Params, ...],
    seed: int,
) -> NDArray[np.void]:
    """Return the outcomes of the first block of seasons, as `run_group` makes it.

    Returns
    -------
    ndarray of OUTCOME, shape (BLOCK, n)
    """
    own = seed_of_block(seed, 0)
    table = draw_females(facts, seed=own, figures=figures)
    turned = list(sets[:BLOCK])
    return simulate(
        table,
        orders.tables,
        params=turned,
        seed=own,
        replicates=BLOCK,
        plan_of=draw_plans(orders.tables, orders.shares, seed=own, females=len(facts)),
        end_h=orders.end_h,
        starts=condition_starts(
            table, facts.is_found_not_cycling, params=turned, seed=own, replicates=BLOCK
        ),
    ).females

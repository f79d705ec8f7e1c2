"""Starting states that agree with a finding: females found not cycling are not cycling at zero."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.luck import seed_of_block
from sunup.physiology.females import FemaleTable
from sunup.physiology.orders import OrderTable
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sunup.physiology.params import Params

TRIES = 8
NONE = 0.0  # share cycling taken in the last try, for females nearly all of whose like cycle


def condition_starts(
    table: FemaleTable,
    is_found: NDArray[np.bool_],
    *,
    params: Sequence[Params],
    seed: int,
    replicates: int,
) -> NDArray[np.void] | None:
    """Draw states at zero, again for females found not cycling until they do not cycle.

    Parameters
    ----------
    table : FemaleTable
        n females.
    is_found : ndarray of bool, shape (n,)
        Found not cycling.
    params : sequence of Params
    seed : int
        Of the block; the first draw is the one a run without findings makes.
    replicates : int

    Returns
    -------
    ndarray of STATE, shape (replicates * n,), or None where nothing was found
        In the order the simulator takes its starts.
    """
    if not is_found.any():
        return None
    found = np.flatnonzero(is_found)
    states = states_at_zero(table, params, seed, replicates)
    asked = rows(table, found)
    for attempt in range(1, TRIES + 1):
        cycles = states["is_cycling"][:, found] == 1
        if not cycles.any():
            break
        if attempt == TRIES:
            asked = replace(asked, share_cycling=np.full(found.size, NONE))
        again = states_at_zero(asked, params, seed_of_block(seed, attempt), replicates)
        r, j = np.nonzero(cycles)
        states[r, found[j]] = again[r, j]
    return states.reshape(-1)


def rows(table: FemaleTable, which: NDArray[np.int64]) -> FemaleTable:
    """Return some females of a table, in the order named."""
    return FemaleTable(**{f.name: getattr(table, f.name)[which] for f in fields(table)})


def states_at_zero(
    table: FemaleTable, params: Sequence[Params], seed: int, replicates: int
) -> NDArray[np.void]:
    """Return the states at zero that a run of the same seed starts from, shape (replicates, n)."""
    run = simulate(
        table,
        OrderTable(orders=()),
        params=params,
        seed=seed,
        replicates=replicates,
        end_h=0.0,
        ask_h=(0.0,),
    )
    return run.states[:, :, 0].copy()

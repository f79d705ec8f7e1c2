"""Simulator x orders x herd: replicates in blocks, each reduced at once to counts.

What is kept of a replicate is a row of counts, so memory grows with replicates by some hundred
bytes each and not with replicates times females. Block b, replicate r of it and female i are the
same luck under every protocol: runs of the same seed may be compared season by season.

The herd's own level h is a normal draw a replicate on the logit of conception at the first
insemination. The kernel gives each insemination's chance c before its luck; with the place u of
her luck (below c exactly where the kernel made her pregnant) she is pregnant where u < c', with
logit c' = w logit c + h + e and w = sqrt(1 + 0.346 sd^2), which keeps the mean over herds at c (the
usual logistic-normal approximation); e is how far off the model itself may be, one value a
parameter set, of the spread its misfit to left-out trials shows. A female whom h turns from
pregnant to not has the later season of the next female of her replicate that failed.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.herd import draw_females
from sunup.forecast.luck import (
    BLOCK,
    CARRIED,
    CONCEIVED,
    GESTATION,
    HERD,
    even_draws,
    normal_pair,
    seed_of_block,
)
from sunup.forecast.orders import SETTLED_H
from sunup.forecast.past import herd_level
from sunup.forecast.reasons import find_reasons
from sunup.forecast.slips import draw_plans
from sunup.forecast.starts import condition_starts
from sunup.forecast.tally import NODES, Tally, count_block, join_tallies, new_split
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures, ParamSets
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders
    from sunup.forecast.past import HerdLevel
    from sunup.physiology.params import Params

WIDENING = 0.346  # (16 sqrt 3 / 15 pi)^2: logistic against normal
LEAST = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What became of a group under one protocol, replicate by replicate.

    Parameters
    ----------
    facts, orders, params : as given
    seed, replicates : int
    level : HerdLevel
    tally : Tally
    """

    facts: HerdFacts
    orders: Orders
    params: ParamSets
    seed: int
    replicates: int
    level: HerdLevel
    tally: Tally


def run_group(
    facts: HerdFacts,
    orders: Orders,
    *,
    figures: ForecastFigures,
    params: ParamSets,
    seed: int,
    replicates: int,
    level: HerdLevel | None = None,
    threads: int = 1,
    tell: Callable[[float], None] | None = None,
) -> Run:
    """Run a group under the orders of one protocol.

    Parameters
    ----------
    facts : HerdFacts
        n females.
    orders : Orders
    figures : ForecastFigures
    params : ParamSets
        Replicate r takes set r modulo their number.
    seed : int
        0 to 2**64 - 1.
    replicates : int
        At least 1; the first k are the same whatever their number.
    level : HerdLevel, optional
        What is thought of this herd's own level; a herd like any other if absent.
    threads : int
        Changes the time taken and nothing else.
    tell : callable, optional
        Called with the share done, from the calling thread.

    Returns
    -------
    Run
    """
    own = level or herd_level(
        (), herd_sd=figures.herd_logit_sd, lasting_share=figures.herd_lasting_share
    )
    blocks = [(b, min(BLOCK, replicates - b * BLOCK)) for b in range(-(-replicates // BLOCK))]

    def work(block: tuple[int, int]) -> Tally:
        number, size = block
        return _run_block(
            facts, orders, number, size, figures=figures, params=params, level=own, seed=seed
        )

    def done() -> Iterator[Tally]:
        with ThreadPoolExecutor(max(1, threads)) as pool:
            for number, tally in enumerate(pool.map(work, blocks), start=1):
                if tell is not None:
                    tell(number / len(blocks))
                yield tally

    return Run(
        facts=facts,
        orders=orders,
        params=params,
        seed=seed,
        replicates=replicates,
        level=own,
        tally=join_tallies(done(), sets=len(params.sets), n=len(facts)),
    )


def _run_block(
    facts: HerdFacts,
    orders: Orders,
    number: int,
    size: int,
    *,
    figures: ForecastFigures,
    params: ParamSets,
    level: HerdLevel,
    seed: int,
) -> Tally:
    own = seed_of_block(seed, number)
    n = len(facts)
    table = draw_females(facts, seed=own, figures=figures)
    which = [(number * BLOCK + r) % len(params.sets) for r in range(size)]
    sets = params.turned(number * BLOCK, at_most=size)
    starts = condition_starts(
        table, facts.is_found_not_cycling, params=sets, seed=own, replicates=size
    )
    lives = simulate(
        table,
        orders.tables,
        params=sets,
        seed=own,
        replicates=size,
        plan_of=draw_plans(orders.tables, orders.shares, seed=own, females=n),
        end_h=orders.end_h,
        starts=starts,
    ).females
    # the model's own error belongs to its parameter set; a herd's level to its season
    off = params.shifts()[which][:, None] * params.model_sd(table.indicus)[None, :]
    wide = np.hypot(figures.herd_logit_sd, params.model_sd(table.indicus))[None, :]
    h = _draw_levels(own, size, level)
    chance = np.where(np.isnan(lives["first_ai_h"]), 0.0, lives["chance_first"])
    kernel = lives["pregnant_first"] == 1
    v, _, _, _ = even_draws(own, CONCEIVED, replicates=size, females=n)
    place = np.where(kernel, v * chance, chance + v * (1.0 - chance))
    moved = shifted(chance, h[:, None] + off, sd=wide)
    first = (place < moved) & (chance > 0.0)
    later_ai = (lives["pregnant"] == 1) & ~kernel & (lives["pregnant_by_bull"] == 0)
    later_ai &= lives["conceived_h"] <= orders.last_ai_h + SETTLED_H
    split = new_split(len(params.sets), n)
    for j, (x, _) in enumerate(NODES):
        split.add(
            j,
            which,
            shifted(chance, level.mean + x * level.sd + off, sd=wide) + later_ai,
        )
    service_h, by_ai = _conceptions(lives, first, kernel, later_ai)
    calving_h = np.full((size, n), np.nan)
    if orders.has_season:
        calving_h = _calvings(facts, service_h, [params.sets[k] for k in which], seed=own)
    return count_block(
        lives,
        orders,
        pregnant_ai=first | later_ai,
        service_h=service_h,
        by_ai=by_ai,
        calving_h=calving_h,
        reasons=find_reasons(lives, orders, first=first, kernel=kernel, later_ai=later_ai),
        split=split,
        ready_days=figures.ready_days_since_calving,
    )


def _calvings(
    facts: HerdFacts, service_h: NDArray[np.float64], sets: Sequence[Params], *, seed: int
) -> NDArray[np.float64]:
    """Hour at which each pregnancy of day 30 is born, NaN where it is lost before."""
    size, n = service_h.shape
    u, v, _, _ = even_draws(seed, GESTATION, replicates=size, females=n)
    keep, _, _, _ = even_draws(seed, CARRIED, replicates=size, females=n)
    days = facts.gestation + facts.gestation_sd * normal_pair(u, v)[0]
    lost = np.array([p.lost_32_to_100 + (1.0 - p.lost_32_to_100) * p.lost_to_term for p in sets])
    born: NDArray[np.float64] = np.where(keep >= lost[:, None], service_h + 24.0 * days, np.nan)
    return born


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
    held = np.clip(chance, LEAST, 1.0 - LEAST)
    wide = np.sqrt(1.0 + WIDENING * sd * sd)
    logit = wide * np.log(held / (1.0 - held)) + h
    moved: NDArray[np.float64] = np.where(chance > 0.0, 1.0 / (1.0 + np.exp(-logit)), 0.0)
    return moved


def _draw_levels(seed: int, size: int, level: HerdLevel) -> NDArray[np.float64]:
    u, v, _, _ = even_draws(seed, HERD, replicates=size, females=1)
    return level.mean + level.sd * normal_pair(u[:, 0], v[:, 0])[0]


def _conceptions(
    lives: NDArray[np.void],
    first: NDArray[np.bool_],
    kernel: NDArray[np.bool_],
    later_ai: NDArray[np.bool_],
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Hour of the service each pregnancy came from, NaN without one, and whether by AI."""
    own = np.where((lives["pregnant"] == 1) & ~kernel, lives["conceived_h"], np.nan)
    own_ai = later_ai.copy()
    failed = ~kernel
    for r in range(lives.shape[0]):
        turned = np.flatnonzero(kernel[r] & ~first[r])
        donors = np.flatnonzero(failed[r])
        if turned.size == 0:
            continue
        if donors.size == 0:
            own[r, turned] = np.nan
            continue
        chosen = donors[np.searchsorted(donors, turned) % donors.size]
        own[r, turned] = own[r, chosen]
        own_ai[r, turned] = False
    return np.where(first, lives["first_ai_h"], own), first | own_ai

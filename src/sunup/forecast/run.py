"""Simulator x orders x herd: replicates in blocks, each reduced at once to counts.

What is kept of a replicate is a row of counts, so memory grows with replicates by some hundred
bytes each and not with replicates times females. Block b, replicate r of it and female i are the
same luck under every protocol: runs of the same seed may be compared season by season.

The herd's own level h is a normal draw a replicate on the logit of conception at the first and the
second AI service (``services`` says how it is laid over the kernel's chances); with it goes how far
off the model itself may be, one value a parameter set, of the spread its misfit to left-out trials
shows.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.company import with_company
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
from sunup.forecast.past import herd_level
from sunup.forecast.reasons import find_reasons
from sunup.forecast.services import Moved, read_chances, settle
from sunup.forecast.slips import draw_plans
from sunup.forecast.starts import condition_starts, states_at_zero
from sunup.forecast.tally import NODES, Tally, TallySum, count_block, heats_end, new_split
from sunup.physiology.outcome import OUTCOME, by_name
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures, ParamSets
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders
    from sunup.forecast.past import HerdLevel
    from sunup.forecast.services import Served
    from sunup.physiology.females import FemaleTable
    from sunup.physiology.params import Params

# what is read of a female's outcome
READ = (
    "first_ai_h", "chance_first", "second_ai_h", "chance_second", "conceived_h", "served_h",
    "calf_of_h", "p4_at_clock",
    "heat_on", "heat_seen", "n_ai", "first_on_heat", "first_is_false", "pregnant_first",
    "pregnant_second", "pregnant", "pregnant_by_bull", "cause_first", "was_cycling",
    "luteum_at_clock", "luteum_stood",
)  # fmt: skip


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
    return run_protocols(
        facts,
        (orders,),
        figures=figures,
        params=params,
        seed=seed,
        replicates=replicates,
        level=level,
        threads=threads,
        tell=tell,
    )[0]


def run_protocols(
    facts: HerdFacts,
    protocols: Sequence[Orders],
    *,
    figures: ForecastFigures,
    params: ParamSets,
    seed: int,
    replicates: int,
    level: HerdLevel | None = None,
    threads: int = 1,
    tell: Callable[[float], None] | None = None,
) -> tuple[Run, ...]:
    """Run a group under several protocols; each run is what `run_group` gives for it alone.

    The females' lives up to zero are the same under every protocol and are lived once.

    Parameters
    ----------
    protocols : sequence of Orders
        At least one.
    facts, figures, params, seed, replicates, level, threads, tell
        As for `run_group`.

    Returns
    -------
    tuple of Run
        In the order of `protocols`.
    """
    own = level or herd_level(
        (), herd_sd=figures.herd_logit_sd, lasting_share=figures.herd_lasting_share
    )
    protocols = [
        with_company(facts, orders, figures=figures, params=params, seed=seed)
        for orders in protocols
    ]
    blocks = [(b, min(BLOCK, replicates - b * BLOCK)) for b in range(-(-replicates // BLOCK))]

    def work(block: tuple[int, int]) -> list[Tally]:
        number, size = block
        table, starts = _draw_starts(
            facts,
            number,
            size,
            figures=figures,
            params=params,
            seed=seed,
            is_shared=len(protocols) > 1,
        )
        memory = np.empty(size * len(facts), OUTCOME)
        luck = _draw_luck(seed_of_block(seed, number), size, len(facts), own)
        return [
            _run_block(
                facts,
                orders,
                number,
                size,
                table=table,
                starts=starts,
                figures=figures,
                params=params,
                level=own,
                seed=seed,
                luck=luck,
                memory=memory,
            )
            for orders in protocols
        ]

    sums = [TallySum(sets=len(params.sets), n=len(facts)) for _ in protocols]
    with ThreadPoolExecutor(max(1, threads)) as pool:
        for number, tallies in enumerate(pool.map(work, blocks), start=1):
            for total, tally in zip(sums, tallies, strict=True):
                total.add(tally)
            if tell is not None:
                tell(number / len(blocks))
    return tuple(
        Run(
            facts=facts,
            orders=orders,
            params=params,
            seed=seed,
            replicates=replicates,
            level=own,
            tally=total.joined(),
        )
        for orders, total in zip(protocols, sums, strict=True)
    )


def _draw_starts(
    facts: HerdFacts,
    number: int,
    size: int,
    *,
    figures: ForecastFigures,
    params: ParamSets,
    seed: int,
    is_shared: bool,
) -> tuple[FemaleTable, NDArray[np.void] | None]:
    """Females of a block and their states at zero; None where the simulator is to draw those.

    Several protocols share states (`is_shared`); for one alone they are not worth keeping.
    """
    own = seed_of_block(seed, number)
    table = draw_females(facts, seed=own, figures=figures)
    sets = params.turned(number * BLOCK, at_most=size)
    starts = condition_starts(
        table, facts.is_found_not_cycling, params=sets, seed=own, replicates=size
    )
    if starts is None and is_shared:
        starts = states_at_zero(table, sets, own, size).reshape(-1)
    return table, starts


def _run_block(
    facts: HerdFacts,
    orders: Orders,
    number: int,
    size: int,
    *,
    table: FemaleTable,
    starts: NDArray[np.void] | None,
    figures: ForecastFigures,
    params: ParamSets,
    level: HerdLevel,
    seed: int,
    luck: _Luck,
    memory: NDArray[np.void],
) -> Tally:
    own = seed_of_block(seed, number)
    n = len(facts)
    which = [(number * BLOCK + r) % len(params.sets) for r in range(size)]
    outcomes = simulate(
        table,
        orders.tables,
        params=params.turned(number * BLOCK, at_most=size),
        seed=own,
        replicates=size,
        plan_of=draw_plans(orders.tables, orders.shares, seed=own, females=n),
        end_h=orders.end_h,
        starts=starts,
        heats_until_h=max(orders.last_ai_h, heats_end(orders)),
        into=memory,
    ).females
    lives = by_name(outcomes, READ)
    # the model's own error belongs to its parameter set; a herd's level to its season
    off = params.shifts()[which][:, None] * params.model_sd(table.indicus)[None, :]
    wide = np.hypot(figures.herd_logit_sd, params.model_sd(table.indicus))[None, :]
    chances = read_chances(lives, orders)
    served = settle(
        lives, chances, orders, level=luck.level[:, None] + off, sd=wide, luck=luck.conceived
    )
    split = new_split(len(params.sets), n)
    first, second = (Moved.of(c, sd=wide) for c in (chances.first, chances.second))
    for j, (x, _) in enumerate(NODES):
        node = level.mean + x * level.sd + off
        once, twice = first.at(node), second.at(node)
        later = twice + (1.0 - twice) * chances.later
        split.add(j, which, once + (1.0 - once) * later)
    calving_h = np.full((size, n), np.nan)
    if orders.has_season:
        calving_h = _calvings(facts, served, [params.sets[k] for k in which], seed=own)
    return count_block(
        lives,
        orders,
        served=served,
        calving_h=calving_h,
        reasons=find_reasons(
            lives,
            orders,
            first=served.first,
            kernel=chances.kernel,
            later_ai=served.later_ai,
        ),
        split=split,
        ready_days=figures.ready_days_since_calving,
    )


def _calvings(
    facts: HerdFacts, served: Served, sets: Sequence[Params], *, seed: int
) -> NDArray[np.float64]:
    """Hour at which the calf of each female is born, NaN without one.

    What the simulator has not followed of a pregnancy after day 30 is drawn here.
    """
    size, n = served.service_h.shape
    u, v, _, _ = even_draws(seed, GESTATION, replicates=size, females=n)
    keep, _, _, _ = even_draws(seed, CARRIED, replicates=size, females=n)
    days = facts.gestation + facts.gestation_sd * normal_pair(u, v)[0]
    lost = np.array([p.lost_32_to_100 + (1.0 - p.lost_32_to_100) * p.lost_to_term for p in sets])
    drawn = np.where(keep >= lost[:, None], served.service_h, np.nan)
    service_h = np.where(served.is_unfollowed, drawn, served.calf_of_h)
    born: NDArray[np.float64] = service_h + 24.0 * days
    return born


@dataclass(frozen=True, slots=True)
class _Luck:
    """What a block draws for itself, the same under every protocol.

    Parameters
    ----------
    level : ndarray of float, shape (replicates,)
        Of the herd.
    conceived : tuple of two ndarray of float, shape (replicates, n)
        Places of conceptions at the first and the second service.
    """

    level: NDArray[np.float64]
    conceived: tuple[NDArray[np.float64], NDArray[np.float64]]


def _draw_luck(seed: int, size: int, females: int, level: HerdLevel) -> _Luck:
    u, v, _, _ = even_draws(seed, HERD, replicates=size, females=1)
    first, second, _, _ = even_draws(seed, CONCEIVED, replicates=size, females=females)
    return _Luck(level.mean + level.sd * normal_pair(u[:, 0], v[:, 0])[0], (first, second))

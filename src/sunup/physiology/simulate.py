"""The public entry: females, orders and luck in; what became of each female out."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunup.base.problems import SunupError
from sunup.physiology.breeding import begin_outcome
from sunup.physiology.compiled import compiled_apart
from sunup.physiology.life import begin_life, live
from sunup.physiology.orders import PLAN, OrderTable, pack_orders
from sunup.physiology.outcome import OUTCOME, TRACED
from sunup.physiology.params import Params, pack_params
from sunup.physiology.progesterone import progesterone
from sunup.physiology.state import STATE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sunup.physiology.females import FemaleTable

LOW = 0xFFFFFFFF
SETTLE_H = 40.0 * 24.0  # after the last order, for returns within the steps and day-30 pregnancies


class RunError(SunupError):
    """A run that was asked for in a way that cannot be carried out."""


class EndlessRunError(SunupError):
    """A female whose events never came to an end: a fault of the kernel, never of the user."""

    def __init__(self, female: int) -> None:
        super().__init__(f"the run of female {female} does not end; please report the seed.")


@compiled_apart
def run_chunk(
    packed: Any,
    params: Any,
    plans: Any,
    rows: Any,
    seed_low: int,
    seed_high: int,
    first: int,
    last: int,
    end_h: float,
    ask_h: Any,
    asked: Any,
    starts: Any,
    outcomes: Any,
    finest: float,
    heats_h: float,
    luck: Any,
    states: Any,
    no_plan: Any,
    no_ask: Any,
    no_states: Any,
    no_record: Any,
) -> None:
    """Run females `first` to `last` of (replicate, female) in C order."""
    n = packed.shape[0]
    luck[0] = seed_low
    luck[1] = seed_high
    s = states[0]
    for i in range(first, last):
        replicate = i // n
        female = i % n
        luck[2] = replicate
        luck[3] = female
        f = packed[female]
        p = params[replicate % params.shape[0]]
        o = outcomes[i]
        if starts.shape[0] == 0:
            begin_life(s, f, p, luck, rows, no_plan[0], no_ask, no_states, o, no_record, finest)
        else:
            states[0] = starts[i % starts.shape[0]]
            begin_outcome(o, s)
        live(
            s,
            f,
            p,
            plans[f.plan],
            rows,
            luck,
            end_h,
            ask_h,
            asked[i],
            o,
            no_record,
            finest,
            heats_h,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of the females.

    Parameters
    ----------
    females : ndarray of OUTCOME, shape (replicates, n)
        See ``outcome.py`` for the columns.
    states : ndarray of STATE, shape (replicates, n, q)
        At the asked hours.
    """

    females: NDArray[np.void]
    states: NDArray[np.void]


def simulate(
    females: FemaleTable,
    orders: OrderTable | Sequence[OrderTable],
    *,
    params: Params | Sequence[Params],
    seed: int,
    replicates: int = 1,
    plan_of: NDArray[np.int64] | None = None,
    end_h: float | None = None,
    ask_h: Sequence[float] = (),
    starts: NDArray[np.void] | None = None,
    threads: int = 1,
    finest: float = 1.0,
    heats_until_h: float = math.inf,
    into: NDArray[np.void] | None = None,
) -> Outcome:
    """Run females under order tables.

    Parameters
    ----------
    females : FemaleTable
        n females; a female's place in the table is her luck.
    orders : OrderTable or sequence of them
    params : Params or sequence of them
        Replicate r takes set r modulo their number.
    seed : int
        0 to 2**64 - 1.
    replicates : int
        How often the whole table is run, each time with other luck.
    plan_of : ndarray of int, shape (n,), optional
        Which table each female follows; the first if absent.
    end_h : float, optional
        Hour at which the run ends; 40 d after the last order if absent.
    ask_h : sequence of float
        Rising hours, not before zero, at which states are reported.
    starts : ndarray of STATE, shape (k,), optional
        States to start from in place of drawn ones; female i of the run takes number i modulo k.
    threads : int
        Changes the time taken and nothing else.
    finest : float
        Scale of the steps between events; for tests.
    heats_until_h : float
        Hour up to which heats and ovulations are wanted. After it a female is followed no further
        once her services are settled, which is quicker and changes nothing in them.
    into : ndarray of OUTCOME, shape (replicates * n,), optional
        Memory to write to, whatever it holds: an earlier outcome in it is lost. New if absent.

    Returns
    -------
    Outcome

    Raises
    ------
    RunError
        If shapes or numbers do not fit together.
    """
    tables = [orders] if isinstance(orders, OrderTable) else list(orders)
    sets = [params] if isinstance(params, Params) else list(params)
    n = len(females)
    _check_run(n, tables, sets, seed, replicates, ask_h)
    packed = females.pack()
    if plan_of is not None:
        if plan_of.shape != (n,) or (plan_of < 0).any() or (plan_of >= len(tables)).any():
            message = "plan_of must name one of the order tables for every female."
            raise RunError(message)
        packed["plan"] = plan_of
    rows, plans = pack_orders(tables)
    heats_h = math.inf if len(ask_h) else heats_until_h
    if end_h is None:
        end_h = max(table.last_h for table in tables) + SETTLE_H
    total = n * replicates
    outcomes = np.zeros(total, OUTCOME) if into is None else into
    if outcomes.shape != (total,) or outcomes.dtype != OUTCOME:
        message = f"memory for {total} outcomes is wanted, not for {outcomes.shape}."
        raise RunError(message)
    asked = np.zeros((total, len(ask_h)), STATE)
    start_states = np.zeros(0, STATE) if starts is None else starts
    bounds = np.linspace(0, total, max(1, threads) + 1).astype(int)

    def work(part: int) -> None:
        run_chunk(
            packed,
            pack_params(sets),
            plans,
            rows,
            seed & LOW,
            seed >> 32,
            int(bounds[part]),
            int(bounds[part + 1]),
            float(end_h),
            np.array(ask_h, float),
            asked,
            start_states,
            outcomes,
            finest,
            heats_h,
            np.zeros(4, np.uint64),
            np.zeros(1, STATE),
            np.zeros(1, PLAN),
            np.zeros(0),
            np.zeros(0, STATE),
            np.zeros((0, TRACED)),
        )

    if threads <= 1:
        work(0)
    else:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(work, range(threads)))
    if outcomes["is_endless"].any():
        raise EndlessRunError(int(np.argmax(outcomes["is_endless"])) % n)
    return Outcome(
        females=outcomes.reshape(replicates, n),
        states=asked.reshape(replicates, n, len(ask_h)),
    )


@compiled_apart
def read_p4(states: Any, params: Any, p4: Any) -> None:
    """Fill `p4` with the progesterone of each state at its own hour."""
    for i in range(states.shape[0]):
        p4[i] = progesterone(states[i], states[i].now_h, params[0])


def progesterone_of(states: NDArray[np.void], *, params: Params) -> NDArray[np.float64]:
    """Return the progesterone of states at their own hours [ng/mL], same shape as `states`."""
    flat = np.ascontiguousarray(states).reshape(-1)
    p4 = np.empty(flat.shape[0])
    read_p4(flat, pack_params([params]), p4)
    return p4.reshape(states.shape)


def _check_run(
    n: int,
    tables: Sequence[OrderTable],
    sets: Sequence[Params],
    seed: int,
    replicates: int,
    ask_h: Sequence[float],
) -> None:
    if n == 0 or not tables or not sets:
        message = "a run needs at least one female, one order table and one parameter set."
        raise RunError(message)
    if not 0 <= seed < 2**64:
        message = f"the seed is {seed}; it must be 0 to 2**64 - 1."
        raise RunError(message)
    if replicates < 1 or replicates >= 2**32 or n >= 2**32:
        message = f"{replicates} replicates of {n} females cannot be run."
        raise RunError(message)
    hours = list(ask_h)
    if hours != sorted(hours) or (hours and (hours[0] < 0.0 or not math.isfinite(hours[-1]))):
        message = "the hours at which states are asked must rise and not lie before zero."
        raise RunError(message)

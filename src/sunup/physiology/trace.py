"""One female by the hour: the same compiled code as a million of them, with the recorder on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunup.physiology.compiled import compiled_apart
from sunup.physiology.life import begin_life, live
from sunup.physiology.orders import PLAN, OrderTable, pack_orders
from sunup.physiology.outcome import OUTCOME, TRACED
from sunup.physiology.params import Params, pack_params
from sunup.physiology.simulate import LOW, RunError
from sunup.physiology.state import STATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.physiology.females import FemaleTable

LINES_PER_H = 3
EVENTS = (
    "",
    "wave",
    "dominance_lost",
    "surge",
    "heat",
    "ovulation",
    "ai",
    "gnrh",
    "pgf",
    "embryo_lost",
)


@compiled_apart
def run_one(
    f: Any,
    p: Any,
    plan: Any,
    rows: Any,
    luck: Any,
    from_h: float,
    end_h: float,
    record: Any,
    outcomes: Any,
    states: Any,
    no_plan: Any,
    no_ask: Any,
    no_states: Any,
) -> int:
    """Run one female with a trace; the same code as `run_chunk`."""
    s = states[0]
    o = outcomes[0]
    n = begin_life(s, f, p, luck, rows, no_plan[0], no_ask, no_states, o, record, 1.0)
    kept = 0
    for k in range(n):
        if record[k, 0] >= from_h:
            for j in range(record.shape[1]):
                record[kept, j] = record[k, j]
            kept += 1
    return kept + live(
        s, f, p, plan, rows, luck, end_h, no_ask, no_states, o, record[kept:], 1.0, math.inf
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """What a recorder wrote, one line for every step and event, all of shape (m,).

    Parameters
    ----------
    hour : ndarray
        From zero; negative before it.
    p4 : ndarray
        Progesterone and its like [ng/mL].
    luteal_p4 : ndarray
        The part from lutea [ng/mL].
    diameter : ndarray
        Working dominant follicle [mm]; 0 where there is none.
    exposure : ndarray
        To estradiol, scaled.
    event : tuple of str
        One of `EVENTS`; empty for a plain step.
    outcome : record of OUTCOME
    is_barren : bool
        Whether she is one of the few in which nothing is ever fertilised.
    """

    hour: NDArray[np.float64]
    p4: NDArray[np.float64]
    luteal_p4: NDArray[np.float64]
    diameter: NDArray[np.float64]
    exposure: NDArray[np.float64]
    event: tuple[str, ...]
    outcome: np.void
    is_barren: bool


def trace(
    females: FemaleTable,
    orders: OrderTable,
    *,
    params: Params,
    seed: int,
    female: int = 0,
    replicate: int = 0,
    from_h: float = 0.0,
    end_h: float | None = None,
) -> Trace:
    """Follow one female of a table; she meets the luck she meets in ``simulate``.

    Parameters
    ----------
    female, replicate : int
        Her place in the table, and the replicate.
    from_h : float
        First hour to keep; may be negative.
    end_h : float, optional
        Four days after the last order if absent.

    Raises
    ------
    RunError
        If the table has no such female.
    """
    if not 0 <= female < len(females):
        message = f"the table has {len(females)} females; there is no female {female}."
        raise RunError(message)
    until = orders.last_h + 96.0 if end_h is None else end_h
    rows, plans = pack_orders([orders])
    record = np.zeros((int(LINES_PER_H * (until + 1200.0)), TRACED))
    outcomes = np.zeros(1, OUTCOME)
    luck = np.array([seed & LOW, seed >> 32, replicate, female], np.uint64)
    packed = females.pack()
    states = np.zeros(1, STATE)
    n = run_one(
        packed[female], pack_params([params])[0], plans[0], rows, luck, from_h, until, record,
        outcomes, states, np.zeros(1, PLAN), np.zeros(0), np.zeros(0, STATE),
    )  # fmt: skip
    kept = record[:n]
    return Trace(
        hour=kept[:, 0],
        p4=kept[:, 1],
        luteal_p4=kept[:, 4],
        diameter=kept[:, 2],
        exposure=kept[:, 3],
        event=tuple(EVENTS[int(code)] for code in kept[:, 5]),
        outcome=outcomes[0],
        is_barren=bool(states[0]["is_barren"]),
    )

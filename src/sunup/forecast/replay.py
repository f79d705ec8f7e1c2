"""Replay an arm of a trial: the females its paper describes, under its steps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.physiology.chance import normal
from sunup.physiology.females import FemaleTable
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sunup.forecast.arms import Arm, Scoring, Window
    from sunup.physiology.params import Params

AFTER_LAST_H = 132.0  # a heat seen at the end of a watch, its insemination and its ovulation
STEPS = (0.7548776662466927, 0.5698402909980532)  # Roberts' even sequence in two dimensions


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """Shares of 0 to 1; None where the arm reports no such figure, or no female is named by it.

    `named` is the share of the females of the arm, or of its part, that conception is of.
    """

    estrus: float | None
    conception: float | None
    pregnancy: float | None
    named: float = 0.0


def describe(arm: Arm, *, n: int, scoring: Scoring) -> FemaleTable:
    """The females of an arm, spread evenly over what its source leaves open."""
    place = np.arange(n) + 0.5
    if arm.female == "mixed":
        share = scoring.mixed_is["heifer"]
        is_heifer = np.floor(place * share) > np.floor((place - 1.0) * share)
    else:
        is_heifer = np.full(n, arm.female == "heifer")
    days = scoring.days_postpartum[0] + scoring.days_postpartum[1] * _normals(n, STEPS[0])
    condition = scoring.body_condition[0] + scoring.body_condition[1] * _normals(n, STEPS[1])
    cyclic = arm.cyclic_pct
    if cyclic is None:
        cyclic = scoring.cyclic_pct_missing[arm.female]
    return FemaleTable(
        is_heifer=is_heifer,
        is_first_calf=np.full(n, arm.female == "first_calf_cow"),
        indicus=np.full(n, arm.indicus),
        days_postpartum=np.clip(days, 15.0, 200.0),
        condition=np.clip(condition, 2.0, 8.5),
        mature_share=np.full(n, 0.6),
        share_cycling=np.full(n, cyclic / 100.0),
        cycle_day=np.full(n, math.nan if arm.cycle_day is None else float(arm.cycle_day)),
    )


def _normals(n: int, step: float) -> NDArray[np.float64]:
    even = np.mod((np.arange(n) + 0.5) * step, 1.0)
    return np.array([normal(min(0.999, max(0.001, float(u)))) for u in even])


def replay(
    arm: Arm,
    *,
    params: Params | Sequence[Params],
    scoring: Scoring,
    n: int,
    seed: int,
    replicates: int = 1,
) -> Replay:
    """Run an arm and read off what its paper reports.

    Pregnancy is the mean chance of each female that was served, before the luck of her embryo,
    so that it is smooth in the figures.
    """
    females = describe(arm, n=n, scoring=scoring)
    clock = arm.orders.clock_h
    windows = [arm.estrus_window] if arm.estrus_window is not None else []
    windows += [arm.part.window] if arm.part is not None else []
    run = simulate(
        females,
        arm.orders,
        params=params,
        seed=seed,
        replicates=replicates,
        end_h=max([arm.orders.last_h, *(clock + window.to_h for window in windows)]) + AFTER_LAST_H,
    )
    out = run.females.reshape(-1)
    chance = np.where(out["n_services"] > 0, out["chance_first"], 0.0)
    inside = np.ones(out.shape[0], bool)
    if arm.part is not None:
        inside = _was_seen(out, clock, arm.part.window) == arm.part.in_heat
    estrus = None
    if arm.estrus_window is not None and arm.estrus_pct is not None:
        estrus = float(_was_seen(out, clock, arm.estrus_window).mean())
    conception, share_named = None, 0.0
    if arm.conception_pct is not None:
        if arm.conception_of == "in_heat_at_timed_ai" and arm.estrus_window is not None:
            at_timed_ai = (out["n_ai"] > 0) & (out["first_on_heat"] == 0)
            named = inside & at_timed_ai & _was_seen(out, clock, arm.estrus_window)
        else:
            named = inside & (out["first_on_heat"] == 1)
        if named.any():
            conception = float(chance[named].mean())
            share_named = float(named.sum() / inside.sum())
    pregnancy = None
    if arm.pregnancy_pct is not None and inside.any():
        outcome = out["pregnant"] if arm.pregnancy_to == "period" else chance
        pregnancy = float(outcome[inside].mean())
    return Replay(estrus=estrus, conception=conception, pregnancy=pregnancy, named=share_named)


def _was_seen(out: NDArray[np.void], clock: float, window: Window) -> NDArray[np.bool_]:
    """Whether the first heat seen lies in the window.

    The first from the clock on, or from the window's begin where that is sooner.
    """
    from_h, to_h = clock + window.from_h, clock + window.to_h
    seen = out["heat_seen"]
    first = np.where(seen >= min(clock, from_h), seen, np.inf).min(axis=1)
    return np.asarray((first >= from_h) & (first <= to_h), bool)

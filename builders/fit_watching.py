"""How many heats people see, from studies of that alone.

    python builders/fit_watching.py

Prints the figures of watching by eye that ``physiology.toml`` holds (riding_seen, signs_seen) with
their standard errors, and what each study then comes to. Trials of whole plans have no part in it.
What was thought before the studies (BEFORE) holds what they do not tell.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares

from sunup.app.open import open_library
from sunup.physiology.females import FemaleKind, uniform_group
from sunup.physiology.orders import Act, Aid, Order, OrderTable
from sunup.physiology.params import STEM, Params
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    from numpy.typing import NDArray

N, SEED = 4000, 7
DAYS = 35.0
BEFORE = (("riding_seen", 1.3, 0.3), ("signs_seen", 0.25, 0.1))  # memory: a guess of ours
# Stevenson 1996 (read): 30 of 41 heats of beef heifers that a device had proven were found by two
# checks of 45 minutes; the 11 missed lasted 8.4 h, the others 15.6 (SD 5, from the printed SE)
FOUND = (30, 41)
MISSED_H, FOUND_H, LENGTH_SD_H = 8.4, 15.6, 5.0
# Hall 1959 (read, dairy): against checks every six hours two a day find 19.9 % fewer heats, three
# 10.0 % fewer; neither minutes nor the number of heats is known, so 4 points are taken
FEWER = ((2, 0.199), (3, 0.100))
FEWER_SE = 0.04
# a Colorado study told by Michigan State (read): two checks a day in the field find 56 %; minutes
# not told, and heats known afterwards by their marks are in it
IN_THE_FIELD, FIELD_SE = 0.56, 0.12


def watch(params: Params, per_day: int, *, marks: bool) -> tuple[float, float, float]:
    """Share of heats found, and mean hours of those missed and found; heifers cycling freely."""
    if not marks:
        params = params.changed({"seen_late": 0.0})
    end_h = 24.0 * DAYS
    order = Order(
        hour=0.0, act=Act.WATCH, until_h=end_h, aid=Aid.EYE, per_day=per_day, minutes=45.0
    )
    group = uniform_group(N, kind=FemaleKind.HEIFER, share_cycling=1.0)
    table = OrderTable(orders=[order], aid=Aid.EYE, per_day=per_day)
    out = simulate(group, table, params=params, seed=SEED, end_h=end_h + 60.0).females[0]
    is_heat = (out["heat_on"] > 24.0) & (out["heat_on"] < end_h - 40.0)
    found = is_heat & np.isfinite(out["heat_seen"])
    missed = is_heat & ~found
    length = out["heat_length"]
    return found.sum() / is_heat.sum(), float(length[missed].mean()), float(length[found].mean())


def told(params: Params) -> list[tuple[str, float, float, float]]:
    """What each study found, what is simulated, and how far off it may be."""
    found, missed_h, found_h = watch(params, 2, marks=False)
    share = FOUND[0] / FOUND[1]
    six_hourly = watch(params, 4, marks=False)[0]
    rows = [
        ("found by two checks", share, found, math.sqrt(share * (1.0 - share) / FOUND[1])),
        ("hours of heats missed", MISSED_H, missed_h, LENGTH_SD_H / math.sqrt(FOUND[1] - FOUND[0])),
        ("hours of heats found", FOUND_H, found_h, LENGTH_SD_H / math.sqrt(FOUND[0])),
    ]
    for per_day, fewer in FEWER:
        here = 1.0 - watch(params, per_day, marks=False)[0] / six_hourly
        rows.append((f"fewer by {per_day} checks than by 4", fewer, here, FEWER_SE))
    rows.append(
        ("two checks in the field", IN_THE_FIELD, watch(params, 2, marks=True)[0], FIELD_SE)
    )
    return rows


def main() -> None:
    """Fit and print."""
    library = open_library()[0]
    figures = {key: f.number for key, f in library.figures.items() if key.startswith(STEM)}
    base = Params.from_figures(figures)
    names = [name for name, _, _ in BEFORE]
    mean, sd = (np.array(column) for column in list(zip(*BEFORE, strict=True))[1:])

    def at(x: NDArray[np.float64]) -> Params:
        return base.changed({name: float(v) for name, v in zip(names, x, strict=True)})

    def residuals(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array(
            [*((here - study) / se for _, study, here, se in told(at(x))), *(x - mean) / sd]
        )

    fit = least_squares(residuals, mean, bounds=(0.0, [5.0, 1.0]), diff_step=0.1)
    se = np.sqrt(np.diag(np.linalg.inv(fit.jac.T @ fit.jac)))
    for name, value, error, before, unsure in zip(names, fit.x, se, mean, sd, strict=True):
        print(f"{name:12} {value:5.2f}  SE {error:.2f}  (before {before}, SD {unsure})")
    for what, study, here, error in told(at(fit.x)):
        print(f"{what:28} {study:6.2f} (SE {error:.2f})  simulated {here:6.2f}")


if __name__ == "__main__":
    main()

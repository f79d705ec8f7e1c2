"""The hour of insemination against ovulation, from studies of that hour alone.

    python builders/fit_timing.py

Prints the four figures of the curve that ``physiology.toml`` holds (early_half_h, early_width_h,
late_half_h, late_width_h) with their standard errors. Trials of whole plans have no part in it.
Each study has a level of its own, so that only the shape counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Dorsey 2011, 1,205 beef heifers under electronic watch (read): hours after onset, n, % pregnant
AFTER_ONSET = (((0.0, 4.0), 79, 48.1), ((4.0, 24.0), 879, 63.7), ((24.0, 36.0), 247, 55.9))
# Pursley 1998, dairy cows after GnRH (that 0-24 h are alike and 32 h is lower was read; the
# percentages are from memory, so their variance is doubled): hours after GnRH, % pregnant
AFTER_GNRH = ((0.0, 37.0), (8.0, 41.0), (16.0, 45.0), (24.0, 41.0), (32.0, 32.0))
PER_HOUR = 146  # of 732 cows over five hours
# Roelofs 2006 (read): 24-12 h before ovulation 82 % fertilised, 68 % of those good embryos; after
# ovulation 56 and 6 %; 36-24 h before 85 %, good embryos fewer. As a worth against 24-12 h, with
# how unsure that reading is; 12-0 h before from memory of the same and similar work.
AGAINST_BEST = (((-12.0, 0.0), 0.20, 0.15), ((24.0, 36.0), 0.93, 0.10), ((0.0, 12.0), 0.75, 0.15))
BEST = (12.0, 24.0)
ONSET_TO_OVULATION = (29.5, 3.0)  # h, SD; physiology.heat_to_ovulation_h
GNRH_TO_OVULATION = (28.0, 1.8)
WIDTHS = ((5.5, 3.0), (2.5, 1.0))  # what the widths are thought to be before, and how unsurely
N = 4000


def _even(n: int, step: float) -> NDArray[np.float64]:
    return np.asarray(np.mod((np.arange(n) + 0.5) * step, 1.0), float)


def worth(before_h: NDArray[np.float64], curve: NDArray[np.float64]) -> NDArray[np.float64]:
    """Worth of an insemination so many hours before ovulation (negative: after)."""
    early_half, early_width, late_half, late_width = curve[:4]
    early = 1.0 / (1.0 + np.exp((before_h - early_half) / early_width))
    late = 1.0 / (1.0 + np.exp(-(before_h - late_half) / late_width))
    product: NDArray[np.float64] = early * late
    return product


def residuals(theta: NDArray[np.float64]) -> NDArray[np.float64]:
    """Misfit of the curve, and of each study's level, in standard errors."""
    u, v, w = _even(N, 0.7549), _even(N, 0.5698), _even(N, 0.6180)
    normal = np.sqrt(-2.0 * np.log(u)) * np.cos(2.0 * np.pi * v)
    found: list[float] = []
    for (low, high), n, pct in AFTER_ONSET:
        before = ONSET_TO_OVULATION[0] + ONSET_TO_OVULATION[1] * normal - (low + (high - low) * w)
        share = pct / 100.0
        told = worth(before, theta).mean() * theta[4]
        found.append(float((told - share) / np.sqrt(share * (1 - share) / n)))
    for hour, pct in AFTER_GNRH:
        before = GNRH_TO_OVULATION[0] + GNRH_TO_OVULATION[1] * normal - hour
        share = pct / 100.0
        told = worth(before, theta).mean() * theta[5]
        found.append(float((told - share) / np.sqrt(2.0 * share * (1 - share) / PER_HOUR)))
    best = worth(BEST[0] + (BEST[1] - BEST[0]) * w, theta).mean()
    for (low, high), ratio, sd in AGAINST_BEST:
        told = worth(low + (high - low) * w, theta).mean() / best
        found.append(float((told - ratio) / sd))
    found += [
        (float(theta[1]) - WIDTHS[0][0]) / WIDTHS[0][1],
        (float(theta[3]) - WIDTHS[1][0]) / WIDTHS[1][1],
    ]
    return np.array(found)


def main() -> None:
    """Fit and print."""
    fit = least_squares(residuals, [38.0, 5.5, 0.0, 2.3, 0.65, 0.45])
    se = np.sqrt(np.diag(np.linalg.inv(fit.jac.T @ fit.jac)))
    names = ("early_half_h", "early_width_h", "late_half_h", "late_width_h", "level", "level")
    for name, value, error in zip(names, fit.x, se, strict=True):
        print(f"{name:14} {value:7.2f}  SE {error:.2f}")
    print("misfits:", np.round(residuals(fit.x), 1))


if __name__ == "__main__":
    main()

"""What share of the inseminated is pregnant at each level of the herd.

A level moves each female's chance of conception on the logit; one that did not ovulate, or whose
corpus luteum stood, stays open at any level, and females differ in their chances. So the share of
a group moves less than its level: +0.8 takes a timed AI from about 59 of 100 to 73, not 77. A run
holds the share at seven levels (``tally.NODES``); between them it is read off the polynomial
through its logits, beyond them it stays (against runs at levels between: within 0.02 points).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError
from sunup.forecast.tally import NODES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.forecast.tally import Tally

EDGE = NODES[-1][0]  # standard deviations to the outermost level of a run
FINE = np.linspace(-EDGE, EDGE, 201)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelCurve:
    """Shares pregnant at levels of the herd.

    Parameters
    ----------
    levels : tuple of float
        On the logit of conception, ascending.
    shares : tuple of float
        Of the inseminated, at each level, between 0 and 1.
    """

    levels: tuple[float, ...]
    shares: tuple[float, ...]

    def __post_init__(self) -> None:
        if not all(0.0 < share < 1.0 for share in self.shares):
            message = f"shares of {self.shares} at levels of the herd leave nothing to learn."
            raise DomainError(message)

    def logit_at(self, level: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the logit of the share at each level."""
        shares = np.array(self.shares)
        through = np.polynomial.Polynomial.fit(
            self.levels, np.log(shares / (1.0 - shares)), deg=len(self.levels) - 1
        )
        logit: NDArray[np.float64] = through(np.clip(level, self.levels[0], self.levels[-1]))
        return logit

    def mean(self, *, sd: float) -> float:
        """Mean share over herds whose levels are normal about 0."""
        weights = np.exp(-0.5 * FINE**2)
        shares = 1.0 / (1.0 + np.exp(-self.logit_at(sd * FINE)))
        return float(weights @ shares / weights.sum())


def read_curve(tally: Tally, *, mean: float, sd: float) -> LevelCurve | None:
    """Read the curve of a run off its sums.

    Parameters
    ----------
    tally : Tally
    mean, sd : float
        Of the herd levels it was run with.

    Returns
    -------
    LevelCurve or None
        None where nobody is inseminated, or nobody or everybody is pregnant.
    """
    served = int(tally.on_heat.sum() + tally.on_time.sum())
    shares = [float(total) / served for total in tally.split.totals.sum(axis=0)] if served else []
    if not shares or min(shares) <= 0.0 or max(shares) >= 1.0:
        return None
    return LevelCurve(
        levels=tuple(mean + x * sd for x, _ in NODES),
        shares=tuple(shares),
    )

"""Partially pooled shares: a logistic model with crossed random effects, small herds in mind.

The raw share of a technician with twelve inseminations is mostly luck. Here each technician, sire
and group has an effect drawn from a spread that is itself unknown; effects with few records are
drawn towards the middle.

For spreads s on a grid, fixed and random effects b are found at the mode of their distribution
given the counts (Newton), which is taken as normal about it (Laplace); each grid point weighs as
its Laplace likelihood times the prior of s. So the answer is a mixture of normals and carries the
uncertainty of the spreads. The variational fit of statsmodels was tried and gives the same middles,
but half the standard error of the mean that published fits report (``docs/decisions/
mixed_model.md``); tests compare both.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit, ndtr

from sunup.base.problems import DomainError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

_WIDEST = 2.0  # logit; a spread that holds odds 7-fold apart within one standard deviation
_POINTS = {1: 40, 2: 16, 3: 10}  # of the grid a factor, by number of factors
_BEND = 1.7  # crowds the grid towards small spreads, where herds lie
_NEWTON = 60
_CLOSE = 1e-9
_LEAST_WEIGHT = 1e-5  # grid points below it are left out of the mixture
FIXED_SD = 1.5  # logit; prior of a fixed effect: odds 20-fold apart are still believed


class ModelError(DomainError):
    """Counts or designs that do not belong together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RandomFactor:
    """Something with levels that are a sample of many: technicians, sires.

    Parameters
    ----------
    name : str
    levels : tuple of str
    level_of : ndarray of int, shape (cells,)
        Level of each cell.
    prior_sd : float
        Scale of the half-normal prior of the spread, on the logit.
    """

    name: str
    levels: tuple[str, ...]
    level_of: NDArray[np.int64]
    prior_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What the counts and the prior say of how far levels differ, on the logit."""

    name: str
    mean: float
    low80: float
    high80: float
    mode: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledLevel:
    """One level: the share it would reach on the same females as all others.

    `share` with the limits that hold it in 8 of 10 cases, all from 0 to 1; `effect` on the logit.
    """

    level: str
    share: float
    low80: float
    high80: float
    effect: float
    effect_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedFit:
    """A fitted model: a mixture of normals over fixed effects, then random ones factor by factor.

    Parameters
    ----------
    factors : tuple of RandomFactor
    spreads : tuple of Spread
        In the order of the factors.
    weights : ndarray, shape (points,)
    means : ndarray, shape (points, coefficients)
    covariances : ndarray, shape (points, coefficients, coefficients)
    design : ndarray, shape (cells, coefficients)
    trials : ndarray, shape (cells,)
    fixed : int
        Number of fixed effects; they stand first.
    """

    factors: tuple[RandomFactor, ...]
    spreads: tuple[Spread, ...]
    weights: NDArray[np.float64]
    means: NDArray[np.float64]
    covariances: NDArray[np.float64]
    design: NDArray[np.float64]
    trials: NDArray[np.float64]
    fixed: int

    def combine(self, rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return mean and standard deviation of linear combinations of the coefficients.

        Parameters
        ----------
        rows : ndarray, shape (combinations, coefficients)

        Returns
        -------
        tuple of ndarray, each of shape (combinations,)
        """
        each = self.means @ rows.T
        within = np.einsum("ij,kjl,il->ki", rows, self.covariances, rows)
        mean = self.weights @ each
        return mean, np.sqrt(self.weights @ (within + (each - mean) ** 2))

    def place(self, factor: int, level: int) -> int:
        """Return the place of a level among the coefficients."""
        before = sum(len(f.levels) for f in self.factors[:factor])
        return self.fixed + before + level

    def chance_above(self, factor: int, *, a: int, b: int) -> float:
        """Return the chance that level `a` of a factor is truly above level `b`."""
        row = np.zeros(self.design.shape[1])
        row[self.place(factor, a)], row[self.place(factor, b)] = 1.0, -1.0
        middle = self.means @ row
        spread = np.sqrt(np.einsum("j,kjl,l->k", row, self.covariances, row))
        return float(self.weights @ ndtr(middle / spread))

    def pooled(self, factor: int) -> tuple[PooledLevel, ...]:
        """Return the partially pooled share of every level of a factor.

        Each is the mean over all cells, every cell as it is but for this factor: what the level
        would have reached on everybody's females.
        """
        return tuple(self._level(factor, i) for i in range(len(self.factors[factor].levels)))

    def _level(self, factor: int, level: int) -> PooledLevel:
        used = self.design.copy()
        first = self.place(factor, 0)
        used[:, first : first + len(self.factors[factor].levels)] = 0.0
        used[:, self.place(factor, level)] = 1.0
        count = self.trials / self.trials.sum()
        chances = expit(used @ self.means.T)
        shares = count @ chances
        slopes = (count[:, None] * chances * (1.0 - chances)).T @ used
        within = np.einsum("kj,kjl,kl->k", slopes, self.covariances, slopes)
        # limits on the logit, where the distribution is nearest to normal
        steep = shares * (1.0 - shares)
        middles, wide = np.log(shares / (1.0 - shares)), np.sqrt(within) / steep
        low, high = (_mixture_at(self.weights, middles, wide, q) for q in (0.1, 0.9))
        row = np.zeros((1, self.design.shape[1]))
        row[0, self.place(factor, level)] = 1.0
        effect, sd = self.combine(row)
        return PooledLevel(
            level=self.factors[factor].levels[level],
            share=float(self.weights @ shares),
            low80=float(expit(low)),
            high80=float(expit(high)),
            effect=float(effect[0]),
            effect_sd=float(sd[0]),
        )


def fit_mixed(
    successes: Sequence[float],
    trials: Sequence[float],
    *,
    fixed: NDArray[np.float64],
    factors: Sequence[RandomFactor],
    fixed_sd: float = FIXED_SD,
    intercept_sd: float = 10.0,
) -> MixedFit:
    """Fit shares with crossed random effects.

    Parameters
    ----------
    successes, trials : sequence of float, shape (cells,)
    fixed : ndarray, shape (cells, effects)
        Its first column is the intercept (ones).
    factors : sequence of RandomFactor
        One to three.
    fixed_sd, intercept_sd : float
        Scales of the normal priors, on the logit.

    Returns
    -------
    MixedFit

    Raises
    ------
    ModelError
        If shapes differ, a cell has more successes than trials, or there is nothing to fit.

    Notes
    -----
    Nested integration of Laplace approximations over a grid of spreads, as in Rue, Martino and
    Chopin 2009 (from memory) at its simplest. Checked on the cbpp herds and by simulation in
    ``tests/published/test_mixed_model.py``.
    """
    y, n = np.asarray(successes, float), np.asarray(trials, float)
    _check(y, n, fixed, factors)
    blocks = [np.eye(len(f.levels))[f.level_of] for f in factors]
    design = np.hstack([fixed, *blocks])
    sizes = [len(f.levels) for f in factors]
    grid, widths = _grid(len(factors))
    own = [np.full(fixed.shape[1], fixed_sd**-2.0)]
    own[0][0] = intercept_sd**-2.0
    start = np.zeros(design.shape[1])
    means, covariances, logs, points = [], [], [], []
    for places in product(range(len(grid)), repeat=len(factors)):
        spreads = grid[list(places)]
        precision = np.concatenate(
            [*own, *(np.full(k, s**-2.0) for k, s in zip(sizes, spreads, strict=True))]
        )
        start, covariance, log_likelihood = _laplace(design, y, n, precision, start)
        prior = sum(
            np.log(widths[i]) - 0.5 * (grid[i] / f.prior_sd) ** 2
            for i, f in zip(places, factors, strict=True)
        )
        means.append(start)
        covariances.append(covariance)
        logs.append(log_likelihood + prior)
        points.append(places)
    weight = np.exp(np.array(logs) - max(logs))
    weight /= weight.sum()
    kept = weight > _LEAST_WEIGHT
    return MixedFit(
        factors=tuple(factors),
        spreads=tuple(
            _spread(f.name, grid, widths, _by_place([p[i] for p in points], weight, len(grid)))
            for i, f in enumerate(factors)
        ),
        weights=weight[kept] / weight[kept].sum(),
        means=np.array(means)[kept],
        covariances=np.array(covariances)[kept],
        design=design,
        trials=n,
        fixed=fixed.shape[1],
    )


def _laplace(
    design: NDArray[np.float64],
    y: NDArray[np.float64],
    n: NDArray[np.float64],
    precision: NDArray[np.float64],
    start: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Mode, covariance and log likelihood at given precisions of the effects."""
    at = start
    for _ in range(_NEWTON):
        chance = expit(design @ at)
        gradient = design.T @ (y - n * chance) - precision * at
        curve = (design.T * (n * chance * (1.0 - chance))) @ design + np.diag(precision)
        step = np.linalg.solve(curve, gradient)
        at = at + step * min(1.0, 3.0 / max(1e-12, float(np.abs(step).max())))
        if np.abs(step).max() < _CLOSE:
            break
    linear = design @ at
    fits = float((y * linear - n * np.logaddexp(0.0, linear)).sum())
    _, log_det = np.linalg.slogdet(curve)
    penalty = 0.5 * float(precision @ at**2) - 0.5 * float(np.log(precision).sum())
    return at, np.linalg.inv(curve), fits - penalty - 0.5 * float(log_det)


def _grid(factors: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Spreads at the middles of cells, and how wide the cells are."""
    number = _POINTS[factors]
    place = (np.arange(number) + 0.5) / number
    return _WIDEST * place**_BEND, _WIDEST * _BEND * place ** (_BEND - 1.0) / number


def _by_place(
    places: Sequence[int], weight: NDArray[np.float64], number: int
) -> NDArray[np.float64]:
    """Sum weights by the place they stand at."""
    return np.bincount(places, weight, number).astype(np.float64)


def _spread(
    name: str,
    grid: NDArray[np.float64],
    widths: NDArray[np.float64],
    weight: NDArray[np.float64],
) -> Spread:
    inside = np.cumsum(weight) - weight / 2.0
    return Spread(
        name=name,
        mean=float(weight @ grid),
        low80=float(np.interp(0.1, inside, grid)),
        high80=float(np.interp(0.9, inside, grid)),
        mode=_top(grid, np.log(np.maximum(weight / widths, 1e-300))),
    )


def _top(x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    """Place of the top of a curve: that of the parabola through the highest three points."""
    i = int(np.argmax(y))
    if not 0 < i < len(x) - 1:
        return float(x[i])
    a, b, _ = np.polyfit(x[i - 1 : i + 2], y[i - 1 : i + 2], 2)
    return float(-b / (2.0 * a))


def _mixture_at(
    weights: NDArray[np.float64],
    middles: NDArray[np.float64],
    wide: NDArray[np.float64],
    share: float,
) -> float:
    """Quantile of a mixture of normals, by halving."""
    low = float((middles - 9.0 * wide).min())
    high = float((middles + 9.0 * wide).max())
    for _ in range(60):
        middle = (low + high) / 2.0
        if weights @ ndtr((middle - middles) / wide) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _check(
    y: NDArray[np.float64],
    n: NDArray[np.float64],
    fixed: NDArray[np.float64],
    factors: Sequence[RandomFactor],
) -> None:
    if not 1 <= len(factors) <= 3:
        message = f"{len(factors)} random factors; one to three can be fitted"
        raise ModelError(message)
    if not (len(y) == len(n) == len(fixed) and all(len(f.level_of) == len(y) for f in factors)):
        message = "successes, trials, fixed effects and levels have different lengths"
        raise ModelError(message)
    if n.sum() < 1 or (y < 0).any() or (y > n).any():
        message = "there must be trials, and no cell may have more successes than trials"
        raise ModelError(message)

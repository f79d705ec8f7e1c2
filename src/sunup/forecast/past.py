"""A ranch's own past results shift its herd level: partial pooling on the logit.

A season of a herd stands at h + s on the logit: h stays with the herd, s is of the season, both
normal about 0; together they have the library's spread between herds, of whose variance a share
lasts. Of n inseminated in a past season y were pregnant, where the simulator expects the share
m(h + s) (``level_curve``). The distribution of h given the results is reckoned on a grid; its mean,
and its spread with that of the coming season, replace 0 and the spread of herds. A small result
moves the level little; many seasons leave only the coming season's own luck.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError
from sunup.forecast.forecast import FEW
from sunup.forecast.level_curve import EDGE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sunup.forecast.level_curve import LevelCurve

WIDEST = 5.0  # standard deviations the grid reaches
POINTS = 401
FAR = 4.0  # standard deviations: one herd in some 16,000


class PastError(DomainError):
    """A past result that cannot be."""

    def __init__(self, pregnant: int, inseminated: int) -> None:
        super().__init__(f"{pregnant} pregnant of {inseminated} inseminated cannot be.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PastResult:
    """One season of the ranch.

    Parameters
    ----------
    inseminated, pregnant : int
    curve : LevelCurve
        Share the simulator expects pregnant in herds like it, at each level.
    """

    inseminated: int
    pregnant: int
    curve: LevelCurve

    def __post_init__(self) -> None:
        if not 0 <= self.pregnant <= self.inseminated or self.inseminated < 1:
            raise PastError(self.pregnant, self.inseminated)


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdLevel:
    """What is thought of a herd's level on the logit of conception.

    Parameters
    ----------
    mean, sd : float
        Of the coming season, the luck of seasons in it where results are on file.
    words : str
        What it rests on.
    """

    mean: float
    sd: float
    words: str


def level_to_learn_on(*, herd_sd: float, lasting_share: float) -> HerdLevel:
    """Return the levels over which a past season is run, as far as the grid reaches."""
    reach = WIDEST * herd_sd * (lasting_share**0.5 + (1.0 - lasting_share) ** 0.5)
    return HerdLevel(mean=0.0, sd=reach / EDGE, words="herds of all levels, to learn from the past")


def herd_level(results: Sequence[PastResult], *, herd_sd: float, lasting_share: float) -> HerdLevel:
    """Return the herd's level given its past results.

    Parameters
    ----------
    results : sequence of PastResult
    herd_sd : float
        Between single seasons of unlike herds, on the logit.
    lasting_share : float
        Of its variance, what stays with a herd; above 0, at most 1.

    Returns
    -------
    HerdLevel
    """
    if not results:
        return HerdLevel(
            mean=0.0,
            sd=herd_sd,
            words="no past results of this ranch: taken as a herd like any other",
        )
    lasting = lasting_share * herd_sd**2
    coming = herd_sd**2 - lasting
    grid = np.linspace(-WIDEST, WIDEST, POINTS) * lasting**0.5
    log_weight = -0.5 * grid**2 / lasting
    for result in results:
        log_weight = log_weight + np.log(_likelihood(result, grid, season_sd=coming**0.5))
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    mean = float(weight @ grid)
    spread = float(weight @ (grid - mean) ** 2)
    n = sum(result.inseminated for result in results)
    y = sum(result.pregnant for result in results)
    usual = sum(result.inseminated * result.curve.mean(sd=herd_sd) for result in results)
    far = any(_is_far(result, herd_sd=herd_sd) for result in results)
    return HerdLevel(
        mean=mean,
        sd=(spread + coming) ** 0.5,
        words=(
            f"past results of this ranch: {y} of {n} pregnant where "
            f"{usual:.{0 if n >= FEW else 1}f} are expected of herds like it; its level is moved "
            f"part of the way ({mean:+.2f} on the logit of conception)"
            + ("; herds are hardly ever so far from it: check the counts" if far else "")
        ),
    )


def _is_far(result: PastResult, *, herd_sd: float) -> bool:
    """Whether hardly any herd differs so, by its own level and the luck of so few females."""
    n, y = result.inseminated, result.pregnant
    chance = result.curve.mean(sd=herd_sd)
    usual = np.log(chance / (1.0 - chance))
    more = np.log((y + 0.5) / (n - y + 0.5)) - usual
    far = result.curve.logit_at(np.array([np.copysign(FAR * herd_sd, more)])) - usual
    return bool(abs(more) > (far[0] ** 2 + FAR**2 / (n * chance * (1.0 - chance))) ** 0.5)


def _likelihood(
    result: PastResult, grid: NDArray[np.float64], *, season_sd: float
) -> NDArray[np.float64]:
    """Likelihood of a season's result at each level, up to a factor, over the luck of seasons."""
    nodes = np.linspace(-WIDEST, WIDEST, POINTS)
    weights = np.exp(-0.5 * nodes**2)
    weights /= weights.sum()
    logit = result.curve.logit_at(grid[:, None] + season_sd * nodes[None, :])
    n, y = result.inseminated, result.pregnant
    log_chance = -y * np.logaddexp(0.0, -logit) - (n - y) * np.logaddexp(0.0, logit)
    top = log_chance.max()
    likelihood: NDArray[np.float64] = np.maximum(np.exp(log_chance - top) @ weights, 1e-300)
    return likelihood

"""Protocols on the same females with the same luck: which is better, how surely, by how much."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError
from sunup.forecast.forecast import IN_SEASON, TO_AI, Comparison

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from sunup.forecast.run import Run


class UnpairedError(DomainError):
    """Two runs that do not share females, seed and replicates cannot be laid side by side."""

    def __init__(self, a: str, b: str) -> None:
        super().__init__(f"{a} and {b} were not run on the same females with the same luck.")


class NoSeasonError(DomainError):
    """Where one of two runs inseminates nobody, both must go on to the end of one season."""

    def __init__(self, a: str, b: str) -> None:
        super().__init__(f"{a} and {b} have no season in common to count conceptions in.")


def compare(group: str, a: tuple[str, Run], b: tuple[str, Run]) -> Comparison:
    """Compare two protocols season by season.

    On pregnancies to AI where both inseminate; else, since natural service has none, on all that
    conceive in the season.

    Parameters
    ----------
    group : str
    a, b : tuple of (protocol key, Run)

    Raises
    ------
    UnpairedError
        If they differ in females, seed or replicates.
    NoSeasonError
        If one inseminates nobody and their seasons are not as long, or not run.
    """
    one, two = a[1], b[1]
    same = (one.facts.tags, one.seed, one.replicates) == (two.facts.tags, two.seed, two.replicates)
    if not same:
        raise UnpairedError(a[0], b[0])
    by_ai = one.orders.has_ai and two.orders.has_ai
    days = {run.orders.season_days for run in (one, two)}
    if not by_ai and (len(days) > 1 or not one.orders.has_season):
        raise NoSeasonError(a[0], b[0])
    more = (_counts(one, by_ai=by_ai) - _counts(two, by_ai=by_ai)).astype(float)
    low, median, high = (float(x) for x in np.quantile(more, (0.1, 0.5, 0.9)))
    return Comparison(
        group=group,
        a=a[0],
        b=b[0],
        chance_a_better=float(((more > 0) + 0.5 * (more == 0)).mean()),
        more_median=median,
        more_low80=low,
        more_high80=high,
        more_mean=float(more.mean()),
        counted=TO_AI if by_ai else IN_SEASON,
    )


def _counts(run: Run, *, by_ai: bool) -> NDArray[np.int64]:
    return run.tally.pregnant if by_ai else run.tally.conceived.sum(axis=1)


def compare_all(group: str, runs: Mapping[str, Run]) -> tuple[Comparison, ...]:
    """Compare every pair of protocols, in the order given."""
    return tuple(compare(group, a, b) for a, b in combinations(runs.items(), 2))

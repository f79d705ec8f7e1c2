"""Seasons that count unequally: a run weighed by what has been seen meanwhile.

Who knows better which of the possible seasons are still possible gives each a weight; the run is
then made of seasons in proportion to their weights, by systematic resampling (Kitagawa 1996), and
everything that reads a run reads it as before.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.forecast.run import Run


class WeightsError(DomainError):
    """Weights that do not fit the seasons of a run."""


def weigh(run: Run, weights: NDArray[np.float64]) -> Run:
    """Return a run whose seasons stand in proportion to their weights.

    Parameters
    ----------
    run : Run
    weights : ndarray of float, shape (replicates,)
        Not negative, in any scale; one a season, in the order of the run.

    Returns
    -------
    Run
        As many seasons as before. Two runs of the same luck weighed alike stay season by season
        alike, and may be compared. What its spread comes from (`Tally.split`) is that of the run
        as it was.

    Raises
    ------
    WeightsError
        If there are not as many weights as seasons, one is negative or no number, or all are zero.
    """
    given = np.asarray(weights, float)
    if given.shape != (run.replicates,):
        message = f"{run.replicates} seasons want as many weights, not {given.shape}."
        raise WeightsError(message)
    if not np.isfinite(given).all() or (given < 0.0).any() or given.sum() <= 0.0:
        message = "weights must be numbers of at least zero, and not all of them zero."
        raise WeightsError(message)
    upto = np.cumsum(given) / given.sum()
    places = (np.arange(run.replicates) + 0.5) / run.replicates
    chosen = np.minimum(np.searchsorted(upto, places), run.replicates - 1)
    rows = {
        f.name: getattr(run.tally, f.name)[chosen] for f in fields(run.tally) if f.name != "split"
    }
    return replace(run, tally=replace(run.tally, **rows))

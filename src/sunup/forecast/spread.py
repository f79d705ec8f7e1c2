"""Where the spread of a forecast comes from: luck, herd, parameters, by nested sums.

Let m_i(k, h) be the chance of female i under parameter set k and herd level h, over all luck of
her own. Females are independent given k and h, so

- luck: the mean over k and h of sum_i m_i (1 - m_i);
- herd: the variance over h of sum_i m_i, averaged over k;
- parameters: the variance over k of sum_i m_i, averaged over h.

m_i is estimated from the kernel's chances before their last luck, at seven levels h
(Gauss-Hermite) of the same lives; what its own Monte Carlo error adds or takes is put back. The
interaction of herd and parameters is left out: over h it is second order.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.forecast import Spread
from sunup.forecast.tally import NODES

if TYPE_CHECKING:
    from sunup.forecast.tally import Split


def split_spread(split: Split, *, females: int) -> Spread:
    """Split the variance of females pregnant to AI by source.

    Parameters
    ----------
    split : Split
    females : int

    Returns
    -------
    Spread
        Standard deviations in points (of 100 females).
    """
    used = split.replicates > 0
    count = split.replicates[used].astype(float)[:, None, None]
    mean = split.sums[used] / count
    square = split.squares[used] / count
    noise = np.maximum(0.0, square - mean**2) / np.maximum(1.0, count - 1.0)
    weights = np.array([w for _, w in NODES])
    luck = float((((mean * (1.0 - mean) + noise).sum(axis=2)) @ weights).mean())
    totals = split.totals[used] / count[:, :, 0]
    middle = totals @ weights
    herd = float((((totals - middle[:, None]) ** 2) @ weights).mean())
    parameters = 0.0
    if len(middle) > 1:
        within = split.total_squares[used] / count[:, :, 0] - totals**2
        error = np.maximum(0.0, within) / np.maximum(1.0, count[:, :, 0] - 1.0)
        parameters = max(0.0, float(middle.var(ddof=1) - (error @ weights).mean()))
    points = 100.0 / females
    return Spread(
        luck=points * luck**0.5,
        herd=points * herd**0.5,
        parameters=points * parameters**0.5,
        total=points * (luck + herd + parameters) ** 0.5,
        sets=int(used.sum()),
    )

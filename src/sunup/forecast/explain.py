"""The way from all females to those pregnant to AI, as counts of simulated females."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.forecast import WaterfallStep
from sunup.forecast.reasons import REASONS

if TYPE_CHECKING:
    from numpy.typing import NDArray


def make_waterfall(reasons: NDArray[np.int64]) -> tuple[WaterfallStep, ...]:
    """Count the females lost at each step; the last step counts the pregnant.

    Parameters
    ----------
    reasons : ndarray of int, shape (replicates, reasons)
        Females by reason; each row sums to the group.

    Returns
    -------
    tuple of WaterfallStep
        All steps, also those that lose nobody; the means sum to the group.
    """
    return tuple(
        WaterfallStep(
            key=key,
            words=words,
            count=float(reasons[:, place].mean()),
            low80=float(np.quantile(reasons[:, place], 0.1)),
            high80=float(np.quantile(reasons[:, place], 0.9)),
        )
        for place, (key, words) in enumerate(REASONS)
    )

"""A count out of a count, with the interval that luck alone leaves about it."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

from sunup.base.problems import DomainError

LEVEL = 0.95
FEW = 10  # records: under it a share is not worth a word


class ShareError(DomainError):
    """A count that cannot be out of the other."""

    def __init__(self, count: int, of: int) -> None:
        super().__init__(f"{count} of {of} cannot be.")


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many, with the Wilson limits of the share (0 to 1); None of none."""

    count: int
    of: int
    low: float | None
    high: float | None

    @property
    def share(self) -> float | None:
        """The share itself; None of none."""
        return self.count / self.of if self.of else None

    @property
    def is_few(self) -> bool:
        """Whether so few records say next to nothing."""
        return self.of < FEW


def wilson(count: int, of: int, *, level: float = LEVEL) -> tuple[float, float]:
    """Return the Wilson score interval of a share.

    Where the true share would have to lie for the count seen to be no great surprise. Ask for it
    beside every share of a few dozen records.

    Parameters
    ----------
    count, of : int
        So many of so many; `of` is above 0.
    level : float
        Share of such intervals that hold the truth.

    Returns
    -------
    tuple of (low, high)
        Within 0 to 1.

    Raises
    ------
    ShareError
        If `count` is not from 0 to `of`, or `of` is 0.

    Notes
    -----
    Wilson 1927, J Am Stat Assoc 22:209 (from memory), without a correction for continuity. Checked
    against scipy in ``tests/published/test_wilson_and_power.py``.

    Examples
    --------
    >>> [round(x, 2) for x in wilson(55, 100)]
    [0.45, 0.64]
    """
    if of < 1 or not 0 <= count <= of:
        raise ShareError(count, of)
    z = NormalDist().inv_cdf((1.0 + level) / 2.0)
    middle = (count + z * z / 2.0) / (of + z * z)
    half = z / (of + z * z) * (count * (of - count) / of + z * z / 4.0) ** 0.5
    low = 0.0 if count == 0 else max(0.0, middle - half)
    high = 1.0 if count == of else min(1.0, middle + half)
    return low, high


def share_of(count: int, of: int) -> Share:
    """Return a count out of a count with its limits; none of none has no limits."""
    if of == 0:
        if count:
            raise ShareError(count, of)
        return Share(0, 0, None, None)
    low, high = wilson(count, of)
    return Share(count, of, low, high)


def points(share: float | None) -> str:
    """Return a share as of 100: ``55``; ``n/a`` where there is none."""
    return "n/a" if share is None else f"{int(100.0 * share + 0.5)}"

"""How many records it takes to tell two shares apart."""

from __future__ import annotations

import math
from statistics import NormalDist

from sunup.base.problems import DomainError

ALPHA = 0.05  # how often two alike would be told apart all the same
POWER = 0.8  # how often two unlike are told apart
MOST = 100_000  # records: more is "never on one ranch"


class PowerError(DomainError):
    """Shares or counts for which no power is defined."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} is outside what a power is defined for")


def power_of(p_a: float, p_b: float, *, n_a: float, n_b: float, alpha: float = ALPHA) -> float:
    """Return how often two true shares are told apart by so many records of each.

    Parameters
    ----------
    p_a, p_b : float
        True shares, above 0 and below 1.
    n_a, n_b : float
        Records of each.
    alpha : float
        Two-sided level of the test.

    Returns
    -------
    float
        From 0 to 1.

    Raises
    ------
    PowerError
        If a share is not above 0 and below 1, or a count not above 0.

    Notes
    -----
    The usual two-sided comparison of two proportions with the pooled variance if they are alike
    (Fleiss; from memory). Checked against statsmodels in
    ``tests/published/test_wilson_and_power.py``.
    """
    _check(p_a, p_b)
    if not (n_a > 0 and n_b > 0):
        raise PowerError(f"{n_a} and {n_b} records")
    alike, unlike = _spreads(p_a, p_b, 1.0 / n_a, 1.0 / n_b)
    apart = abs(p_a - p_b)
    z = NormalDist().inv_cdf(1.0 - alpha / 2.0)
    normal = NormalDist()
    return normal.cdf((apart - z * alike) / unlike) + normal.cdf((-apart - z * alike) / unlike)


def records_each(
    p_a: float, p_b: float, *, alpha: float = ALPHA, power: float = POWER
) -> int | None:
    """Return how many records of each it takes to tell two true shares apart.

    Parameters
    ----------
    p_a, p_b : float
    alpha, power : float

    Returns
    -------
    int or None
        None where more than `MOST` of each would be needed.

    Raises
    ------
    PowerError
        As `power_of`.

    Examples
    --------
    >>> records_each(0.5, 0.6)
    388
    """
    _check(p_a, p_b)
    if p_a == p_b:
        return None
    normal = NormalDist()
    z_alpha, z_power = normal.inv_cdf(1.0 - alpha / 2.0), normal.inv_cdf(power)
    alike, unlike = _spreads(p_a, p_b, 1.0, 1.0)
    n = ((z_alpha * alike + z_power * unlike) / (p_a - p_b)) ** 2
    return None if n > MOST else math.ceil(n)


def chance_alike(a: int, of_a: int, b: int, of_b: int) -> float:
    """Return how often two alike come out as far apart as these counts, or farther.

    Parameters
    ----------
    a, of_a, b, of_b : int
        So many of so many, each from 0 to its `of`.

    Returns
    -------
    float
        Above 0, at most 1.

    Notes
    -----
    Fisher's exact test, two-sided by the chance of each table (Fisher 1935; from memory).
    """
    from scipy.stats import fisher_exact

    return float(fisher_exact([[a, of_a - a], [b, of_b - b]]).pvalue)


def smallest_seen(p: float, *, n_a: float, n_b: float) -> float | None:
    """Return the smallest true difference that so many records would show four times in five.

    Parameters
    ----------
    p : float
        Share about which the two lie, half of the difference on each side.
    n_a, n_b : float

    Returns
    -------
    float or None
        A difference of shares; None where not even all against none would show.
    """
    low, high = 0.0, 2.0 * min(p, 1.0 - p) * (1.0 - 1e-9)
    if high <= 0.0 or _at(p, high, n_a, n_b) < POWER:
        return None
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (low, middle) if _at(p, middle, n_a, n_b) >= POWER else (middle, high)
    return high


def _at(p: float, apart: float, n_a: float, n_b: float) -> float:
    return power_of(p + apart / 2.0, p - apart / 2.0, n_a=n_a, n_b=n_b)


def _spreads(p_a: float, p_b: float, over_a: float, over_b: float) -> tuple[float, float]:
    """Standard errors of the difference if the two are alike, and as they are."""
    pooled = (p_a / over_a + p_b / over_b) / (1.0 / over_a + 1.0 / over_b)
    alike = (pooled * (1.0 - pooled) * (over_a + over_b)) ** 0.5
    unlike = (p_a * (1.0 - p_a) * over_a + p_b * (1.0 - p_b) * over_b) ** 0.5
    return alike, unlike


def _check(p_a: float, p_b: float) -> None:
    for p in (p_a, p_b):
        if not 0.0 < p < 1.0:
            raise PowerError(f"a true share of {p}")

"""From even draws to normal and cut normal ones, monotone, so that common luck stays common."""

from __future__ import annotations

import math

from sunup.physiology.compiled import compiled

# What each block of four draws is for. A number, once given, is never given to anything else.
TRAIT_START = 1  # cycling or not, stage of the cycle, luteum, growth
TRAIT_OVARY = 2  # dominance, luteolysis, estradiol threshold, readiness to start cycling
TRAIT_HEAT = 3  # length, strength, insert
WAVE = 4
OVULATION = 5
SURGE = 6
SEEN = 7
GNRH = 8
PGF = 9
SERVICE = 10
ESTER = 12
START = 13
MATING = 14
INSERT = 15
FALSE_HEAT = 16
WIDEST = 2.5  # standard deviations at which draws of a growth or of hours in her are cut


@compiled
def normal_tail(u: float) -> float:
    """Return the standard normal quantile of a `u` below 0.02425."""
    q = math.sqrt(-2.0 * math.log(u))
    top = (
        (((-7.784894002430293e-03 * q - 3.223964580411365e-01) * q - 2.400758277161838) * q
         - 2.549732539343734) * q + 4.374664141464968
    ) * q + 2.938163982698783  # fmt: skip
    below = (
        ((7.784695709041462e-03 * q + 3.224671290700398e-01) * q + 2.445134137142996) * q
        + 3.754408661907416
    ) * q + 1.0
    return top / below


@compiled
def normal(u: float) -> float:
    """Return the standard normal quantile of `u`, 0 < u < 1, within 2e-9 of its size.

    Notes
    -----
    Rational approximation (Acklam's coefficients), checked in the tests against scipy.
    """
    if u < 0.02425:
        return normal_tail(u)
    if u > 0.97575:
        return -normal_tail(1.0 - u)
    q = u - 0.5
    r = q * q
    top = (
        ((((-3.969683028665376e01 * r + 2.209460984245205e02) * r - 2.759285104469687e02) * r
          + 1.383577518672690e02) * r - 3.066479806614716e01) * r + 2.506628277459239
    ) * q  # fmt: skip
    below = (
        (((-5.447609879822406e01 * r + 1.615858368580409e02) * r - 1.556989798598866e02) * r
         + 6.680131188771972e01) * r - 1.328068155288572e01
    ) * r + 1.0  # fmt: skip
    return top / below


@compiled
def spread(u: float, mean: float, sd: float, widest: float) -> float:
    """Return a normal draw held within `widest` standard deviations of its mean."""
    z = normal(u)
    if z > widest:
        z = widest
    elif z < -widest:
        z = -widest
    return mean + sd * z


@compiled
def share_below(z: float) -> float:
    """Return the standard normal distribution function at `z`."""
    return 0.5 * math.erfc(-z / 1.4142135623730951)


@compiled
def logistic(z: float) -> float:
    """Return 1 / (1 + exp(-z))."""
    return 1.0 / (1.0 + math.exp(-z))

"""Counts of females as a chart says them: whole, of how many, over how many seasons."""

from __future__ import annotations

import math

from sunup.forecast.forecast import FEW

LIKELY = "in 80 of 100 possible seasons"


def whole(count: float) -> str:
    """Return a count as people say it: no half females."""
    return f"{round_half_up(count):,}"


def mean(count: float, females: int) -> str:
    """Return a mean of so many females: whole, of a few to the tenth, of one her chance."""
    if females == 1:
        return f"{whole(100.0 * count)} in 100"
    return whole(count) if females >= FEW else f"{count:.1f}"


def mean_and_span(count: float, low: float, high: float, females: int, likely: str = "") -> str:
    """Return a mean with its range in brackets, where it has one: a single female has none."""
    if females == 1 or math.isnan(low):
        return mean(count, females)
    return f"{mean(count, females)} ({span(low, high)}{likely and ' ' + likely})"


def round_half_up(count: float) -> int:
    """Return the nearest whole count; Python's own rounding takes 2.5 to 2 and 3.5 to 4."""
    return int(count + 0.5) if count >= 0 else -int(-count + 0.5)


def span(low: float, high: float) -> str:
    """Return a range of counts: ``24 to 38``, or one number where both round alike."""
    first, last = whole(low), whole(high)
    return first if first == last else f"{first} to {last}"

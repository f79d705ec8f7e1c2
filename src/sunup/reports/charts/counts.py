"""Counts of females as a chart says them: whole, of how many, over how many seasons."""

from __future__ import annotations

LIKELY = "in 80 of 100 possible seasons"


def whole(count: float) -> str:
    """Return a count as people say it: no half females."""
    return f"{round_half_up(count):,}"


def round_half_up(count: float) -> int:
    """Return the nearest whole count; Python's own rounding takes 2.5 to 2 and 3.5 to 4."""
    return int(count + 0.5) if count >= 0 else -int(-count + 0.5)


def span(low: float, high: float) -> str:
    """Return a range of counts: ``24 to 38``, or one number where both round alike."""
    first, last = whole(low), whole(high)
    return first if first == last else f"{first} to {last}"

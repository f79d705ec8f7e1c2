"""Equally likely seasons of one choice, as counts of females."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

from sunup.forecast.forecast import DOTS
from sunup.reports.charts.counts import round_half_up

if TYPE_CHECKING:
    from sunup.forecast.forecast import Forecast, Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonDots:
    """One row: equally likely seasons as counts of `n` females.

    `note` stands behind the name: "chosen", or what the dots count where it is another thing, as
    it is in a row `is_without_ai`.
    """

    name: str
    n: int
    counts: tuple[int, ...]
    note: str = ""
    is_without_ai: bool = False

    def of_100(self, count: float) -> float:
        """Return a count as of 100 females."""
        return 100.0 * count / self.n if self.n else 0.0

    def reaching(self, mark: float) -> int:
        """Return in how many seasons the mark (of 100) is reached."""
        least = self.least_count(mark)
        return sum(1 for count in self.counts if count >= least)

    def least_count(self, mark: float) -> int:
        """Return the least count of females that reaches a mark of 100."""
        return ceil(mark * self.n / 100.0 - 1e-9)

    @property
    def middle(self) -> float:
        """The median season's count."""
        ordered = sorted(self.counts)
        k = len(ordered)
        return (ordered[(k - 1) // 2] + ordered[k // 2]) / 2 if k else 0.0


def dots_of(forecast: Forecast, *, note: str = "") -> SeasonDots | None:
    """Return the row of a forecast, or None where it has nothing to compare.

    Bulls alone have no pregnancy to AI, and setting their whole season beside it would flatter
    them: their row counts the pregnancies of the first 21 days of the season.
    """
    if forecast.waterfall:
        return SeasonDots(name=forecast.full_name, n=forecast.n, counts=forecast.dots, note=note)
    if not forecast.season:
        return None
    first = forecast.season[0]
    days = f"no AI: pregnant in the first {first.to_day - first.from_day} days"
    return SeasonDots(
        name=forecast.full_name,
        n=forecast.n,
        counts=spread_dots(first.by_end),
        note=f"{note}; {days}" if note else days,
        is_without_ai=True,
    )


def spread_dots(interval: Interval) -> tuple[int, ...]:
    """Return `DOTS` equally likely counts that agree with an interval's limits.

    Places between two limits are found on a straight line; those beyond the outermost take it.
    """
    known = (
        (0.025, interval.low95), (0.1, interval.low80), (0.25, interval.low50),
        (0.5, interval.median),
        (0.75, interval.high50), (0.9, interval.high80), (0.975, interval.high95),
    )  # fmt: skip
    out = []
    for i in range(DOTS):
        share = (i + 0.5) / DOTS
        value = known[0][1] if share <= known[0][0] else known[-1][1]
        for (low, a), (high, b) in pairwise(known):
            if low < share <= high:
                value = a + (b - a) * (share - low) / (high - low)
        out.append(round_half_up(value))
    return tuple(out)

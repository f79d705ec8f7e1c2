"""When she is due: the middle day and the days between which 8 of 10 such cows calve."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

if TYPE_CHECKING:
    from sunup.planning.parentage import Parentage

LOW, MIDDLE, HIGH = 0.10, 0.50, 0.90


@dataclass(frozen=True, slots=True)
class Due:
    """When a pregnancy ends in a calf.

    8 of 10 calves come from `early_on` to `late_on`. `parts` are the same for each service she can
    have conceived to (index of the candidate, chance, early, middle, late): where they lie weeks
    apart, show them and not the range of the whole.
    """

    early_on: date
    likely_on: date
    late_on: date
    parts: tuple[tuple[int, float, date, date, date], ...]
    first_on: date
    by_day: tuple[float, ...]  # chance of calving on each day from `first_on`

    def chance_by(self, on: date) -> float:
        """Chance that she has calved by the end of a day."""
        n = (on - self.first_on).days + 1
        return float(sum(self.by_day[: max(n, 0)]))

    @property
    def words(self) -> str:
        """The due date in a line."""
        between = f"{_day(self.early_on)} and {_day(self.late_on)}"
        return f"due {_day(self.likely_on)} (8 of 10 between {between})"


def due_dates(parentage: Parentage) -> Due | None:
    """Return when she calves, from the days she can have conceived; None without any.

    Notes
    -----
    A sum over days of conception and gestation (normal, mean and spread of each candidate's breed).
    Losses are not taken off: this is when, if she carries the calf to term.
    """
    if not parentage.days:
        return None
    first = min(day for day, _, _ in parentage.days).toordinal()
    last = max(day for day, _, _ in parentage.days).toordinal()
    longest = max(c.gestation.mean_d + 5 * c.gestation.sd_d for c in parentage.candidates)
    n = int(last - first + longest) + 2
    rows = np.zeros((len(parentage.candidates), n))
    conceived = np.zeros((len(parentage.candidates), last - first + 1))
    for day, index, chance in parentage.days:
        conceived[index, day.toordinal() - first] += chance
    edges = np.arange(n - (last - first) + 1) - 0.5
    for index, candidate in enumerate(parentage.candidates):
        mean, spread = candidate.gestation.mean_d, candidate.gestation.sd_d
        rows[index] = np.convolve(conceived[index], np.diff(ndtr((edges - mean) / spread)))
    parts = []
    for index, row in enumerate(rows):
        weight = float(row.sum())
        if weight > 0.01:
            early, middle, late = _quantiles(row / weight, first)
            parts.append((index, weight, early, middle, late))
    whole = rows.sum(axis=0)
    whole /= whole.sum()
    early, middle, late = _quantiles(whole, first)
    begin = int(np.argmax(whole > 1e-9))
    return Due(
        early_on=early,
        likely_on=middle,
        late_on=late,
        parts=tuple(parts),
        first_on=date.fromordinal(first) + timedelta(days=begin),
        by_day=tuple(float(p) for p in whole[begin:]),
    )


def _quantiles(
    by_day: np.ndarray[tuple[int], np.dtype[np.float64]], first: int
) -> tuple[date, ...]:
    reached = np.cumsum(by_day)
    return tuple(
        date.fromordinal(first + int(np.searchsorted(reached, q))) for q in (LOW, MIDDLE, HIGH)
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"

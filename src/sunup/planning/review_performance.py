"""Standard performance measures of a season: each out of the females exposed.

The definitions are those cow-calf producers report by (standardised performance analysis): open
females that are sold stay among the exposed; those that die, are sold or move away for another
reason before calving are taken out; bred females bought in are added.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from sunup.base.problems import DomainError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.base.figures import Figure
    from sunup.library.library import Library

WINDOW_DAYS = 21
WINDOWS = 3  # and all that is later
THIRD = 3  # the mature cow whose calving opens the first window, by the first rule


class Start(StrEnum):
    """From which day the windows of calving are counted."""

    THIRD_MATURE_COW = "third_mature_cow"
    BREEDING_START = "breeding_start"


@dataclass(frozen=True, slots=True)
class SpreadFigures:
    """What the windows of calving are opened by: `mature` in years, `opens_after` in days."""

    mature: Figure
    opens_after: Figure

    @staticmethod
    def of(library: Library) -> SpreadFigures:
        """Take them from the library."""
        return SpreadFigures(
            mature=library.figure("review.mature_cow_years"),
            opens_after=library.figure("review.first_window_days"),
        )

    def words(self, start: Start) -> str:
        """From which day a rule counts."""
        if start is Start.BREEDING_START:
            return f"{self.opens_after.number:g} days after breeding began"
        return f"the day the third mature cow ({self.mature.number:g} years or older) calved"


class PerformanceError(DomainError):
    """Counts that cannot belong to one herd."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Performance:
    """What became of the females exposed, as counts.

    Parameters
    ----------
    exposed : int
        Females exposed to breeding, adjusted.
    checked, pregnant : int
        With a known finding, and pregnant among them.
    calved : int
        Females that calved at full term.
    born_alive, born_dead : int
        Calves; alive is up and nursing.
    weaned : int
        Calves weaned.
    weaned_weight_kg : float
        All calves weaned together.
    weighed : int
        Calves weaned whose weight is known.
    taken_out : int
        By how many `exposed` was lessened.
    has_calved, has_weaned : bool
        Whether calving and weaning are on record at all: a season still running has neither.
    """

    exposed: int
    checked: int = 0
    pregnant: int = 0
    calved: int = 0
    born_alive: int = 0
    born_dead: int = 0
    weaned: int = 0
    weaned_weight_kg: float = 0.0
    weighed: int = 0
    taken_out: int = 0
    has_calved: bool = True
    has_weaned: bool = True

    def __post_init__(self) -> None:
        if min(self.exposed, self.pregnant, self.calved, self.born_alive, self.born_dead) < 0:
            message = "a count of females or calves is below 0"
            raise PerformanceError(message)
        if self.pregnant > self.checked or self.weighed > self.weaned:
            message = "more are pregnant than were checked, or weighed than were weaned"
            raise PerformanceError(message)

    @property
    def pregnancy(self) -> float | None:
        """Pregnant of the exposed; None of none, or where some have no finding."""
        return None if self.checked < self.exposed else _over(self.pregnant, self.exposed)

    @property
    def calving(self) -> float | None:
        """Calves born at full term, alive and dead, of the exposed."""
        born = self.born_alive + self.born_dead
        return _over(born, self.exposed) if self.has_calved else None

    @property
    def live_calving(self) -> float | None:
        """Calves born alive, of the exposed."""
        return _over(self.born_alive, self.exposed) if self.has_calved else None

    @property
    def death_loss(self) -> float | None:
        """Calves born that were not weaned, of those born."""
        born = self.born_alive + self.born_dead
        return _over(born - self.weaned, born) if self.has_weaned else None

    @property
    def weaning(self) -> float | None:
        """Calves weaned, of the exposed: the calf crop."""
        return _over(self.weaned, self.exposed) if self.has_weaned else None

    @property
    def kg_weaned_per_exposed(self) -> float | None:
        """Weight weaned a female exposed; None unless every calf weaned was weighed."""
        if not self.has_weaned or self.weighed < self.weaned:
            return None
        return _over(self.weaned_weight_kg, self.exposed)


def _over(part: float, whole: float) -> float | None:
    return part / whole if whole else None


@dataclass(frozen=True, slots=True, kw_only=True)
class CalvingSpread:
    """Calvings by windows of 21 days: of each window and up to its end.

    `before` counts those before the first window opened; they stand in the first as well. `days`
    holds the day of each calving, counted from the opening.
    """

    start: Start
    words: str  # from which day the windows are counted
    opens_on: date
    calved: int
    by_window: tuple[int, ...]  # three windows of 21 days, and all later ones
    before: int
    days: tuple[int, ...]

    def by_end(self, window: int) -> int:
        """Return calvings up to the end of a window, counted from 0."""
        return sum(self.by_window[: window + 1])


def spread_calvings(
    calvings: Sequence[tuple[date, bool]],
    *,
    start: Start,
    figures: SpreadFigures,
    breeding_on: date | None = None,
) -> CalvingSpread | None:
    """Count calvings by windows of 21 days.

    Parameters
    ----------
    calvings : sequence of (date, bool)
        Day of calving, and whether the cow is mature (3 years or older).
    start : Start
    figures : SpreadFigures
    breeding_on : date, optional
        First day of breeding; needed for `Start.BREEDING_START`.

    Returns
    -------
    CalvingSpread or None
        None where the rule finds no day to count from.

    Notes
    -----
    Days 0 to 20, 21 to 41, 42 to 62 and later, as extension services count them; both rules of
    the first day are in use, so the one taken is always named.
    """
    ordered = sorted(on for on, _ in calvings)
    if start is Start.BREEDING_START:
        opens = (
            None
            if breeding_on is None
            else breeding_on + timedelta(days=figures.opens_after.number)
        )
    else:
        mature = sorted(on for on, is_mature in calvings if is_mature)
        opens = mature[THIRD - 1] if len(mature) >= THIRD else None
    if opens is None or not ordered:
        return None
    counts = [0] * (WINDOWS + 1)
    for on in ordered:
        counts[min(WINDOWS, max(0, (on - opens).days) // WINDOW_DAYS)] += 1
    return CalvingSpread(
        start=start,
        words=figures.words(start),
        opens_on=opens,
        calved=len(ordered),
        by_window=tuple(counts),
        before=sum(on < opens for on in ordered),
        days=tuple((on - opens).days for on in ordered),
    )

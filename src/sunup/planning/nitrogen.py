"""The nitrogen in a semen tank: how fast it falls and on which day it must be filled."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.base.quantities import CM_PER_IN

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from sunup.library.library import Library

_DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Level:
    """One reading of a tank: liquid on the stick [cm]; `filled` where read after a refill."""

    at: datetime
    cm: float
    filled: bool = False


@dataclass(frozen=True, slots=True)
class NitrogenFigures:
    """The least level [cm], how often to read it [d], and what counts as a fast fall [times]."""

    least_cm: float
    read_every_days: float
    fast_ratio: float
    source: tuple[str, ...]

    @staticmethod
    def of(library: Library) -> NitrogenFigures:
        """Take the figures from the library."""
        least = library.figure("practice.nitrogen_min_inches")
        return NitrogenFigures(
            least_cm=least.number * CM_PER_IN,
            read_every_days=library.number("practice.nitrogen_check_days"),
            fast_ratio=library.number("practice.nitrogen_fast_fall_ratio"),
            source=least.source,
        )


@dataclass(frozen=True, slots=True)
class TankState:
    """A tank at an instant.

    `fall_cm_per_day` is the slope of a straight line through the readings since the last fill
    (through all runs between fills, each with its own start, where there are too few); None where
    two readings between fills are not held. `refill_on` is the day the line meets the least level;
    days are the ranch's.
    """

    tank: str
    last_cm: float
    last_on: date
    fall_cm_per_day: float | None
    refill_on: date | None
    flags: tuple[str, ...]
    source: tuple[str, ...]


def fall_per_day(runs: Sequence[Sequence[tuple[float, float]]]) -> float | None:
    """Least-squares fall [cm/d] common to several runs, each with its own starting level.

    Parameters
    ----------
    runs : sequence of runs of (day, level in cm)

    Returns
    -------
    float or None
        Positive where the level falls; None where no run holds two readings at different times.

    Notes
    -----
    The common slope of an analysis of covariance: sums of squares and products taken about each
    run's own means.

    Examples
    --------
    >>> fall_per_day([[(0, 30.0), (10, 25.0)]])
    0.5
    """
    square = product = 0.0
    for run in runs:
        if len(run) < 2:
            continue
        day_mean = sum(day for day, _ in run) / len(run)
        cm_mean = sum(cm for _, cm in run) / len(run)
        square += sum((day - day_mean) ** 2 for day, _ in run)
        product += sum((day - day_mean) * (cm - cm_mean) for day, cm in run)
    return -product / square if square > 0.0 else None


def judge_tank(
    tank: str,
    readings: Sequence[Level],
    *,
    at: datetime,
    zone: ZoneInfo,
    figures: NitrogenFigures,
) -> TankState | None:
    """Say how a tank stands and when to refill it; None without a reading.

    Parameters
    ----------
    tank : str
    readings : sequence of Level
        In any order; those after `at` are not seen.
    at : datetime
    zone : ZoneInfo
        Of the ranch.
    figures : NitrogenFigures
    """
    known = sorted((r for r in readings if r.at <= at), key=lambda r: r.at)
    if not known:
        return None
    zero = known[0].at
    runs: list[list[tuple[float, float]]] = [[]]
    for reading in known:
        if reading.filled and runs[-1]:
            runs.append([])
        runs[-1].append(((reading.at - zero).total_seconds() / _DAY_S, reading.cm))
    latest = fall_per_day([runs[-1]]) if len(runs[-1]) >= 3 else None
    fall = latest if latest is not None else fall_per_day(runs)
    last = known[-1]
    now_cm = refill = None
    flags: list[str] = []
    if fall is not None and fall > 0:
        since = (at - last.at).total_seconds() / _DAY_S
        now_cm = last.cm - fall * since
        meets = last.at + timedelta(days=(last.cm - figures.least_cm) / fall)
        refill = to_local(meets, zone).date()
    if last.cm <= figures.least_cm or (now_cm is not None and now_cm <= figures.least_cm):
        flags.append(f"at or under the least level of {figures.least_cm:.1f} cm: fill it now")
    if _fell_fast(runs, figures.fast_ratio):
        flags.append(
            "fell much faster than before: look for frost on the outside; the vacuum may be lost"
        )
    last_on = to_local(last.at, zone).date()
    if (at - last.at).total_seconds() / _DAY_S > figures.read_every_days:
        flags.append(
            f"last read {last_on:%d %b}: read it at least every {figures.read_every_days:.0f} days"
        )
    return TankState(
        tank=tank,
        last_cm=last.cm,
        last_on=last_on,
        fall_cm_per_day=fall,
        refill_on=refill,
        flags=tuple(flags),
        source=figures.source,
    )


def _fell_fast(runs: Sequence[Sequence[tuple[float, float]]], ratio: float) -> bool:
    """Whether the last interval fell `ratio` times as fast as all readings before it."""
    if len(runs[-1]) < 2:
        return False
    (day_a, cm_a), (day_b, cm_b) = runs[-1][-2:]
    before = fall_per_day([*runs[:-1], runs[-1][:-1]])
    if before is None or before <= 0 or day_b <= day_a:
        return False
    return (cm_a - cm_b) / (day_b - day_a) > ratio * before

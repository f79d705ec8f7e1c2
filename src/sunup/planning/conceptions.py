"""On which day did she conceive, and to whom: chances before any check or calving is known.

A female open after a service returns after the days of `return_shares`, then every 18 to 24 days.
An insemination settles her with its chance, a heat with a bull present with the bull's. The chances
here are weights: evidence multiplies them, and ``parentage`` makes them add up to one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import DomainError
from sunup.planning.one_heat import SAME_SERVICE_KEY, heats_served

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from sunup.base.figures import Figure
    from sunup.library.library import Library

    Weights = NDArray[np.float64]

NO_SHARES: tuple[tuple[str, float], ...] = ()


class ChanceError(DomainError):
    """A chance outside 0 to 1."""

    def __init__(self, name: str, value: float) -> None:
        super().__init__(f"{name} = {value:g} is no chance; it lies between 0 and 1")


@dataclass(frozen=True, slots=True)
class Insemination:
    """One insemination.

    `chance` is that of conceiving to it (pregnant at about day 30); None: the figure of many herds.
    `is_on_heat` is true where she was seen in heat for it: open females are, pregnant ones seldom.
    `at` is its instant, UTC, where known: inseminations of one heat are one service.
    """

    on: date
    sire: str
    breeds: tuple[tuple[str, float], ...] = NO_SHARES
    chance: float | None = None
    is_on_heat: bool = False
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class BullTime:
    """Bulls with her from a day to a day; None: still there."""

    from_on: date
    until_on: date | None
    bulls: tuple[str, ...] = ()
    breeds: tuple[tuple[str, float], ...] = NO_SHARES


@dataclass(frozen=True, slots=True)
class ConceptionFigures:
    """Chances of conceiving and days of returning."""

    ai: Figure
    bull: Figure
    return_days: Figure
    return_shares: Figure
    cycle: Figure
    pregnant_heat: Figure
    heat_seen: Figure
    same_service: Figure

    @staticmethod
    def of(library: Library) -> ConceptionFigures:
        """Take them from the library."""
        figure = library.figure
        return ConceptionFigures(
            ai=figure("breeding.conception_ai"),
            bull=figure("breeding.conception_bull"),
            return_days=figure("breeding.return_days"),
            return_shares=figure("breeding.return_shares"),
            cycle=figure("practice.return_watch_days"),
            pregnant_heat=figure("physiology.pregnant_heat_share"),
            heat_seen=figure("breeding.returns_seen_share"),
            same_service=figure(SAME_SERVICE_KEY),
        )

    @property
    def bull_chance(self) -> float:
        """Chance of conceiving at one heat with a bull."""
        low, high = self.bull.span
        return (low + high) / 2


@dataclass(frozen=True, slots=True)
class Conceptions:
    """Weights of conceiving by day and by service.

    Attributes
    ----------
    first_on : date
        Day of column 0.
    weights : ndarray, shape (n inseminations + n bull times, days)
        Rows in the order given, inseminations first. Not normalised.
    open_weight : float
        Weight of not having conceived by the last day.
    heats : tuple of tuple of int
        Rows of inseminations that were of one heat.
    """

    first_on: date
    weights: Weights
    open_weight: float
    heats: tuple[tuple[int, ...], ...] = ()

    def day(self, column: int) -> date:
        """Date of a column."""
        return self.first_on + timedelta(days=column)


def conception_days(
    inseminations: Sequence[Insemination],
    bulls: Sequence[BullTime],
    *,
    until_on: date,
    figures: ConceptionFigures,
) -> Conceptions | None:
    """Return when and to whom she can have conceived up to a day; None without any service.

    Parameters
    ----------
    inseminations, bulls : sequence
        Since her last calving, any order. Services after `until_on` are left out.
    until_on : date
        Day of the check or calving that is asked about.
    figures : ConceptionFigures

    Raises
    ------
    ChanceError
        If a chance given lies outside 0 to 1.

    Notes
    -----
    Inseminations of one heat are one chance to conceive, the best of theirs, and each has an equal
    share in it: which straw met the egg is not known (ours, no source). They say nothing against
    each other.

    Not modelled: females not cycling after a failed insemination (they come late or not at all, so
    the bull's chance is a little too high); bulls that do not settle; an insemination of a pregnant
    female that ends the pregnancy.
    """
    starts = [s.on for s in inseminations if s.on <= until_on]
    starts += [b.from_on for b in bulls if b.from_on <= until_on]
    if not starts:
        return None
    first_on = min(starts)
    n_days = (until_on - first_on).days + 1
    weights = np.zeros((len(inseminations) + len(bulls), n_days))
    present = np.zeros((len(bulls), n_days), dtype=bool)
    for row, time in enumerate(bulls):
        last = min(time.until_on or until_on, until_on)
        if last >= time.from_on:
            present[row, (time.from_on - first_on).days : (last - first_on).days + 1] = True
    counted = [row for row, one in enumerate(inseminations) if one.on <= until_on]
    heats = heats_served(
        [(inseminations[row].on, inseminations[row].at) for row in counted],
        same_service_h=figures.same_service.number,
    )
    served = tuple(tuple(counted[i] for i in heat) for heat in heats)
    at_day: dict[int, list[tuple[int, ...]]] = {}
    for rows in served:
        at_day.setdefault((inseminations[rows[0]].on - first_on).days, []).append(rows)
    cycle = _cycle(figures)
    returns = _returns(figures)
    open_weight = 1.0
    heat = np.zeros(n_days)
    if 0 not in at_day:
        n_first = round(sum(figures.cycle.span) / 2)
        _add(heat, 0, np.full(n_first, 1.0 / n_first), open_weight)
    for day in _days(at_day, present):
        with_her = [int(row) for row in np.flatnonzero(present[:, day])]
        if heat[day] > 0.0:
            settled = float(heat[day]) * figures.bull_chance if with_her else 0.0
            for row in with_her:
                weights[len(inseminations) + row, day] += settled / len(with_her)
            open_weight -= settled
            _add(heat, day + 1, cycle, float(heat[day]) - settled)
        for rows in at_day.get(day, []):
            chance = max(_chance(inseminations[row], figures) for row in rows)
            if day > 0 and any(inseminations[row].is_on_heat for row in rows):
                weights *= figures.pregnant_heat.number
                open_weight *= figures.heat_seen.number
            for row in rows:
                own_day = (inseminations[row].on - first_on).days
                weights[row, own_day] += open_weight * chance / len(rows)
            open_weight *= 1.0 - chance
            heat[day + 1 :] = 0.0
            _add(heat, day + 1, returns, open_weight)
    return Conceptions(first_on, weights, max(open_weight, 0.0), served)


def _days(at_day: Iterable[int], present: NDArray[np.bool_]) -> Iterable[int]:
    """Days that matter: of inseminations, and where a bull is ever with her every day up to his."""
    with_bulls = np.flatnonzero(present.any(axis=0))
    return range(max([*at_day, int(with_bulls[-1])]) + 1) if with_bulls.size else sorted(at_day)


def _chance(one: Insemination, figures: ConceptionFigures) -> float:
    chance = figures.ai.number if one.chance is None else one.chance
    if not 0.0 <= chance <= 1.0:
        raise ChanceError("chance", chance)
    return chance


def _add(heat: Weights, start: int, spread: Weights, weight: float) -> None:
    """Add heats spread over the days from `start`; the shares of `spread` sum to 1."""
    end = min(start + len(spread), len(heat))
    if end > start:
        heat[start:end] += weight * spread[: end - start]


def _cycle(figures: ConceptionFigures) -> Weights:
    """Heat to heat, even over 18 to 24 days; index 0 is day 1."""
    low, high = (int(day) for day in figures.cycle.span)
    spread = np.zeros(high)
    spread[low - 1 :] = 1.0 / (high - low + 1)
    return spread


def _returns(figures: ConceptionFigures) -> Weights:
    """Days to the first heat after a failed insemination, even inside each class."""
    days = [int(day) for day in _numbers(figures.return_days)]
    shares = _numbers(figures.return_shares)
    spread = np.zeros(days[-1])
    for low, high, share in zip(days[:-1], days[1:], shares, strict=True):
        spread[low:high] = share / (high - low)  # days low+1 to high; index 0 is day 1
    spread /= spread.sum()
    return spread


def _numbers(figure: Figure) -> tuple[float, ...]:
    value = figure.value if isinstance(figure.value, tuple) else (figure.value,)
    return tuple(float(one) for one in value)

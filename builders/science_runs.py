"""What the measures of ``science.py`` share: runs of like females, and points of a plot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunup.physiology.females import FemaleKind, FemaleTable, uniform_group
from sunup.physiology.orders import Act, Aid, Order, OrderTable
from sunup.physiology.simulate import progesterone_of, simulate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from sunup.physiology.params import Params

HEIFER, COW, FIRST_CALF = FemaleKind.HEIFER, FemaleKind.COW, FemaleKind.FIRST_CALF_COW
CYCLING = {HEIFER: 0.89, COW: 0.62}  # where a trial does not say; [scoring] of trials.toml
OVULATION_DAY = 29.5 / 24.0  # ovulation stands this long after the heat that days count from


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One simulated value: `at` on its line, or None, with the error of the draw of females."""

    value: float
    se: float
    n: int
    at: float | None = None
    low: float | None = None
    high: float | None = None

    def to_json(self) -> dict[str, float | int]:
        """Return the point without what it lacks, rounded below its own error."""
        held = {
            "at": self.at,
            "value": round(self.value, 4),
            "se": round(self.se, 4),
            "n": self.n,
            "low": None if self.low is None else round(self.low, 4),
            "high": None if self.high is None else round(self.high, 4),
        }
        return {name: value for name, value in held.items() if value is not None}


Measured = dict[str, list[Point]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Runs:
    """The figures in use, the luck, and how many females a value rests on."""

    params: Params
    seed: int = 2101
    n: int = 2000

    def run(
        self,
        kind: FemaleKind,
        orders: Sequence[Order] | OrderTable = (),
        *,
        n: int | None = None,
        end_h: float | None = None,
        ask_h: Sequence[float] = (),
        days: NDArray[np.float64] | None = None,
        given: Mapping[str, float] | None = None,
        **female: float,
    ) -> tuple[NDArray[np.void], NDArray[np.void]]:
        """Run females that are alike, as `given` or named; with `days` each on her own day."""
        table = orders if isinstance(orders, OrderTable) else by_device(*orders)
        group = uniform_group(n or self.n, kind=kind, **(dict(given or {}) | female))
        if days is not None:
            group = FemaleTable(**{name: getattr(group, name) for name in group.__slots__[:7]},
                                cycle_day=days)  # fmt: skip
        found = simulate(
            group, table, params=self.params, seed=self.seed, end_h=end_h, ask_h=ask_h, threads=2
        )
        return found.females[0], found.states[0]

    def p4(self, states: NDArray[np.void]) -> NDArray[np.float64]:
        """Progesterone of states [ng/mL]."""
        return progesterone_of(states, params=self.params)


def order(hour: float, act: str, **kwargs: Any) -> Order:
    """Return one row of an order table."""
    return Order(hour=float(hour), act=Act[act.upper()], **kwargs)


def by_device(*orders: Order) -> OrderTable:
    """Return a table under which every heat is seen round the clock."""
    return OrderTable(orders=orders, aid=Aid.ELECTRONIC)


def share(flags: NDArray[np.bool_], *, at: float | None = None) -> Point:
    """Percent of females of whom it is true."""
    n = int(flags.size)
    p = float(flags.mean()) if n else math.nan
    held = min(max(p, 0.5 / max(1, n)), 1.0 - 0.5 / max(1, n))
    return Point(value=100.0 * p, se=100.0 * math.sqrt(held * (1 - held) / max(1, n)), n=n, at=at)


def mean(values: NDArray[np.float64], *, at: float | None = None, scale: float = 1.0) -> Point:
    """Mean of the finite values."""
    kept = values[np.isfinite(values)] * scale
    n = int(kept.size)
    return Point(value=float(kept.mean()), se=float(kept.std() / math.sqrt(max(1, n))), n=n, at=at)


def ratio(above: Point, below: Point) -> Point:
    """Quotient of two points with its error, as if their draws were apart."""
    value = above.value / below.value
    se = abs(value) * math.hypot(above.se / above.value, below.se / below.value)
    return Point(value=value, se=se, n=min(above.n, below.n))


def less(one: Point, two: Point) -> Point:
    """Difference of two points with its error, as if their draws were apart."""
    return Point(value=one.value - two.value, se=math.hypot(one.se, two.se), n=min(one.n, two.n))


def weighed(parts: Sequence[tuple[float, Point]], *, at: float | None = None) -> Point:
    """Sum of points by weight."""
    return Point(
        value=sum(w * p.value for w, p in parts),
        se=math.sqrt(sum((w * p.se) ** 2 for w, p in parts)),
        n=sum(p.n for _, p in parts),
        at=at,
    )


def by_hour(hours: NDArray[np.float64], marks: Sequence[float]) -> list[Point]:
    """Percent for whom `hours` has come, by each mark."""
    return [share(hours <= mark, at=float(mark)) for mark in marks]


def first_in(
    heats: NDArray[np.float64], start: float, end: float = math.inf
) -> NDArray[np.float64]:
    """Hours from `start` to the first heat in start..end; infinite where there is none."""
    inside = (heats >= start) & (heats <= end)
    return np.asarray(np.min(np.where(inside, heats - start, np.inf), axis=1), float)

"""Measures of the cycle that nobody meddles with, and of PGF on known days: waves, luteum, heat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from science_runs import (
    COW,
    CYCLING,
    HEIFER,
    Measured,
    Point,
    Runs,
    by_hour,
    first_in,
    mean,
    order,
    share,
)
from sunup.physiology.orders import Aid, Order, OrderTable, Rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sunup.physiology.females import FemaleKind

SHORT_D, LONG_D = 21.0, 22.0


@dataclass(frozen=True, slots=True)
class Cycles:
    """Whole cycles, one place each; a female's second beside her first, shape (n, 2)."""

    length: NDArray[np.float64]
    waves: NDArray[np.int64]
    second: NDArray[np.float64]
    third: NDArray[np.float64]
    fall: NDArray[np.float64]

    def of(self, waves: int) -> NDArray[np.bool_]:
        """Cycles with so many waves."""
        return np.asarray((self.waves == waves) & np.isfinite(self.length), bool)


def find_cycles(out: NDArray[np.void]) -> Cycles:
    """Take the first two whole cycles of each female out of a run's outcomes [d]."""
    columns = [_cycle(out, k) for k in range(2)]
    return Cycles(*(np.stack(held, axis=1) for held in zip(*columns, strict=True)))


def _cycle(out: NDArray[np.void], k: int) -> tuple[NDArray[np.float64], ...]:
    start, end = out["ovulation"][:, k], out["ovulation"][:, k + 1]
    emerged = out["emergence"]
    inside = (emerged > start[:, None] - 0.01) & (emerged < end[:, None] - 0.01)
    rank = np.cumsum(inside, axis=1)

    def emergence(number: int) -> NDArray[np.float64]:
        at = np.where(inside & (rank == number), emerged, np.inf).min(axis=1)
        return np.where(np.isfinite(at), (at - start) / 24.0, np.nan)

    fell = out["luteolysis"]
    fall = np.where((fell > start[:, None]) & (fell < end[:, None]), fell, np.inf).min(axis=1)
    return (
        (end - start) / 24.0,
        inside.sum(axis=1),
        emergence(2),
        emergence(3),
        np.where(np.isfinite(fall), (fall - start) / 24.0, np.nan),
    )


def measure_waves(runs: Runs) -> Measured:
    """Lengths, numbers of waves and days of emergence."""
    found: Measured = {}
    held: dict[FemaleKind, Cycles] = {}
    for kind, name in ((HEIFER, "heifer"), (COW, "cow")):
        out, _ = runs.run(kind, end_h=24.0 * 90, share_cycling=1.0)
        held[kind] = cycles = find_cycles(out)
        whole = np.isfinite(cycles.length)
        found[f"waves.cycle_{name}"] = [mean(cycles.length)]
        found[f"waves.two_{name}"] = [share(cycles.of(2)[whole])]
    heifers = held[HEIFER]
    length, two, three = heifers.length, heifers.of(2), heifers.of(3)
    whole = np.isfinite(length)
    both = whole.all(axis=1)
    found["waves.cycle_two"] = [mean(length[two])]
    found["waves.cycle_three"] = [mean(length[three])]
    found["waves.second_two"] = [mean(heifers.second[two])]
    found["waves.second_three"] = [mean(heifers.second[three])]
    found["waves.third"] = [mean(heifers.third[three])]
    found["waves.two_if_short"] = [share(two[whole & (length <= SHORT_D)])]
    found["waves.three_if_long"] = [share(three[whole & (length >= LONG_D)])]
    found["waves.same_again"] = [share(heifers.waves[both, 0] == heifers.waves[both, 1])]
    found["waves.within_17_25"] = [share(((length >= 17) & (length <= 25))[whole])]
    for name, flags in (("two", two), ("three", three)):
        found[f"waves.lengths_{name}"] = [
            share(((length >= day - 0.5) & (length < day + 0.5) & flags)[whole], at=float(day))
            for day in range(16, 29)
        ]
    _, states = runs.run(
        HEIFER, n=400, end_h=300.0, share_cycling=1.0, cycle_day=3.0, ask_h=[24.0 * 4]
    )
    after = (states["deviation_h"] - states["emergence_h"])[:, 0] / 24.0
    found["waves.deviation"] = [mean(after)]
    return found


def measure_luteum(runs: Runs) -> Measured:
    """Progesterone by day, luteolysis, and the answer to PGF by day."""
    found: Measured = {}
    days = list(range(22))
    for kind, name in ((HEIFER, "heifer"), (COW, "cow")):
        _, states = runs.run(
            kind, n=500, end_h=24.0 * 23, share_cycling=1.0, cycle_day=0.0,
            ask_h=[24.0 * day for day in days],
        )  # fmt: skip
        p4 = runs.p4(states)
        found[f"luteum.p4_{name}"] = [
            Point(
                at=float(day), value=float(col.mean()), se=float(col.std() / np.sqrt(col.size)),
                n=col.size, low=float(np.quantile(col, 0.1)), high=float(np.quantile(col, 0.9)),
            )
            for day, col in zip(days, p4.T, strict=True)
        ]  # fmt: skip
    out, _ = runs.run(HEIFER, end_h=24.0 * 90, share_cycling=1.0)
    cycles = find_cycles(out)
    for name, waves in (("two", 2), ("three", 3)):
        found[f"luteum.fall_{name}"] = [mean(cycles.fall[cycles.of(waves)])]
    fall, below, ovulation, _ = find_fall(runs, HEIFER)
    found["luteum.fall_hours"] = [mean(below - fall)]
    found["luteum.below_to_ovulation"] = [mean(ovulation - below)]
    found["luteum.pgf"] = _pgf(runs, HEIFER, range(1, 15), 0.0)
    found["luteum.pgf_indicus"] = _pgf(runs, COW, range(3, 13), 1.0)
    return found


def find_fall(runs: Runs, kind: FemaleKind) -> tuple[NDArray[np.float64], ...]:
    """Hours of luteolysis, of progesterone below 1 ng/mL, of ovulation and of heat after it."""
    ask = np.arange(9 * 24.0, 25 * 24.0, 3.0)
    out, states = runs.run(
        kind, n=400, end_h=24.0 * 28, ask_h=list(ask), share_cycling=1.0, cycle_day=5.0
    )
    fall = out["luteolysis"][:, 0]
    is_below = (runs.p4(states) < 1.0) & (ask > fall[:, None])
    below = np.where(is_below, ask, np.inf).min(axis=1)
    later = below[:, None]
    ovulation = np.where(out["ovulation"] > later, out["ovulation"], np.inf).min(axis=1)
    heat = np.where(out["heat_on"] > later, out["heat_on"], np.inf).min(axis=1)
    return fall, np.where(np.isfinite(below), below, np.nan), ovulation, heat


def _pgf(runs: Runs, kind: FemaleKind, days: range, indicus: float) -> list[Point]:
    each = 500
    at = np.repeat(np.array(list(days), float), each)
    out, _ = runs.run(
        kind, [order(0, "pgf")], n=at.size, end_h=24.0 * 4, days=at, share_cycling=1.0,
        indicus=indicus,
    )  # fmt: skip
    return [share((out["n_luteolysis"] > 0)[at == day], at=float(day)) for day in days]


def insert_7(start: float = 0.0) -> list[Order]:
    """GnRH and insert, seven days, PGF and insert out."""
    return [
        order(start, "gnrh"), order(start, "insert_in"),
        order(start + 168, "pgf"), order(start + 168, "insert_out"),
    ]  # fmt: skip


def seven_and_seven() -> list[Order]:
    """PGF and insert, GnRH a week later, PGF and insert out after another."""
    return [
        order(0, "pgf"), order(0, "insert_in"), order(168, "gnrh"), order(336, "pgf"),
        order(336, "insert_out"),
    ]  # fmt: skip


def presynchronised() -> list[Order]:
    """PGF a week before the seven days of the insert."""
    return [order(0, "pgf"), *insert_7(168.0)]


def seen_after(
    runs: Runs, kind: FemaleKind, orders: list[Order], *, aid: Aid = Aid.PATCH
) -> NDArray[np.float64]:
    """Hours from the last PGF to the first heat seen; infinite where none is within 5 days."""
    clock = max(o.hour for o in orders)
    table = OrderTable(orders=orders, aid=aid)
    out, _ = runs.run(kind, table, end_h=clock + 168.0, share_cycling=CYCLING[kind])
    return first_in(out["heat_seen"], clock, clock + 120.0)


def measure_heat(runs: Runs) -> Measured:
    """Length of heat, hours to ovulation, what is seen, and hours after PGF."""
    found: Measured = {}
    watch = order(0.0, "watch", until_h=840.0, rule=Rule.NONE, per_day=2, minutes=45.0, aid=Aid.EYE)
    eye = OrderTable(orders=[watch], per_day=2, minutes=45.0, aid=Aid.EYE)
    for kind, name in ((HEIFER, "heifer"), (COW, "cow")):
        out, _ = runs.run(kind, eye, end_h=900.0, share_cycling=1.0)
        on, end = out["heat_on"], out["heat_on"] + out["heat_length"]
        shown = (on > 24) & (on < 800)
        found[f"heat.length_{name}"] = [mean(out["heat_length"][shown])]
        if kind is COW:
            continue
        ovulation = _next(out["ovulation"], on)
        found["heat.to_ovulation"] = [mean((ovulation - on)[shown])]
        found["heat.end_to_ovulation"] = [mean((ovulation - end)[shown])]
        seen = out["heat_seen"]
        found["heat.left_after_seen"] = [mean((end - seen)[shown & (seen < end)])]
        found["heat.seen_two"] = [share(np.isfinite(seen)[shown])]
    out, _ = runs.run(HEIFER, [], end_h=700.0, share_cycling=1.0)
    shown = (out["heat_on"] > 24) & (out["heat_on"] < 600)
    found["heat.seen_device"] = [share(np.isfinite(out["heat_seen"])[shown])]
    marks = np.arange(24.0, 105.0, 4.0)
    for day in (7, 11, 15):
        out, _ = runs.run(
            HEIFER, [order(0, "pgf")], end_h=240.0, share_cycling=1.0, cycle_day=float(day)
        )
        hours = first_in(out["heat_on"], 0.0)
        found[f"heat.pgf_day_{day}"] = by_hour(hours[(hours >= 24) & (hours <= 104)], list(marks))
    marks = np.arange(12.0, 97.0, 6.0)
    for kind, name in ((HEIFER, "heifer"), (COW, "cow")):
        plans = {"seven_seven": seven_and_seven(), "presync": presynchronised()}
        if kind is COW:
            plans = {"seven_seven": seven_and_seven(), "insert_7": insert_7()}
        for plan, orders in plans.items():
            found[f"heat.{plan}_{name}"] = by_hour(seen_after(runs, kind, orders), list(marks))
    return found


def _next(later: NDArray[np.float64], than: NDArray[np.float64]) -> NDArray[np.float64]:
    """For each of `than` the first of `later` of the same female beyond it; NaN where none."""
    gap = np.where(later[:, None, :] > than[:, :, None], later[:, None, :], np.inf).min(axis=2)
    return np.where(np.isfinite(gap), gap, np.nan)

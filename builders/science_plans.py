"""Measures of what is done to females: not cycling, drugs, fertility, and the seven misses."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from science_cycle import (
    find_cycles,
    find_fall,
    insert_7,
    presynchronised,
    seen_after,
    seven_and_seven,
)
from science_runs import (
    COW,
    CYCLING,
    FIRST_CALF,
    HEIFER,
    OVULATION_DAY,
    Measured,
    Point,
    Runs,
    first_in,
    less,
    mean,
    order,
    ratio,
    share,
    weighed,
)
from sunup.forecast.arms import read_trials
from sunup.forecast.replay import replay
from sunup.physiology.females import FemaleKind, uniform_group
from sunup.physiology.fertility import LOST_DAY_7, NOT_FERTILISED, TOO_EARLY, TOO_LATE
from sunup.physiology.orders import Aid, Order, OrderTable, Rule
from sunup.physiology.simulate import simulate

if TYPE_CHECKING:
    from numpy.typing import NDArray

TRIALS = Path(__file__).parents[1] / "authorities" / "trials" / "trials.toml"
NO_OVULATION = 2
USUAL = (
    (COW, 66.0, insert_7()),
    (COW, 66.0, seven_and_seven()),
    (COW, 60.0, [order(0, "gnrh"), order(168, "pgf")]),
    (HEIFER, 54.0, insert_7()),
    (HEIFER, 66.0, [order(0, "insert_in"), order(336, "insert_out"), order(720, "pgf")]),
)


def measure_not_cycling(runs: Runs) -> Measured:
    """Shares that cycle, the first ovulation, and the answer to an insert."""
    found: Measured = {}

    def cycling(kind: FemaleKind, at: float, **female: float) -> Point:
        out, _ = runs.run(kind, end_h=1.0, given=female)
        return share(out["was_cycling"] == 1, at=at)

    days = [float(day) for day in range(10, 121, 10)]
    for name, kind, condition in (
        ("cow", COW, 5.3),
        ("thin", COW, 4.3),
        ("first_calf", FIRST_CALF, 5.3),
    ):
        found[f"not_cycling.{name}"] = [
            cycling(kind, day, days_postpartum=day, condition=condition) for day in days
        ]
    found["not_cycling.mixed"] = [
        weighed([(0.8, cow), (0.2, first)], at=cow.at)
        for cow, first in zip(
            found["not_cycling.cow"], found["not_cycling.first_calf"], strict=True
        )
    ]

    def gain(one: dict[str, float], two: dict[str, float], scale: float = 1.0) -> Point:
        gains = []
        for day in (55.0, 75.0):
            before, after = (
                cycling(COW, day, **({"days_postpartum": day, "condition": 5.0} | f))
                for f in (one, two)
            )
            gains.append((0.5 * scale, less(after, before)))
        return weighed(gains)

    found["not_cycling.per_condition"] = [gain({"condition": 4.5}, {"condition": 5.5})]
    early, late = (found["not_cycling.cow"][days.index(d)] for d in (50.0, 80.0))
    found["not_cycling.per_10_days"] = [weighed([(1 / 3, less(late, early))])]
    at_80 = days.index(80.0)
    found["not_cycling.first_calf_fewer"] = [
        less(found["not_cycling.cow"][at_80], found["not_cycling.first_calf"][at_80])
    ]
    found["not_cycling.puberty"] = [
        cycling(HEIFER, float(pct), mature_share=pct / 100.0) for pct in range(45, 71, 5)
    ]
    found |= _first_ovulation(runs)
    for kind, name in ((COW, ""), (HEIFER, "_heifer")):
        orders = [order(0, "insert_in"), order(144, "pgf"), order(168, "insert_out")]
        table = OrderTable(orders=orders, aid=Aid.PATCH)
        out, _ = runs.run(kind, table, end_h=264.0, share_cycling=0.5)
        seen = out["heat_seen"][out["was_cycling"] == 0]
        found[f"not_cycling.heat_after_insert{name}"] = [
            share(((seen >= 168.0) & (seen <= 240.0)).any(axis=1))
        ]
    return found | _heat_by_condition(runs) | _answers_not_cycling(runs)


def _answers_not_cycling(runs: Runs) -> Measured:
    """What GnRH and an insert do to cows that do not cycle at the start."""
    orders = [*insert_7(), order(216, "gnrh")]
    out, _ = runs.run(COW, OrderTable(orders=orders), end_h=264.0, share_cycling=0.5)
    cows = out[out["was_cycling"] == 0]
    after = (cows["ovulation"] > 192.0).any(axis=1)
    orders = [order(0, "insert_in"), order(168, "insert_out")]
    out, _ = runs.run(COW, OrderTable(orders=orders), end_h=24.0 * 60, share_cycling=0.5)
    late = out[out["was_cycling"] == 0]
    first, second = late["ovulation"][:, 0], late["ovulation"][:, 1]
    has_ovulated = (first > 168.0) & (first < 24.0 * 29)
    return {
        "not_cycling.gnrh_first": [share(cows["gnrh_ovulated"][:, 0] == 1)],
        "not_cycling.gnrh_after_insert": [share(after)],
        # a short luteum is followed by another ovulation within 16 days
        "not_cycling.normal_after_insert": [share(~(second - first < 24.0 * 16)[has_ovulated])],
    }


def _heat_by_condition(runs: Runs) -> Measured:
    """Heat before a timed insemination of thin and other cows, 70 days after calving."""

    def in_heat(*conditions: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        seen, cycling = [], []
        for condition in conditions:
            female = {"days_postpartum": 70.0, "condition": condition, "share_cycling": math.nan}
            out, heat = timed(runs, COW, 66.0, insert_7(), **female)
            seen.append(heat)
            cycling.append(out["was_cycling"] == 1)
        return np.concatenate(seen), np.concatenate(cycling)

    thin, _ = in_heat(3.5, 4.0)
    above, cycling = in_heat(4.5, 5.0, 5.5, 6.0)
    return {
        "not_cycling.heat_thin": [share(thin)],
        "not_cycling.heat_above": [share(above)],
        "not_cycling.heat_cycling": [share(above[cycling])],
        "not_cycling.heat_anestrous": [share(above[~cycling])],
    }


def _first_ovulation(runs: Runs) -> Measured:
    out, _ = runs.run(COW, end_h=24.0 * 120, days_postpartum=20.0, condition=5.3)
    out = out[out["was_cycling"] == 0]
    first, second = out["ovulation"][:, 0], out["ovulation"][:, 1]
    on = out["heat_on"]
    silent = ~((on > first[:, None] - 40) & (on < first[:, None])).any(axis=1)
    days = (second - first) / 24.0
    return {
        "not_cycling.first_silent": [share(silent[np.isfinite(first)])],
        "not_cycling.first_short": [share((days < 16)[np.isfinite(days)])],
    }


def gnrh_by_day(runs: Runs, kind: FemaleKind, days: list[float], each: int = 500) -> list[Point]:
    """Percent that ovulate to one GnRH on a day of the cycle."""
    at = np.repeat(np.array(days), each)
    out, _ = runs.run(kind, [order(0, "gnrh")], n=at.size, end_h=48.0, days=at, share_cycling=1.0)
    answered = out["gnrh_ovulated"][:, 0] == 1
    return [share(answered[at == day], at=day) for day in days]


def measure_drugs(runs: Runs) -> Measured:
    """GnRH by day of the cycle and at a random stage; PGF on day 8."""
    found: Measured = {}
    for kind, name in ((COW, "cow"), (HEIFER, "heifer")):
        found[f"drugs.gnrh_{name}"] = gnrh_by_day(runs, kind, [float(d) for d in range(1, 22)])
        out, _ = runs.run(kind, [order(0, "gnrh")], end_h=48.0, share_cycling=1.0)
        found[f"drugs.random_{name}"] = [share(out["gnrh_ovulated"][:, 0] == 1)]
    day = 8.0 + OVULATION_DAY
    out, _ = runs.run(HEIFER, [order(0, "pgf")], end_h=288.0, share_cycling=1.0, cycle_day=day)
    first = ~(out["emergence"][:, 0] < out["ovulation"][:, 0])
    found["drugs.first_wave"] = [share(first)]
    for act, name, days in (("gnrh", "gnrh", 4.0), ("estradiol_benzoate", "ester", 7.0)):
        out, _ = runs.run(COW, [order(0, act), order(0, "insert_in")], end_h=168.0,
                          indicus=0.5, days_postpartum=70.0)  # fmt: skip
        emerged = first_in(out["emergence"], 0.5, 24.0 * days)
        found[f"drugs.wave_{name}"] = [share(np.isfinite(emerged))]
    return found


def timed(
    runs: Runs, kind: FemaleKind, hours: float, orders: list[Order], **female: float
) -> tuple[NDArray[np.void], NDArray[np.bool_]]:
    """Run a timed insemination so many hours after the last PGF; and who was seen in heat by it."""
    clock = max(o.hour for o in orders)
    table = OrderTable(
        orders=[*orders, order(clock + hours, "gnrh"), order(clock + hours, "ai")], aid=Aid.PATCH
    )
    given = {"share_cycling": CYCLING.get(kind, 0.62)} | female
    out, _ = runs.run(kind, table, end_h=clock + hours + 132.0, given=given)
    return out, first_in(out["heat_seen"], clock, clock + hours) < math.inf


def pregnant(out: NDArray[np.void]) -> Point:
    """Percent pregnant to the first service, as the mean chance of all."""
    return mean(np.where(out["n_services"] > 0, out["chance_first"], 0.0), scale=100.0)


def measure_fertility(runs: Runs) -> Measured:
    """Hours of insemination, losses, and the ratios between kinds of heats."""
    found: Measured = {"fertility.timing": _timing(runs)}
    usual = [timed(runs, kind, hours, plan) for kind, hours, plan in USUAL]
    cause = np.concatenate([out["cause_first"] for out, _ in usual])
    by_7 = np.isin(cause, (TOO_EARLY, TOO_LATE, NOT_FERTILISED, LOST_DAY_7))
    found["fertility.lost_7"] = [share(by_7[cause != NO_OVULATION])]
    found["fertility.lost_30"] = [share(cause != 0)]
    yes, no = (
        mean(np.concatenate([out["chance_first"][heat == flag] for out, heat in usual]))
        for flag in (True, False)
    )
    found["fertility.heat_ratio"] = [ratio(yes, no)]
    out, states = runs.run(
        COW, [*insert_7(), order(234, "gnrh"), order(234, "ai")], end_h=24.0 * 115,
        share_cycling=0.8, ask_h=[24.0 * 42, 24.0 * 112],
    )  # fmt: skip
    kept = states["is_pregnant"][out["pregnant_first"] == 1]
    found["fertility.lost_later"] = [share(kept[kept[:, 0] == 1, 1] == 0)]
    found["fertility.persistent"] = [ratio(_persistent(runs, 14), _persistent(runs, 5))]
    first, later = _melengestrol(runs, 312.0, 552.0), _melengestrol(runs, 696.0, 1080.0)
    found["fertility.melengestrol"] = [ratio(first, later)]
    found["fertility.days_calved"] = [_calved(runs, float(day)) for day in range(30, 111, 10)]
    return found


def _timing(runs: Runs) -> list[Point]:
    """Percent pregnant of heifers each inseminated at her own onset plus so many hours."""
    n, female = 600, {"share_cycling": 1.0, "cycle_day": 14.0}
    before, _ = runs.run(HEIFER, [], n=n, end_h=24.0 * 14, given=female)
    onset = before["heat_on"][:, 0]
    is_in = np.isfinite(onset)
    points = []
    for hours in (0.5, 2.0, 3.5, 5.5, 8.5, 11.5, 14.5, 17.5, 20.5, 23.0, 25.0, 27.5, 30.5, 34.0):
        plans = [
            OrderTable(orders=[order(t + hours if ok else 1.0, "ai")], aid=Aid.ELECTRONIC)
            for t, ok in zip(onset, is_in, strict=True)
        ]
        out = simulate(
            uniform_group(n, kind=HEIFER, **female), plans, params=runs.params, seed=runs.seed,
            plan_of=np.arange(n), end_h=24.0 * 18, threads=2,
        ).females[0]  # fmt: skip
        points.append(mean(out["chance_first"][is_in], at=hours, scale=100.0))
    return points


def _on_heat(out: NDArray[np.void]) -> Point:
    return mean(out["chance_first"][out["first_on_heat"] == 1])


def _watch(start: float, until: float) -> Order:
    return order(start, "watch", until_h=until, rule=Rule.AFTER_12H, aid=Aid.ELECTRONIC)


def _persistent(runs: Runs, days_in: float) -> Point:
    end = 24.0 * days_in
    orders = [
        order(0, "pgf"), order(0, "insert_in"), order(end, "insert_out"),
        _watch(end, end + 120.0),
    ]  # fmt: skip
    out, _ = runs.run(COW, orders, end_h=24.0 * (days_in + 10), share_cycling=1.0, cycle_day=8.0)
    return _on_heat(out)


def _melengestrol(runs: Runs, start: float, until: float) -> Point:
    orders = [order(0, "mga_start"), order(312, "mga_end"), _watch(start, until)]
    out, _ = runs.run(HEIFER, orders, end_h=until + 140.0, share_cycling=1.0)
    return _on_heat(out)


def _calved(runs: Runs, day: float) -> Point:
    out, _ = runs.run(
        COW, [_watch(0.0, 96.0)], end_h=240.0, share_cycling=1.0, cycle_day=19.0,
        days_postpartum=day, n=1000,
    )  # fmt: skip
    served = out["chance_first"][out["first_on_heat"] == 1]
    return mean(served, at=day, scale=100.0)


def measure_misses(runs: Runs) -> Measured:
    """What the feasibility study missed, by the present figures."""
    found: Measured = {}
    out, _ = runs.run(COW, insert_7(), end_h=264.0, share_cycling=1.0)
    found["misses.insert_heat_h"] = [mean(first_in(out["heat_on"], 168.0, 264.0))]
    hours = [42.0, 48.0, 54.0, 60.0, 66.0, 72.0, 78.0, 84.0]
    curve = []
    for hour in hours:
        at = pregnant(timed(runs, COW, hour, insert_7())[0])
        curve.append(Point(at=hour, value=at.value, se=at.se, n=at.n))
    found["misses.ai_hour"] = curve
    best = max(curve, key=lambda p: p.value)
    found["misses.best_ai_h"] = [Point(value=best.at or 0.0, se=3.0, n=best.n)]
    orders = [*insert_7(), order(168, "watch", until_h=264.0, rule=Rule.AM_PM, aid=Aid.PATCH)]
    out, _ = runs.run(COW, OrderTable(orders=orders, aid=Aid.PATCH), end_h=400.0,
                      share_cycling=CYCLING[COW])  # fmt: skip
    on_heat = mean(out["chance_first"][out["first_on_heat"] == 1], scale=100.0)
    found["misses.on_heat_gap"] = [less(on_heat, curve[hours.index(66.0)])]
    seven, _ = timed(runs, COW, 66.0, seven_and_seven())
    found["misses.seven_seven_gain"] = [less(pregnant(seven), curve[hours.index(66.0)])]
    found["misses.seven_seven_gnrh"] = [share(seven["gnrh_ovulated"][:, 0] == 1)]
    early, late = (pregnant(timed(runs, HEIFER, h, seven_and_seven())[0]) for h in (54.0, 72.0))
    found |= {"misses.seven_seven_54": [early], "misses.seven_seven_72": [late]}
    found["misses.seven_seven_loss"] = [less(early, late)]
    found["misses.two_shot_80"] = [_two_shot(runs)]
    for point in gnrh_by_day(runs, COW, [9.0, 12.0], each=1000):
        found[f"misses.gnrh_{point.at:g}"] = [Point(value=point.value, se=point.se, n=point.n)]
    out, _ = runs.run(COW, end_h=24.0 * 90, share_cycling=1.0)
    found["misses.fall_day"] = [mean(find_cycles(out).fall)]
    _, below, _, heat = find_fall(runs, COW)
    found["misses.below_to_heat"] = [mean((heat - below) / 24.0)]
    seen = seen_after(runs, HEIFER, presynchronised())
    found["misses.presync_54"] = [share(seen <= 54.0)]
    found["misses.presync_72"] = [share(seen <= 72.0)]
    return found


def _two_shot(runs: Runs) -> Point:
    file = read_trials(tomllib.loads(TRIALS.read_text("utf-8")))
    arm = next(arm for arm in file.arms if arm.id == "PG34HERDS/1")
    n = runs.n
    found = replay(arm, params=runs.params, scoring=file.scoring, n=n, seed=runs.seed).pregnancy
    value = 100.0 * (found or 0.0)
    return Point(value=value, se=math.sqrt(value * (100.0 - value) / n), n=n)

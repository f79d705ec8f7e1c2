"""Runs of the simulator that several folders of tests share: shipped figures, fixed seed."""

import tomllib
from pathlib import Path

import numpy as np

import sunup
from sunup.physiology.females import FemaleKind, uniform_group
from sunup.physiology.kernel_cache import keep_kernel
from sunup.physiology.orders import Act, Aid, Order, OrderTable
from sunup.physiology.params import Params
from sunup.physiology.simulate import simulate

keep_kernel(
    [str(Path.home() / ".cache" / "sunup")]
)  # tests compile once a machine, not once a file
DATA = Path(sunup.__file__).parent / "library" / "data" / "physiology.toml"
HEIFER, COW = FemaleKind.HEIFER, FemaleKind.COW
FIRST_CALF = FemaleKind.FIRST_CALF_COW
OVULATION_DAY = 29.5 / 24.0  # ovulation stands this long after the heat that cycle_day counts from


def shipped_params(**changes):
    figures = tomllib.loads(DATA.read_text("utf-8"))
    values = {f"physiology.{key}": table["value"] for key, table in figures.items()}
    return Params.from_figures(values).changed(changes)


PARAMS = shipped_params()


def order(hour, act, **kwargs):
    return Order(hour=float(hour), act=Act[act.upper()], **kwargs)


def watched_by_device(*orders):
    """An order table under which every heat is seen round the clock."""
    return OrderTable(orders=orders, aid=Aid.ELECTRONIC)


def run(kind, orders=(), *, n=2000, end_h=None, seed=11, ask_h=(), params=PARAMS, **female):
    """Run females that are alike; return their outcomes, shape (n,), and states, (n, q)."""
    table = orders if isinstance(orders, OrderTable) else watched_by_device(*orders)
    group = uniform_group(n, kind=kind, **female)
    result = simulate(group, table, params=params, seed=seed, end_h=end_h, ask_h=ask_h)
    return result.females[0], result.states[0]


def cycles(outcomes):
    """Length [d], waves, day of the second wave and of luteolysis, for two cycles a female."""
    length, waves, second, fall = [], [], [], []
    for one in outcomes:
        for k in range(2):
            start, end = one["ovulation"][k], one["ovulation"][k + 1]
            if not np.isfinite(end):
                continue
            emerged = one["emergence"]
            emerged = emerged[(emerged > start - 0.01) & (emerged < end - 0.01)]
            fell = one["luteolysis"][(one["luteolysis"] > start) & (one["luteolysis"] < end)]
            length.append((end - start) / 24.0)
            waves.append(len(emerged))
            second.append((emerged[1] - start) / 24.0 if len(emerged) > 1 else np.nan)
            fall.append((fell[0] - start) / 24.0 if len(fell) else np.nan)
    return tuple(np.array(column) for column in (length, waves, second, fall))


def first_heat_after(outcomes, hour):
    """Hours from `hour` to the first standing heat after it; NaN where there is none."""
    on = outcomes["heat_on"] - hour
    return np.nanmin(np.where(on >= 0, on, np.inf), axis=1, initial=np.inf)

"""The simulator against its goals: speed, share of the draws, comparisons, memory, and SimPy.

Called from ``run.py``. Rates are by the clock on the wall with `THREADS` threads, and beside them
by the time the processor spent on this program, which another program on the same machine moves
less. What is compared is measured in turns within one run and told as a ratio.
"""

from __future__ import annotations

import math
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

import sunup
from goals import Goal
from peak import run_alone
from reduced import kernel_style, simpy_style
from reduced.mechanism import figures_from
from sunup.app.forecast_kernel import prepare_kernel
from sunup.app.open import open_library
from sunup.forecast.compare import compare_all
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.herd import find_facts
from sunup.forecast.orders import NO_SEASON, SeasonRule, make_orders
from sunup.forecast.run import run_group, run_protocols
from sunup.forecast.slips import OrdersError
from sunup.forecast.summary import Costs, Titles, summarise
from sunup.forecast.tally import heats_end
from sunup.physiology.compiled import compiled
from sunup.physiology.females import FemaleKind, uniform_group
from sunup.physiology.philox import draws
from sunup.physiology.simulate import simulate
from sunup.protocols.protocol import Standing, Style
from sunup.records.female import Female, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders
    from sunup.library import Library
    from sunup.protocols.protocol import Protocol

THREADS = 2
TIMES = 5
PLAN = "co_synch_insert7_cow"
TEN_DAYS_H = 240.0
ZERO_ON = date(2027, 5, 15)
FEMALES, REPLICATES, PROTOCOLS = 250, 1_000, 20
FEW, MANY = 200, 2_000  # replicates, for memory
SIMPY_COWS, COMPILED_COWS = 3_000, 200_000
# A second block of numbers is drawn with every one and, but for a case of one in 2**128, dropped:
# nothing changes but the time.
DRAWN_ONCE = "    return (\n        (w0 + 0.5)"
DRAWN_TWICE = """    x0, x1, x2, x3 = block(
        np.uint64(index) & _LOW, np.uint64(purpose) & _LOW, luck[3], luck[2], luck[1], luck[0]
    )
    if x0 & x1 & x2 & x3 == _LOW:
        w0 = w0 ^ x0
    return (
        (w0 + 0.5)"""


@dataclass(frozen=True, slots=True)
class Speed:
    """Females a second by the clock on the wall, and of one processor's own time."""

    wall: float
    processor: float


def orders_of(library: Library, protocol: Protocol, *, with_season: bool = False) -> Orders:
    """Return the orders of a protocol with its published hours; with bulls to the season's end."""
    figures = ForecastFigures.from_library(library)
    season = SeasonRule(
        bulls_after_days=figures.bulls_after_days, season_days=figures.season_days_cows
    )
    return make_orders(protocol, figures=figures, season=season if with_season else NO_SEASON)


def speed_of(work: Callable[[], object], females: int) -> Speed:
    """Return the best speed of several calls after one to warm up."""
    work()
    wall, processor = [], []
    for _ in range(TIMES):
        start, spent = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        processor.append(time.process_time() - spent)
    return Speed(females / min(wall), females / min(processor))


def kernel_work(
    library: Library, *, season: bool, females: int, threads: int, until_settled: bool = False
) -> Callable[[], Any]:
    """Return a call that runs cows under the seven-day insert plan, to ten days or the end.

    `until_settled`: as a forecast does, a cow is left once no service of hers is open and the heats
    that are counted are past.
    """
    params = params_from_library(library).sets[0]
    orders = orders_of(library, library.protocols[PLAN], with_season=season)
    cows = uniform_group(females, kind=FemaleKind.COW, days_postpartum=75.0)
    end_h = orders.end_h if season else TEN_DAYS_H
    heats_until_h = max(orders.last_ai_h, heats_end(orders)) if until_settled else math.inf
    return lambda: simulate(
        cows,
        orders.tables,
        params=params,
        seed=7,
        end_h=end_h,
        threads=threads,
        heats_until_h=heats_until_h,
    )


def measure_speed(library: Library, *, scale: float) -> list[Goal]:
    """Measure females a second of the kernel."""
    lines: list[Goal] = []
    asked = (
        ("10 days, insert plan", False, False, 200_000, 1e3),
        ("full season, bulls to its end", True, True, 60_000, 300.0),
        ("the same, pregnant females followed on", True, False, 60_000, None),
    )
    for name, season, until_settled, females, goal in asked:
        n = int(females * scale)
        work = kernel_work(
            library, season=season, females=n, threads=THREADS, until_settled=until_settled
        )
        speed = speed_of(work, n)
        lines += [
            Goal(f"{name}: females, {THREADS} threads", "k/s", speed.wall / 1e3, goal, True),
            Goal(f"{name}: per second of one processor", "k/s", speed.processor / 1e3),
        ]
    return lines


@compiled
def _draw_only(n: int, luck: Any) -> float:
    total = 0.0
    for i in range(n):
        a, b, c, d = draws(luck, 4, i)
        total += a + b + c + d
    return total


def measure_block() -> list[Goal]:
    """Time one block of four numbers by itself."""
    luck = np.array([7, 0, 1, 2], np.uint64)
    n = 5_000_000
    speed = speed_of(lambda: _draw_only(n, luck), n)
    return [Goal("four numbers drawn (one block)", "ns", 1e9 / speed.processor)]


TIME_TEN_DAYS = """
import sys, time
sys.path.insert(0, sys.argv[1])
from simulator import kernel_work, open_library
work = kernel_work(open_library()[0], season=False, females=20_000, threads=1)
work()
while sys.stdin.readline():
    spent = time.process_time()
    run = work()
    took = time.process_time() - spent
    print(took, int(run.females["pregnant_first"].sum()), flush=True)
"""


def measure_draws() -> list[Goal]:
    """Measure the share of a run's time that drawing takes.

    A copy of the package draws every block twice; it and the package run in turns, and the time
    the copy takes longer is what the draws of a run take.
    """
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name, "sunup")
        shutil.copytree(Path(sunup.__file__).parent, copy)
        philox = copy / "physiology" / "philox.py"
        text = philox.read_text("utf-8")
        if DRAWN_ONCE not in text:
            message = "philox.py no longer reads as this benchmark expects."
            raise RuntimeError(message)
        philox.write_text(text.replace(DRAWN_ONCE, DRAWN_TWICE), "utf-8")
        once, twice = (_start(path) for path in (Path(sunup.__file__).parents[1], Path(name)))
        ratios = []
        for _ in range(2 * TIMES):
            (a, n_a), (b, n_b) = _ask(once), _ask(twice)
            if n_a != n_b:
                message = "drawing twice has changed a result; the share would mean nothing."
                raise RuntimeError(message)
            ratios.append(b / a)
        for child in (once, twice):
            child.communicate()
    share = 100.0 * (statistics.median(ratios) - 1.0)
    return [Goal("share of a 10-day run spent drawing numbers", "%", share)]


def _start(package: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", TIME_TEN_DAYS, str(Path(__file__).parent)],
        env={**os.environ, "PYTHONPATH": str(package)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def _ask(child: subprocess.Popen[str]) -> tuple[float, int]:
    assert child.stdin is not None
    assert child.stdout is not None
    child.stdin.write("\n")
    child.stdin.flush()
    took, pregnant = child.stdout.readline().split()
    return float(took), int(pregnant)


def made_up_cows(library: Library) -> HerdFacts:
    """Return the facts of `FEMALES` made-up cows, some without a condition on file."""
    cows = [
        Female(
            tag=str(i),
            class_=FemaleClass.COW if i % 4 else FemaleClass.FIRST_CALF_COW,
            group="cows",
            calved_on=ZERO_ON - timedelta(days=40 + i % 50),
            condition=None if i % 20 == 0 else 4.5 + 0.5 * (i % 4),
        )
        for i in range(FEMALES)
    ]
    return find_facts(
        cows, zero_on=ZERO_ON, library=library, figures=ForecastFigures.from_library(library)
    )


def protocols_for_cows(library: Library) -> list[Protocol]:
    """Return `PROTOCOLS` protocols with AI that can be forecast for cows, recommended ones first.

    The others follow in the order of the library; the kernel refuses none.
    """
    found = []
    for protocol in sorted(
        library.protocols.values(),
        key=lambda p: (p.standing is not Standing.RECOMMENDED, "cow" not in p.classes, p.order),
    ):
        try:
            orders = orders_of(library, protocol)
        except OrdersError:
            continue
        if protocol.style is not Style.NATURAL_SERVICE and orders.has_ai:
            found.append(protocol)
    return found[:PROTOCOLS]


def measure_comparison(library: Library, *, replicates: int = REPLICATES) -> list[Goal]:
    """Time a comparison of protocols through the functions of the forecast, warm."""
    facts, protocols = made_up_cows(library), protocols_for_cows(library)
    figures, params = ForecastFigures.from_library(library), params_from_library(library)

    def work() -> None:
        found = run_protocols(
            facts,
            [orders_of(library, protocol) for protocol in protocols],
            figures=figures,
            params=params,
            seed=1,
            replicates=replicates,
            threads=THREADS,
        )
        runs = {protocol.key: run for protocol, run in zip(protocols, found, strict=True)}
        for protocol in protocols:
            summarise(
                runs[protocol.key],
                titles=Titles(group="cows", protocol=protocol.key, name=protocol.name),
                figures=figures,
                costs=Costs(per_female=0.0),
            )
        compare_all("cows", runs)

    start, spent = time.perf_counter(), time.process_time()
    work()
    taken, used = time.perf_counter() - start, time.process_time() - spent
    name = f"{len(protocols)} protocols, {len(facts)} cows, {replicates:,} replicates"
    goal = 5.0 if replicates == REPLICATES else None
    return [
        Goal(f"compare {name}", "s", taken, goal),
        Goal(f"compare: processor time over {THREADS}", "s", used / THREADS),
    ]


RUN_REPLICATES = """
import sys
sys.path.insert(0, sys.argv[1])
from simulator import run_replicates
run_replicates(int(sys.argv[2]))
"""


def run_replicates(replicates: int) -> None:
    """Run one protocol to the season's end; for a child whose memory is measured."""
    prepare_kernel(lambda _: None)
    library, _ = open_library()
    run_group(
        made_up_cows(library),
        orders_of(library, library.protocols[PLAN], with_season=True),
        figures=ForecastFigures.from_library(library),
        params=params_from_library(library),
        seed=1,
        replicates=replicates,
        threads=THREADS,
    )


def measure_memory() -> list[Goal]:
    """Measure the peak memory of a run by its replicates, each in a process of its own."""
    peaks = {}
    for replicates in (FEW, MANY):
        _, mib, code, said = run_alone(
            sys.executable, "-c", RUN_REPLICATES, str(Path(__file__).parent), str(replicates)
        )
        if code != 0:
            message = f"{replicates} replicates ended with {code}: {said}"
            raise RuntimeError(message)
        peaks[replicates] = mib
    return [
        Goal(f"peak memory at {FEW} replicates", "MiB", peaks[FEW]),
        Goal(f"peak memory at {MANY:,} over {FEW} replicates", "x", peaks[MANY] / peaks[FEW], 1.1),
    ]


def measure_reduced(library: Library) -> list[Goal]:
    """Measure the reduced mechanism both ways, in turns, on one processor."""
    figures = figures_from(params_from_library(library).sets[0])
    kernel_style.run(figures, cows=10, seed=1)
    ratios, fast, slow = [], [], []
    for turn in range(TIMES):
        spent = time.process_time()
        kernel_style.run(figures, cows=COMPILED_COWS, seed=turn)
        fast.append(COMPILED_COWS / (time.process_time() - spent))
        spent = time.process_time()
        simpy_style.run(figures, cows=SIMPY_COWS, seed=turn)
        slow.append(SIMPY_COWS / (time.process_time() - spent))
        ratios.append(fast[-1] / slow[-1])
    return [
        Goal("reduced mechanism, kernel's style, one processor", "k/s", max(fast) / 1e3),
        Goal("reduced mechanism, SimPy, one processor", "k/s", max(slow) / 1e3),
        Goal(
            "reduced mechanism: kernel's style over SimPy",
            "x",
            statistics.median(ratios),
            150,
            True,
        ),
    ]


def measure_simulator(*, quick: bool) -> list[Goal]:
    """Measure everything; `quick` runs a tenth and leaves out what compiles a second kernel."""
    prepare_kernel(print)
    library, _ = open_library()
    busy = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    lines = [Goal("other work on this machine at the start (load)", "", busy)]
    lines += measure_speed(library, scale=0.1 if quick else 1.0)
    lines += measure_block()
    lines += measure_comparison(library, replicates=100 if quick else REPLICATES)
    lines += measure_reduced(library)
    if not quick:
        lines += measure_memory()
        lines += measure_draws()
    return lines

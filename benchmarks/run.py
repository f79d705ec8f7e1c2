"""Whole-process timings against the goals, and the parts that take the time.

Run with ``make bench`` (or ``python benchmarks/run.py``; ``--quick`` leaves the 100,000 rows out
and runs a tenth of the simulator's females and of the ledger; ``--only`` runs one part). Numbers
depend on the machine and on what else runs on it: the goals are for two cores of an ordinary
laptop, and the load found at the start is printed. Exit code 1 where a goal is missed.
"""

from __future__ import annotations

import argparse
import csv
import random
import statistics
import sys
import tempfile
import time
from datetime import date, timedelta
from datetime import time as clock_time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from goals import Goal, print_table
from ledger import measure_ledger
from peak import run_alone
from simulator import measure_simulator
from sunup.app.open import open_library, shipped_texts
from sunup.base.hours import find_zone
from sunup.library import build_library
from sunup.planning.capacity import durations, find_paced_times
from sunup.planning.clock_times import Clock, Wish
from sunup.planning.visits import find_first_service, find_visits

if TYPE_CHECKING:
    from collections.abc import Callable

AI_ON = date(2027, 5, 25)
AGREED = ("--first-ai", AI_ON.isoformat(), "--zone", "America/Denver", "--as-of", "2026-11-25")
ROWS = 100_000
GROUPS = 20
COLUMNS = (
    "tag",
    "rfid",
    "class",
    "group",
    "birth date",
    "calved",
    "calving ease",
    "condition",
    "weight lb",
    "mature weight lb",
    "tract score",
    "breed",
)


def write_large_herd(path: Path, rows: int, *, seed: int = 4) -> None:
    """Write a made-up herd: `rows` females in 20 groups, cells missing as they are in life."""
    luck = random.Random(seed)  # noqa: S311  a herd, not a secret
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, COLUMNS, restval="")
        out.writeheader()
        for i in range(rows):
            pen = i % GROUPS
            row = {"rfid": f"840003{200_000_000 + i}", "breed": "Angus"}
            is_missing = luck.random() < 0.05
            if pen < GROUPS // 4:
                row |= {
                    "tag": f"H{i}",
                    "class": "heifer",
                    "group": f"Heifers {pen + 1}",
                    "birth date": _before_ai(luck.randint(380, 480)),
                    "weight lb": "780",
                    "mature weight lb": str(luck.randint(1180, 1380)),
                    "tract score": "" if is_missing else str(luck.choice([2, 3, 4, 4, 5, 5])),
                }
            else:
                row |= {
                    "tag": f"{i}",
                    "class": "cow",
                    "group": f"Cows {pen + 1}",
                    "birth date": f"{2027 - luck.randint(3, 12)}-03-{luck.randint(10, 28)}",
                    "calved": "" if is_missing else _before_ai(luck.randint(15, 100)),
                    "calving ease": str(luck.randint(1, 3)),
                    "condition": str(luck.choice([4, 4.5, 5, 5, 5.5, 6, 6])),
                    "weight lb": "1250",
                }
            out.writerow(row)


def _before_ai(days: int) -> str:
    return (AI_ON - timedelta(days=days)).isoformat()


def run_program(*arguments: str | Path) -> tuple[float, float]:
    """Run the program once; return seconds and its peak resident memory in MiB."""
    seconds, mib, code, said = run_alone(sys.executable, "-m", "sunup", *map(str, arguments))
    if code > 1:
        message = f"sunup {' '.join(map(str, arguments))} ended with {code}: {said}"
        raise RuntimeError(message)
    return seconds, mib


def best_of(times: int, work: Callable[[], object]) -> float:
    """Median seconds of several calls."""
    taken: list[float] = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def measure_starts() -> list[Goal]:
    """Time the commands people wait for, warm."""
    lines: list[Goal] = []
    for words, goal in ((("--help",), 0.3), (("protocol", "list"), 0.6), (("plan", "--help"), 0.3)):
        run_program(*words)
        seconds = statistics.median(run_program(*words)[0] for _ in range(5))
        lines.append(Goal(f"sunup {' '.join(words)}", "s", seconds, goal))
    return lines


def measure_herd(folder: Path, rows: int, *, judge: bool) -> list[Goal]:
    """Time a plan of a large herd file, and its memory."""
    path = folder / f"herd_{rows}.csv"
    write_large_herd(path, rows)
    arguments = ["plan", str(path), *AGREED, "--chutes", "20", "--no-pdf", "--json"]
    seconds, mib = run_program(*arguments)
    name = f"plan of {rows:,} rows, --no-pdf --json"
    return [
        Goal(name, "s", seconds, 20 if judge else None),
        Goal(f"{name}: peak memory", "MiB", mib, 1024 if judge else None),
    ]


def measure_parts() -> list[Goal]:
    """Time the parts inside one process."""
    shipped_texts()
    load = best_of(5, lambda: build_library(shipped_texts(), None))
    library, _ = open_library()
    slowest = ("", 0.0)
    total = 0.0
    for protocol in library.protocols.values():
        service = find_first_service(protocol, first_heat_after_pgf_h=36, morning_evening_h=12)
        if service is None:
            continue
        visits = find_visits(protocol)
        wish = Wish(
            service=service,
            open_at=clock_time(6),
            close_at=clock_time(20),
            durations_h=durations(visits, head=150, library=library, chutes=1),
            service_on=AI_ON,
        )
        zone = Clock(find_zone("America/Denver"))
        seconds = best_of(1, partial(find_paced_times, visits, wish, clock=zone))
        total += seconds
        slowest = max(slowest, (protocol.key, seconds), key=lambda pair: pair[1])
    return [
        Goal("library from its texts", "s", load),
        Goal(f"clock times of all {len(library.protocols)} protocols, 150 head", "s", total),
        Goal(f"slowest of them ({slowest[0]})", "s", slowest[1]),
    ]


def main() -> int:
    """Measure, print, judge."""
    parser = argparse.ArgumentParser(description="Time Sunup against its goals.")
    parser.add_argument("--quick", action="store_true", help="leave the 100,000 rows out")
    parser.add_argument("--write", type=Path, help="only write the large herd file there")
    parser.add_argument("--only", choices=("program", "simulator", "ledger"), help="one part")
    given = parser.parse_args()
    if given.write is not None:
        write_large_herd(given.write, ROWS)
        return 0
    lines: list[Goal] = []
    if given.only in {None, "program"}:
        lines += [*measure_starts(), *measure_parts()]
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            lines += measure_herd(folder, 1_000, judge=False)
            if not given.quick:
                lines += measure_herd(folder, ROWS, judge=True)
    if given.only in {None, "ledger"}:
        with tempfile.TemporaryDirectory() as name:
            lines += measure_ledger(
                Path(name), quick=given.quick, write_herd=write_large_herd, run=run_program
            )
    if given.only in {None, "simulator"}:
        lines += measure_simulator(quick=given.quick)
    print_table(lines)
    return 1 if any(line.missed for line in lines) else 0


if __name__ == "__main__":
    raise SystemExit(main())

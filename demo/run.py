"""The main job on the demo ranch: a season planned, two seasons lived, and what they say.

Run by ``make demo``. It calls the command line a user calls and shows what a user sees:

1. the herd list with its mess becomes a plan, every protocol simulated beside bulls alone, and a
   packet in ``demo/out``;
2. last year's season, finished, and this year's, half way, are played into ``demo/out/sunup.db``
   from ``demo/season_2026.txt`` and ``demo/season_2027.txt``: lists of the very commands the
   ranch's people would have typed, each at its hour (``demo/replay.py``);
3. the ranch asks its ledger what is due, what to scan, what came of it, whether all is sound.

Ranch, people and animals are invented (``builders/demo_herd.py``, ``builders/demo_seasons.py``).
Each list says which day it is of and each plan is made on that day (--as-of), so this is the same
whenever it is run.
"""

# ruff: noqa: INP001 - a script, not a package
from __future__ import annotations

import os
import shlex
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
OUT = Path("demo", "out")
LEDGER = OUT / "sunup.db"
PACKET = ("plan.json", "calendar.ics", "workbook.xlsx", "packet.pdf")
NOW = "2027-05-25T15:10:00-06:00"  # Tuesday afternoon, the heifers' insemination under way
PLAN = (
    "plan demo/herd.csv --first-ai 2027-05-25 --as-of 2027-04-19 --dates mdy --zone America/Denver "
    "--ranch 'Quiet Gravel Ranch' --protocol cows=select_synch_insert_tai_cow "
    "--sire cows=A31:0.6 --sire cows=H12:0.4 --sire heifers=A27 "
    f"--forecast --replicates 100 --out {OUT.as_posix()}"
)
SCRIPTS = ("demo/season_2026.txt", "demo/season_2027.txt")
ASKED = (
    ("What is due this afternoon?", "today", 0),
    (
        "Last July: what was to be expected at the scan?",
        "scan sheet --at 2026-07-27T20:00 --on 2026-07-28",
        26,
    ),
    ("Last February: who was due, who had calved?", "scan book --at 2027-02-20T08:00", 30),
    (
        "What came of last year, and was it luck?",
        f"review --season 2026 --out {(OUT / 'review_2026').as_posix()}",
        0,
    ),
    ("Is everything sound?", "check", 0),
)
FINE, PROBLEMS_FOUND = 0, 1


def main() -> int:
    """Run the demo; 0 where everything was written, though the list has faults."""
    for name in (*PACKET, LEDGER.name, f"{LEDGER.name}-wal", f"{LEDGER.name}-shm"):
        (ROOT / OUT / name).unlink(missing_ok=True)  # a fresh start, not "plan again"
    env = os.environ | {"SUNUP_LEDGER": LEDGER.as_posix(), "SUNUP_NOW": NOW}
    env.pop("SUNUP_RANCH", None)
    return plan() or live(env) or ask(env)


def plan() -> int:
    """Plan the season and write the packet."""
    chapter("1. The plan")
    code, _ = sunup(PLAN, os.environ.copy())
    if code not in {FINE, PROBLEMS_FOUND}:
        return failed(f"sunup plan ended with {code}")
    missing = [name for name in PACKET if not (ROOT / OUT / name).is_file()]
    if missing:
        return failed(f"{', '.join(missing)} not written")
    if code == PROBLEMS_FOUND:
        say(
            "\nsunup plan ended with 1: the herd list has faults, named above with row and column."
            "\nThat is as it should be here: they are in the demo list on purpose. The packet was"
            "\nwritten for the females that could be read."
        )
    say("\nThe packet:")
    for name in PACKET:
        say(f"  {OUT / name}  {(ROOT / OUT / name).stat().st_size / 1024:,.0f} kB")
    return FINE


def live(env: dict[str, str]) -> int:
    """Play both seasons into the ledger."""
    chapter("2. Two seasons, command by command")
    say(f"Playing {' and '.join(SCRIPTS)} (about half a minute) ...")
    began = time.monotonic()
    log = ROOT / OUT / "as_typed.txt"
    with log.open("w", encoding="utf-8") as file:
        done = subprocess.run(  # noqa: S603
            [sys.executable, "demo/replay.py", *SCRIPTS],
            cwd=ROOT,
            env=env,
            stdout=file,
            check=False,
        )
    if done.returncode != FINE:
        return failed("a command of the seasons did not go through, see above")
    n = sum(line.startswith("$ sunup") for line in log.read_text(encoding="utf-8").splitlines())
    say(f"{n} commands in {time.monotonic() - began:.0f} s; what they answered: {OUT / log.name}")
    say("2026 is finished: treated, watched, inseminated, scanned, calved.")
    say("2027 stands at Tuesday 25 May, ten past three in the afternoon.")
    return FINE


def ask(env: dict[str, str]) -> int:
    """Ask the ledger what a ranch asks it."""
    chapter("3. What the ledger says")
    for question, command, lines in ASKED:
        say(f"\n{question}")
        code, _ = sunup(command, env, lines=lines)
        if code != FINE:
            return failed(f"sunup {command} ended with {code}")
    say(
        f"\nYours to try on the same ledger (it takes {NOW[:16]} for now):"
        f"\n  export SUNUP_LEDGER={LEDGER} SUNUP_NOW={NOW}"
        "\n  sunup today                      sunup heats list"
        "\n  sunup record visit heifers ai    (at the chute: tag, Enter)"
        "\n  sunup stock show                 sunup review --season 2026 --next"
        f"\n  sunup explain cows/ai --plan {OUT / 'plan.json'}"
        "\nOpen demo/out/packet.pdf and demo/out/review_2026/review.pdf."
    )
    return FINE


def sunup(command: str, env: dict[str, str], *, lines: int = 0) -> tuple[int, str]:
    """Run a command and show what it prints; of a long answer only the first lines."""
    say(f"$ sunup {command}\n")
    words = [sys.executable, "-m", "sunup", *shlex.split(command)]
    if not lines:
        done = subprocess.run(words, cwd=ROOT, env=env, check=False)  # noqa: S603
        return done.returncode, ""
    told = subprocess.run(  # noqa: S603
        words, cwd=ROOT, env=env, check=False, capture_output=True, text=True, encoding="utf-8"
    )
    sys.stderr.write(told.stderr)
    shown = told.stdout.splitlines()
    say("\n".join(shown[:lines]))
    if len(shown) > lines:
        say(f"... and {len(shown) - lines} lines more")
    return told.returncode, told.stdout


def chapter(title: str) -> None:
    """Set a heading apart."""
    say(f"\n{'=' * len(title)}\n{title}\n{'=' * len(title)}\n")


def failed(why: str) -> int:
    """Say that the demo failed."""
    say(f"\nThe demo failed: {why}.")
    return 2


def say(text: str) -> None:
    """Print, after everything the program itself has printed."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())

"""The main job on the demo herd: from a herd list with its mess to a season's packet.

Run by ``make demo``. It calls the command line a user calls, shows what a user sees, and lists the
files of the packet in ``demo/out``. The ranch and every animal are invented (see
``builders/demo_herd.py``). The list says itself which day it is of, so the plan is the same
whenever this is run.
"""

# ruff: noqa: INP001 - a script, not a package
from __future__ import annotations

import shlex
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
OUT = Path("demo", "out")
PACKET = ("plan.json", "calendar.ics", "workbook.xlsx", "packet.pdf")
COMMAND = (
    "plan",
    "demo/herd.csv",
    "--first-ai",
    "2027-05-25",
    "--zone",
    "America/Denver",
    "--ranch",
    "Quiet Gravel Ranch",
    "--sire",
    "cows=A31:0.6",
    "--sire",
    "cows=H12:0.4",
    "--sire",
    "heifers=A27",
    "--out",
    OUT.as_posix(),
)
FINE, PROBLEMS_FOUND = 0, 1


def main() -> int:
    """Plan the demo herd; 0 where the packet was written, though the list has faults."""
    for name in PACKET:  # a fresh start, not "plan again": ids and order of a former run go
        (ROOT / OUT / name).unlink(missing_ok=True)
    say(f"$ sunup {shlex.join(COMMAND)}\n")
    done = subprocess.run([sys.executable, "-m", "sunup", *COMMAND], cwd=ROOT, check=False)  # noqa: S603
    if done.returncode not in {FINE, PROBLEMS_FOUND}:
        say(f"\nThe demo failed: sunup plan ended with {done.returncode}.")
        return done.returncode
    missing = [name for name in PACKET if not (ROOT / OUT / name).is_file()]
    if missing:
        say(f"\nThe demo failed: {', '.join(missing)} not written.")
        return 2
    if done.returncode == PROBLEMS_FOUND:
        say(
            "\nsunup plan ended with 1: the herd list has faults, named above with row and column."
            "\nThat is as it should be here: they are in the demo list on purpose. The packet was"
            "\nwritten for the females that could be read."
        )
    say("\nThe packet:")
    for name in PACKET:
        say(f"  {OUT / name}  {(ROOT / OUT / name).stat().st_size / 1024:,.0f} kB")
    say(
        "\nNext: open packet.pdf. Then ask where a number came from, for example"
        f"\n  sunup explain cows/ai --plan {OUT / 'plan.json'}"
        "\n  sunup explain readiness.days_since_calving_at_ai"
    )
    return 0


def say(text: str) -> None:
    """Print, after everything the program itself has printed."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())

"""Deal the trials of ``authorities/trials/trials.toml`` into five folds, whole trials together.

Written, run and committed before the first fit, and not run again: the folds may not follow from
what a fit found. A fold holds about a fifth of the arms; trials are dealt from the one with most
arms down, each to the fold that holds fewest so far, ties in the order of the file.

    python builders/trial_folds.py > authorities/trials/folds.toml
"""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

FOLDS = 5
TRIALS = Path(__file__).parents[1] / "authorities" / "trials" / "trials.toml"


def deal(arms_of: dict[str, int]) -> dict[str, int]:
    """Return the fold of each trial."""
    held = [0] * FOLDS
    folds: dict[str, int] = {}
    for trial, n_arms in sorted(arms_of.items(), key=lambda pair: -pair[1]):
        fold = held.index(min(held))
        folds[trial] = fold
        held[fold] += n_arms
    return folds


def main() -> None:
    """Print the folds as TOML."""
    arms = tomllib.loads(TRIALS.read_text("utf-8"))["arm"]
    folds = deal(dict(Counter(arm["trial"] for arm in arms)))
    print(
        "# Which fold each trial belongs to; made once by builders/trial_folds.py before any fit."
    )
    print("[fold]")
    for trial, fold in folds.items():
        print(f"{trial} = {fold}")


if __name__ == "__main__":
    main()

"""How a validation reads on a terminal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sunup.app.validate_trials import WHATS, score_each
from sunup.cli.show import console, print_table
from sunup.forecast.score import split_by_reading

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sunup.app.validate_trials import Validation

NO_GUESS = "- : these figures are all of one trial, so there is no other trial to guess from."


def print_validation(found: Validation) -> None:
    """Print each arm, then the scores of all, of read and of remembered figures."""
    print_table(
        [
            ("arm", "left"),
            ("figure", "left"),
            ("published", "right"),
            ("predicted", "right"),
            ("90 %", "left"),
            ("", "left"),
        ],
        list(_rows(found)),
    )
    by_reading = split_by_reading(found.predictions)
    rows = []
    is_unguessed = False
    for title, these in (
        ("all", list(found.predictions)),
        ("read", by_reading[True]),
        ("memory", by_reading[False]),
    ):
        for what, one in score_each(these, found.scoring).items():
            has_guess = math.isfinite(one.class_mean_rmse)
            is_unguessed |= not has_guess
            rows.append(
                (
                    title,
                    what,
                    str(one.n),
                    f"{one.rmse:.1f}",
                    f"{one.floor:.1f}",
                    f"{one.class_mean_rmse:.1f}" if has_guess else "-",
                    f"{one.bias:+.1f}",
                    f"{one.coverage90 * one.n:.0f} of {one.n}",
                    f"{one.direction_right} of {one.pairs}",
                )
            )
    print_table(
        [
            ("figures", "left"),
            ("what", "left"),
            ("n", "right"),
            ("misfit", "right"),
            ("floor", "right"),
            ("class mean", "right"),
            ("bias", "right"),
            ("inside 90 %", "right"),
            ("direction", "right"),
        ],
        rows,
        title="Misfit in points; floor: what luck and herds alone leave; class mean: that guess",
    )
    if is_unguessed:
        console().print(NO_GUESS)
    if found.left_out:
        console().print(f"\nLeft out, each for a fault named below: {', '.join(found.left_out)}")
    console().print(f"\n{found.words}; set {found.params_version}")


def _rows(found: Validation) -> Iterator[tuple[str, ...]]:
    by_arm = {(arm.id, p.what): p for p in found.predictions for arm in p.told_for}
    for arm in found.arms:
        for what in WHATS:
            p = by_arm.get((arm.id, what))
            if p is None:
                continue
            memory = "" if arm.read else " (memory)"
            start = (arm.id, what, f"{p.published:.0f}{memory}")
            if arm.id != p.arm.id:
                yield (*start, "", "", f"counted with {p.arm.id}")
                continue
            low, high = p.interval(found.scoring)
            mark = "" if low <= p.published <= high else "outside"
            yield (*start, f"{p.predicted:.0f}", f"{low:.0f}-{high:.0f}", mark)

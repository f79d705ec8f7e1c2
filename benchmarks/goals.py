"""One measured line beside its goal, and the table of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Goal:
    """One line of the table; `goal` None: shown, not judged.

    `more_is_better`: the goal is the least that is wanted, not the most.
    """

    what: str
    unit: str
    measured: float
    goal: float | None = None
    more_is_better: bool = False

    @property
    def missed(self) -> bool:
        """Whether the measured value is on the wrong side of the goal."""
        if self.goal is None:
            return False
        return self.measured < self.goal if self.more_is_better else self.measured > self.goal


def print_table(lines: Sequence[Goal]) -> None:
    """Print goal beside measured."""
    width = max(len(line.what) for line in lines)
    print(f"{'':<{width}}  {'goal':>12}  {'measured':>12}")
    for line in lines:
        sign = ">= " if line.more_is_better else ""
        goal = "-" if line.goal is None else f"{sign}{line.goal:g} {line.unit}"
        mark = "  MISSED" if line.missed else ""
        measured = f"{line.measured:.0f}" if line.measured >= 100 else f"{line.measured:.3f}"
        print(f"{line.what:<{width}}  {goal:>12}  {measured + ' ' + line.unit:>12}{mark}")

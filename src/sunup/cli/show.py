"""Printing: tables that stay readable at 80 columns and when piped; problems to stderr; JSON."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from sunup.base.json_text import render_json
from sunup.base.problems import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console

    from sunup.base.problems import Problem

_SHOWN = 30
_WIDEST = 32  # characters a column keeps whole however narrow the terminal
_WORD = {Severity.ERROR: "problem", Severity.WARNING: "look", Severity.NOTICE: "note"}


def console() -> Console:
    """A plain console: the terminal's width (COLUMNS; 80 when piped), no colour when piped."""
    from rich.console import Console

    return Console(highlight=False, emoji=False, markup=False)


def print_json(data: Any) -> None:
    """Write one JSON document to standard output."""
    sys.stdout.write(render_json(data) + "\n")


def print_problems(problems: Sequence[Problem], *, limit: int | None = _SHOWN) -> None:
    """Write problems to standard error, worst first, each with place and what to do."""
    rank = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTICE: 2}
    ordered = sorted(problems, key=lambda p: rank[p.severity])
    for problem in ordered[:limit]:
        print(f"{_WORD[problem.severity]}: {problem}", file=sys.stderr)
    left = len(ordered) - len(ordered[:limit])
    if left:
        print(f"... and {left} more; --json lists all.", file=sys.stderr)


def print_table(
    head: Sequence[tuple[str, str]], rows: Iterable[Sequence[str]], *, title: str | None = None
) -> None:
    """Print a plain table.

    Parameters
    ----------
    head : sequence of (name, justify)
        Justify is "left" or "right".
    rows : iterable of sequence of str
    title : str, optional
        Printed above it.
    """
    from rich import box
    from rich.table import Table

    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0), safe_box=True
    )
    lines = [tuple(row) for row in rows]
    for place, (name, justify) in enumerate(head):
        # no word of a header is broken, nor a name in the first column
        words = name.split() + ([row[0] for row in lines if row] if place == 0 else [])
        table.add_column(
            name,
            justify="right" if justify == "right" else "left",
            overflow="fold",
            min_width=min(_WIDEST, max((len(word) for word in words), default=1)),
        )
    for row in lines:
        table.add_row(*row)
    out = console()
    if title:
        out.print(f"\n{title}")
    out.print(table)


def print_pairs(pairs: Sequence[tuple[str, str]]) -> None:
    """Print names with their texts beside them, long texts folded under themselves."""
    from rich.table import Table

    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    for name, text in pairs:
        grid.add_row(name, text)
    console().print(grid)


def has_errors(problems: Iterable[Problem]) -> bool:
    """Whether any problem stands in the way (exit 1)."""
    return any(p.severity is Severity.ERROR for p in problems)

"""Printing: tables that stay readable at 80 columns and when piped; problems to stderr; JSON."""

from __future__ import annotations

import re
import sys
from textwrap import fill, wrap
from typing import TYPE_CHECKING, Any, Literal

from sunup.base.json_text import render_json
from sunup.base.problems import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console

    from sunup.base.problems import Problem

_SHOWN = 30
_NARROW = 60  # columns below which a table that does not fit is told row by row
_RANGE = re.compile(r"\([^() ]+ to [^() ]+\)")  # "(46 to 63)" is read as one
_BLANKS = re.compile(r"[ \n]+")
_GROUP = 20  # columns of a group's name where all of it does not fit
_BROKEN_AT = (24, 18, 14, 12)  # columns; what is longer is no tag
_JOINT = "\u00a0"  # where a cell is not to be broken
_WORD = {Severity.ERROR: "problem", Severity.WARNING: "look", Severity.NOTICE: "note"}


def console() -> Console:
    """A plain console: the terminal's width (COLUMNS; 80 when piped), no colour when piped.

    Sentences are folded under themselves, so that where one ends and the next begins is seen.
    """
    from rich.console import Console

    class Folding(Console):
        def print(self, *objects: Any, **more: Any) -> None:
            super().print(
                *(fold(it, self.width) if isinstance(it, str) else it for it in objects), **more
            )

    return Folding(highlight=False, emoji=False, markup=False)


def fold(text: str, width: int) -> str:
    """Fold each line of a text at a width, the rest of it two columns further in than its start.

    Examples
    --------
    >>> print(fold("  - a row of many words", 14))
      - a row of
        many words
    """
    return "\n".join(_folded(line, width) for line in text.split("\n"))


def _folded(line: str, width: int) -> str:
    if len(line) <= width:
        return line
    margin = " " * (len(line) - len(line.lstrip()) + 2)
    parts = wrap(line, width, subsequent_indent=margin, break_on_hyphens=False)
    return "\n".join(parts)


def print_json(data: Any) -> None:
    """Write one JSON document to standard output."""
    sys.stdout.write(render_json(data) + "\n")


def print_problems(problems: Sequence[Problem], *, limit: int | None = _SHOWN) -> None:
    """Write problems to standard error, worst first, each with place and what to do."""
    rank = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTICE: 2}
    ordered = sorted(problems, key=lambda p: rank[p.severity])
    for problem in ordered[:limit]:
        complain(f"{_WORD[problem.severity]}: {problem}")
    left = len(ordered) - len(ordered[:limit])
    if left:
        complain(f"... and {left} more; --json lists all.")


def complain(text: str) -> None:
    """Write to standard error: folded for an eye, one line a problem for a file or a program."""
    if sys.stderr.isatty():
        text = fold(text, console().width)
    print(text, file=sys.stderr)


def print_table(
    head: Sequence[tuple[str, str]], rows: Iterable[Sequence[str]], *, title: str | None = None
) -> None:
    """Print a plain table; in a narrow window that it does not fit, a paragraph for each row.

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

    lines = [tuple(map(_jointed, row)) for row in rows]
    out = console()
    columns = [[name, *cells] for (name, _), cells in _columns(head, lines)]
    if out.width >= _NARROW and sum(map(_longest, columns)) > _room(columns, out.width):
        lines = _with_short_groups([name for name, _ in head], lines)
        columns = [[name, *cells] for (name, _), cells in _columns(head, lines)]
    if title:
        out.print(f"\n{title}")
    if out.width < _NARROW and sum(map(_longest, columns)) > _room(columns, out.width):
        for row in lines:
            out.print(_unjointed(_told([name for name, _ in head], row, out.width)))
        return
    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0), safe_box=True
    )
    widths = _fit(columns, out.width)
    for (name, justify), width in zip(head, widths, strict=True):
        side: Literal["left", "right"] = "right" if justify == "right" else "left"
        table.add_column(_celled(name, width), justify=side, overflow="fold", width=width)
    for row in lines:
        table.add_row(*(_celled(cell, width) for cell, width in zip(row, widths, strict=False)))
    out.print(table)


def _with_short_groups(
    names: Sequence[str], lines: Sequence[tuple[str, ...]]
) -> list[tuple[str, ...]]:
    """The rows with long names of groups cut, so that a row of the chute stays a line."""
    at = [i for i, name in enumerate(names) if name == "group"]
    short = cut_apart([row[i] for row in lines for i in at if i < len(row)], _GROUP)
    return [tuple(short[x] if i in at else x for i, x in enumerate(row)) for row in lines]


def cut_apart(names: Iterable[str], width: int) -> dict[str, str]:
    """Each name, cut where it is longer than a width; no two are cut to the same.

    Examples
    --------
    >>> list(cut_apart(["cows", "cows of the north", "cows of the south"], 10).values())
    ['cows', 'cows of the n...', 'cows of the s...']
    """
    every = list(dict.fromkeys(names))
    while True:
        cut = {x: x if len(x) <= width else f"{x[: width - 3].rstrip()}..." for x in every}
        if len(set(cut.values())) == len(every):
            return cut
        width += 1


def _jointed(cell: str) -> str:
    return _RANGE.sub(lambda found: found[0].replace(" ", _JOINT), cell)


def _unjointed(text: str) -> str:
    return text.replace(_JOINT, " ")


def _celled(cell: str, width: int | None) -> str:
    """A cell in lines of its width, a range whole on one of them."""
    if width is not None:
        parts = (wrap(part, width, break_on_hyphens=False) for part in cell.split("\n"))
        cell = "\n".join("\n".join(part) for part in parts)
    return _unjointed(cell)


def _told(names: Sequence[str], row: Sequence[str], width: int) -> str:
    """A row as a paragraph: its first cell, then what each other column says of it."""
    first, *rest = (" ".join(cell.split()) for cell in row)
    said = [f"{name} {cell}".strip() for name, cell in zip(names[1:], rest, strict=False) if cell]
    text = f"{first}: {'; '.join(said)}" if said else first
    return fill(text, width, subsequent_indent="  ", break_long_words=True, break_on_hyphens=False)


def _longest(cells: Sequence[str]) -> int:
    return max(len(part) for cell in cells for part in cell.split("\n"))


def _room(columns: Sequence[Sequence[str]], width: int) -> int:
    return width - 2 * (len(columns) - 1)  # two spaces between columns


def _columns(
    head: Sequence[tuple[str, str]], lines: Sequence[Sequence[str]]
) -> list[tuple[tuple[str, str], list[str]]]:
    return [(named, [row[i] for row in lines if i < len(row)]) for i, named in enumerate(head)]


def _fit(columns: Sequence[Sequence[str]], width: int) -> list[int | None]:
    """Widths that keep words whole: the widest column gives way first, none below its longest word.

    Where even the longest words do not fit, the longest of all (a group's name without a blank)
    are broken, at what the first of a few lengths leaves room for. None for every column where all
    fits anyway, or where nothing helps.
    """
    most = [_longest(cells) for cells in columns]
    room = _room(columns, width)
    if sum(most) <= room:
        return [None] * len(columns)
    words = [max((len(w) for cell in cells for w in _BLANKS.split(cell)), default=1)
             for cells in columns]  # fmt: skip
    for longest in (max(words), *_BROKEN_AT):
        least = [min(word, longest) for word in words]
        if sum(least) <= room:
            break
    else:
        return [None] * len(columns)
    widths = list(most)
    while sum(widths) > room:
        loose = [i for i, low in enumerate(least) if widths[i] > low]
        widths[max(loose, key=widths.__getitem__)] -= 1
    return list(widths)


def say(text: str) -> None:
    """Print a sentence, folded under itself at the terminal's width; at once."""
    print(fold(text, console().width), flush=True)


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

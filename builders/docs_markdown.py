"""Markdown for the generated pages: a table, a heading, the line that says who wrote it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

WRITTEN_BY = "*Written by `builders/docs.py` from {source}; do not edit by hand.*"


def page(title: str, source: str, *parts: str) -> str:
    """Return a whole page: title, the line saying what it was written from, and its parts."""
    head = f"# {title}\n\n{WRITTEN_BY.format(source=source)}\n"
    return "\n".join((head, *(part.rstrip("\n") + "\n" for part in parts if part)))


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table; cells are escaped, so that a bar in a text does not part columns."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(_cell(cell) for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def bullets(lines: Iterable[str]) -> str:
    """Return a list."""
    return "".join(f"- {line}\n" for line in lines)


def _cell(text: str) -> str:
    return " ".join(text.replace("|", "\\|").split())


def number(value: object) -> str:
    """Return a figure's value as it reads: lists by slashes, a pair as a range."""
    if isinstance(value, tuple) and len(value) == 2 and not isinstance(value[0], str):
        return f"{number(value[0])} to {number(value[1])}"
    if isinstance(value, tuple):
        return " / ".join(number(item) for item in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, int | float) else str(value)

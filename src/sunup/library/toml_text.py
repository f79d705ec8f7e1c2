"""What was found wrong in one data file, and the words to say it in."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from sunup.base.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable


@dataclass(slots=True)
class Reading:
    """One file being read: its name, what was found wrong and the sources it named.

    `known_sources` is None where ``sources.toml`` could not be read, so that one broken file does
    not make every other look broken.
    """

    file: str
    known_sources: Collection[str] | None = None
    problems: list[Problem] = field(default_factory=list)
    used_sources: set[str] = field(default_factory=set)

    @property
    def count(self) -> int:
        """How many problems there are so far."""
        return len(self.problems)

    def report(self, path: str, what: str, fix: str) -> None:
        """Note an error at a dotted key of this file."""
        where = f"{self.file}: {path}" if path else self.file
        self.problems.append(Problem(where, what, fix))


def listed(words: Iterable[str]) -> str:
    """Join allowed words for a message."""
    return ", ".join(words)


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return "Did you mean 'x'? " for the nearest allowed word, or nothing."""
    close = difflib.get_close_matches(word, list(allowed), n=1, cutoff=0.6)
    return f"Did you mean '{close[0]}'? " if close else ""


def shown(value: object) -> str:
    """Say in words what a TOML value is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        short = value if len(value) <= 40 else value[:37] + "..."
        return f"the text '{short}'"
    if isinstance(value, int | float):
        return f"the number {str(value)[:40]}"
    if isinstance(value, date):
        return f"the date {value}"
    if isinstance(value, list):
        return "a list"
    return "a table" if isinstance(value, dict) else "a time of day"

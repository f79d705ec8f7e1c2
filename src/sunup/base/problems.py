"""Mistakes of users as values, mistakes of programmers as exceptions."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence


class Severity(StrEnum):
    """How much a problem stands in the way."""

    ERROR = "error"  # this row, key or step is not used
    WARNING = "warning"  # used as it stands; somebody should look
    NOTICE = "notice"  # something was done for the reader that they should know of


@dataclass(frozen=True, slots=True)
class Problem:
    """Something wrong with what was given, in words a ranch hand uses.

    Parameters
    ----------
    where : str
        The place: a file with row and column, a file and key, or an animal and date.
    what : str
        What was found.
    fix : str
        What to do next.
    severity : Severity
    row, column, value
        For tables: row number as a spreadsheet shows it (the header is row 1), the column's header
        and the cell as text.
    """

    where: str
    what: str
    fix: str
    severity: Severity = Severity.ERROR
    row: int | None = None
    column: str | None = None
    value: str | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the problem as plain values, absent ones left out."""
        pairs = {
            "where": self.where,
            "what": self.what,
            "fix": self.fix,
            "severity": str(self.severity),
            "row": self.row,
            "column": self.column,
            "value": self.value,
        }
        return {key: value for key, value in pairs.items() if value is not None}

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {self.fix}"


class SunupError(Exception):
    """Base of every exception Sunup raises on purpose."""


class UsageError(SunupError):
    """The command was called in a way that cannot be carried out (exit 2).

    `problems` are faults that may be the reason, in a file that was given with it.
    """

    problems: tuple[Problem, ...] = ()


class DomainError(SunupError):
    """A function was given a value outside what it is defined for: a programmer's mistake."""


def counted(n: int, one: str, many: str = "") -> str:
    """A count with its noun: ``1 female``, ``2 females``."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def some(names: Sequence[str], n: int = 12) -> str:
    """The first n of a list of names, and how many more there are."""
    more = len(names) - n
    return ", ".join(names[:n]) + (f" and {more} more" if more > 0 else "")

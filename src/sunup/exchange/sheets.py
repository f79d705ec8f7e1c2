"""A table as rows of text cells, before anybody asks what the columns mean."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity, SunupError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

Row = tuple[int, list[str]]

ERROR_CELLS = frozenset(
    [
        "#N/A",
        "#REF!",
        "#VALUE!",
        "#DIV/0!",
        "#NAME?",
        "#NULL!",
        "#NUM!",
        "#SPILL!",
        "#CALC!",
        "#GETTING_DATA",
        "#FIELD!",
    ]
)
NOT_CALCULATED = "#NOT CALCULATED"  # our word for a formula saved without its result


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table: its rows are read when asked for, so that a big file need not be held twice.

    `rows` yields (row number as a spreadsheet shows it, cells as text). `problems` fills while
    the rows are read.
    """

    name: str
    rows: Callable[[], Iterator[Row]]
    problems: list[Problem] = field(default_factory=list)
    separator: str = ""


class NotATableError(SunupError):
    """The bytes given are not a table we can read; caught where the file enters."""

    def __init__(self, what: str, fix: str) -> None:
        super().__init__(f"{what} {fix}")
        self.what = what
        self.fix = fix

    def to_problem(self, file: str) -> Problem:
        """Say it as a problem of the file."""
        return Problem(where=file, what=self.what, fix=self.fix, severity=Severity.ERROR)

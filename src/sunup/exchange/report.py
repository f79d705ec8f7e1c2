"""What was found in a table, gathered with its place so that it can be told in the file's order."""

from __future__ import annotations

from dataclasses import dataclass, field
from operator import itemgetter
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity

if TYPE_CHECKING:
    from sunup.exchange.faults import Fault

_LONGEST_VALUE = 80
_ROWS_SHOWN = 10


@dataclass(slots=True)
class Report:
    """Problems of one table; `place` is the file, and the sheet of a workbook."""

    place: str
    found: list[tuple[int, int, Problem]] = field(default_factory=list)  # row, column, problem
    no_column: dict[tuple[str, str, Severity], list[int]] = field(default_factory=dict)

    def add(self, problem: Problem, index: int = 0) -> None:
        """Take a problem made elsewhere, at a column."""
        self.found.append((problem.row or 0, index, problem))

    def file(self, what: str, fix: str, severity: Severity = Severity.ERROR) -> None:
        """Report something of the whole table."""
        self.add(Problem(where=self.place, what=what, fix=fix, severity=severity))

    def row(self, number: int, index: int, fault: Fault, value: str | None = None) -> None:
        """Report something of a row that no column owns."""
        problem = Problem(
            where=f"{self.place} row {number}",
            what=fault.what,
            fix=fault.fix,
            severity=fault.severity,
            row=number,
            value=None if value is None else value[:_LONGEST_VALUE],
        )
        self.add(problem, index)

    def cell(self, number: int, index: int, header: str, text: str, fault: Fault) -> None:
        """Report a cell."""
        long = len(text) > _LONGEST_VALUE
        problem = Problem(
            where=f"{self.place} row {number}, column '{header}'",
            what=fault.what[0].upper() + fault.what[1:],
            fix=fault.fix,
            severity=fault.severity,
            row=number,
            column=header,
            value=text[: _LONGEST_VALUE - 3] + "..." if long else text,
        )
        self.add(problem, index)

    def without_column(self, number: int, fault: Fault) -> None:
        """Note a row that lacks a fact no column holds; told once for all rows of a cause."""
        self.no_column.setdefault((fault.what, fault.fix, fault.severity), []).append(number)

    def in_order(self) -> tuple[Problem, ...]:
        """Return the problems by row and column, those of the whole file first."""
        for (what, fix, severity), rows in self.no_column.items():
            shown = ", ".join(map(str, rows[:_ROWS_SHOWN]))
            more = " and more" if len(rows) > _ROWS_SHOWN else ""
            count = f"{len(rows)} rows ({shown}{more})" if len(rows) > 1 else f"Row {shown}"
            self.file(f"{count}: {what}", f"Add a column 'Class'. {fix}", severity)
        self.no_column.clear()
        return tuple(problem for _, _, problem in sorted(self.found, key=itemgetter(0, 1)))

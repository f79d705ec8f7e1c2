"""A list of results in: calvings, weights, condition, scans, pregnancy checks, treatments.

Every bad cell is reported at its row and column; a row whose animal, day or main fact cannot be
read is not taken; nothing is taken here at all: the caller shows what was read first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Severity
from sunup.exchange.columns import bare
from sunup.exchange.date_columns import mixed_orders, orders_shown
from sunup.exchange.faults import Fault
from sunup.exchange.header_problems import header_problems, usable_columns
from sunup.exchange.headers import header_score, read_header, read_headers
from sunup.exchange.herd_file import HerdReading
from sunup.exchange.report import Report
from sunup.exchange.result_columns import result_column
from sunup.exchange.result_facts import Said, facts_of_row, odd_values
from sunup.exchange.result_fields import NEEDED, RESULT_FIELDS, ResultKind
from sunup.exchange.rows_below import count_named, rows_below
from sunup.exchange.sheets import NotATableError, Row
from sunup.exchange.tables import PEEK_ROWS, open_table
from sunup.records.female import PregnancyFinding

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date, time

    from sunup.base.problems import Problem
    from sunup.exchange.columns import Column
    from sunup.exchange.fields import FieldSet
    from sunup.exchange.headers import Headers
    from sunup.exchange.moments import Moment
    from sunup.exchange.plausible import Limits
    from sunup.exchange.sheets import Sheet

_WHO = ("tag", "rfid")


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One row that could be read: whom it is about, when, what it says.

    `when` is None where the list has no day for it; `by` is who did it.
    """

    row: int
    tag: str | None
    rfid: str | None
    when: Moment | None
    facts: tuple[Said, ...]
    by: str = ""


@dataclass(frozen=True, slots=True)
class ResultFile:
    """What a list of results held.

    `n_rows` counts rows with something in them; `columns` are (header, field) as taken.
    """

    kind: ResultKind
    place: str
    rows: tuple[ResultRow, ...]
    problems: tuple[Problem, ...]
    n_rows: int = 0
    columns: tuple[tuple[str, str], ...] = ()
    unused: tuple[str, ...] = ()


def read_results(
    data: bytes,
    name: str,
    *,
    kind: ResultKind,
    on: date,
    limits: Limits,
    reading: HerdReading | None = None,
    day: Moment | None = None,
) -> ResultFile:
    """Read a list of results from the bytes of a CSV or XLSX file.

    Parameters
    ----------
    data : bytes
    name : str
        The file's name, for problems.
    kind : ResultKind
    on : date
        Today; nothing in the list may lie after it.
    limits : Limits
        What is believed.
    reading : HerdReading, optional
        How to read dates, weights and columns.
    day : Moment, optional
        The day, and clock, of rows that state none.

    Returns
    -------
    ResultFile
        Never raises for what a file may hold; mistakes are in `problems`.
    """
    how = reading or HerdReading()
    fields = RESULT_FIELDS[kind]
    asked = {}
    for key, header in how.columns.items():
        known = key if key in fields.by_key else getattr(read_header(key, fields), "key", None)
        asked[known or key] = header
    try:
        sheet = open_table(
            data,
            name,
            score=lambda rows: _best(rows, asked, fields)[0],
            count=lambda one: _count_animals(one, kind, asked, fields),
            sheet=how.sheet,
        )
        place = f"{name} sheet '{sheet.name}'" if sheet.name else name
        return _Reading(sheet, Report(place), kind, fields, asked, on, limits, how, day).read()
    except NotATableError as fault:
        return ResultFile(kind, name, (), (fault.to_problem(name),))


def _best(
    rows: Iterable[Row], asked: Mapping[str, str], fields: FieldSet
) -> tuple[int, int, list[str]]:
    """Find the row with most known headers: (score, row number, cells)."""
    best: tuple[int, int, list[str]] = (0, 0, [])
    for count, (number, cells) in enumerate(rows):
        if count == PEEK_ROWS:
            break
        score = header_score(cells, asked, fields)
        if score > best[0]:
            best = (score, number, cells)
    return best


def _count_animals(
    sheet: Sheet, kind: ResultKind, asked: Mapping[str, str], fields: FieldSet
) -> int:
    """Count the rows of a sheet that name an animal; 0 where it is no list of this kind."""
    _, number, cells = _best(sheet.rows(), asked, fields)
    known = {key: one for key, one in asked.items() if key in fields.by_key}
    headers = read_headers(number, cells, known, fields)
    if NEEDED[kind] and not any(key in headers.columns for key in NEEDED[kind]):
        return 0
    return count_named(sheet.rows(), headers, _WHO)


@dataclass(frozen=True, slots=True)
class _Reading:
    """One table being read."""

    sheet: Sheet
    report: Report
    kind: ResultKind
    fields: FieldSet
    asked: dict[str, str]
    on: date
    limits: Limits
    how: HerdReading
    day: Moment | None

    def read(self) -> ResultFile:
        report = self.report
        score, number, cells = _best(self.sheet.rows(), self.asked, self.fields)
        asked = {key: one for key, one in self.asked.items() if key in self.fields.by_key}
        for key in self.asked.keys() - asked.keys():
            known = ", ".join(self.fields.by_key)
            report.file(f"There is no field '{key}' to take a column for.", f"Fields: {known}.")
        headers = read_headers(number, cells, asked, self.fields)
        taken = usable_columns(headers)
        if not self._can_be_read(score, taken):
            return ResultFile(self.kind, report.place, (), report.in_order())
        for problem, index in header_problems(headers, report.place, self.how.weight_unit):
            report.add(problem, index)
        shown = orders_shown(self.sheet.rows(), headers, taken, self.how.date_order)
        for problem, index in mixed_orders(shown, headers, taken, report.place):
            report.add(problem, index)
        readers = {
            key: result_column(
                column.known,
                self.fields,
                on=self.on,
                date_order=self.how.date_order,
                weight_unit=self.how.weight_unit,
                limits=self.limits,
                shown=shown.get(key),
            )
            for key, column in taken.items()
        }
        places = {key: column.index for key, column in taken.items()}
        self.sheet.problems[:] = [one for one in self.sheet.problems if one.row is None]
        rows, n_rows = [], 0
        for at, found in rows_below(self.sheet.rows(), headers, report):
            n_rows += 1
            row = None if found is None else self._row(at, found, headers, places, readers)
            if row is not None:
                rows.append(row)
        for one in self.sheet.problems:
            report.add(one)
            n_rows += one.row is not None
        if not n_rows:
            report.file(f"There is a header on row {number} but no row below it.", "Add the rows.")
        used = set(places.values())
        return ResultFile(
            self.kind,
            report.place,
            tuple(rows),
            report.in_order(),
            n_rows=n_rows,
            columns=tuple(
                (column.header, key)
                for key, column in sorted(taken.items(), key=lambda pair: pair[1].index)
            ),
            unused=tuple(cell for at, cell in enumerate(headers.cells) if cell and at not in used),
        )

    def _can_be_read(self, score: int, taken: Mapping[str, Any]) -> bool:
        if not score or not any(key in taken for key in _WHO):
            self.report.file(
                f"No header row with a column for tag or RFID in the first {PEEK_ROWS} rows.",
                "Name the column 'Tag' or 'RFID', or say --column tag=HEADER.",
            )
            return False
        needed = NEEDED[self.kind]
        if needed and not any(key in taken for key in needed):
            words = " or ".join(self.fields.by_key[key].words for key in needed)
            self.report.file(
                f"There is no column for the {words}.",
                f"Name it, or say --column {needed[0]}=HEADER.",
            )
            return False
        if "on" not in taken and self.day is None:
            self.report.file(
                "There is no column for the day.",
                "Say the day of the whole list with --on DATE, or say --column on=HEADER.",
            )
            return False
        return True

    def _row(
        self,
        number: int,
        cells: list[str],
        headers: Headers,
        index: Mapping[str, int],
        readers: Mapping[str, Column],
    ) -> ResultRow | None:
        row: dict[str, Any] = {}
        sound = True
        must = {*_WHO, "on", "time", *NEEDED[self.kind][:1]}
        must -= {"time"} if self.kind is not ResultKind.TREATMENTS else set()

        def say(key: str, fault: Fault) -> None:
            at = index[key]
            self.report.cell(number, at, headers.cells[at], cells[at], fault)

        for key, reader in readers.items():
            value = reader[cells[index[key]]]
            if isinstance(value, Fault):
                say(key, value)
                if value.severity is Severity.ERROR:
                    sound = sound and key not in must
                    value = None
                else:
                    value = value.value
            row[key] = value
        for rival in headers.rivals:
            key = rival.known.key
            if key in index and bare(cells[rival.index]) not in {"", bare(cells[index[key]])}:
                used = headers.columns[key].header
                fault = Fault(
                    f"it differs from column '{used}', which also stands for the"
                    f" {self.fields.by_key[key].words}; the row was left out.",
                    f"Keep one column, or say which with --column {key}=HEADER.",
                )
                self.report.cell(number, rival.index, rival.header, cells[rival.index], fault)
                sound = False
        for key, what in odd_values(row, self.limits):
            say(key, Fault(what, "Check the number and its unit.", severity=Severity.WARNING))
        for key in ("fetal_age", "fetuses", "fetal_sex"):
            # an age or a fetus in an open female: one of the two is another's, or a slip
            if row.get(key) and row.get("pregnancy") is PregnancyFinding.NOT_PREGNANT:
                what = (
                    f"she is said to be open, with {self.fields.by_key[key].words} beside it; the "
                    "row was left out."
                )
                say(key, Fault(what, "Ask who checked; empty this cell or mend the finding."))
                sound = False
        if not sound:
            return None
        return self._made(number, row)

    def _made(self, number: int, row: Mapping[str, Any]) -> ResultRow | None:
        """Make the row, or say why it cannot be taken."""
        if row.get("tag") is None and row.get("rfid") is None:
            self._leave(number, "The row names no animal.", "Type her tag.")
            return None
        when = _joined(row.get("on") or self.day, row.get("time"))
        if when is None:
            self._leave(number, "The row has no day.", "Type the day, or say --on DATE.")
            return None
        facts = facts_of_row(self.kind, row)
        if not facts:
            self._leave(number, "The row has no result in it.", "Nothing was taken from it.")
            return None
        return ResultRow(
            number, row.get("tag"), row.get("rfid"), when, facts, by=row.get("by") or ""
        )

    def _leave(self, number: int, what: str, fix: str) -> None:
        severity = Severity.WARNING if "no result" in what else Severity.ERROR
        self.report.row(number, 0, Fault(what, fix, severity=severity))


def _joined(when: Moment | None, clock: time | None) -> Moment | None:
    """Put a clock time of its own column to the day."""
    if when is None or clock is None or when.clock is not None:
        return when
    return replace(when, clock=clock)

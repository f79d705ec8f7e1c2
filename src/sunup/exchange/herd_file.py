"""A herd file in: every bad cell is reported at its row and column, and the good rows load."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem, Severity
from sunup.exchange.columns import bare, column_for, is_safety
from sunup.exchange.faults import Fault
from sunup.exchange.fields import BY_KEY
from sunup.exchange.header_problems import header_problems, usable_columns
from sunup.exchange.headers import header_score, read_headers
from sunup.exchange.row_checks import RowState, check_row
from sunup.exchange.sheets import NotATableError, Row, Sheet
from sunup.exchange.tables import open_table
from sunup.records.female import Female, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

_HEADER_ROWS = 60
_EXPOSURE = frozenset({"bull_in", "bull_out", "ai_on"})
_NO_FAULT: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class HerdReading:
    """How a herd file is to be read.

    Parameters
    ----------
    date_order : str or None
        "mdy" or "dmy" for dates such as 03/04/2027; "iso" or None: such dates are reported.
    weight_unit : str or None
        "lb" or "kg" for weight columns whose header states no unit; None: they are reported.
    columns : mapping
        Field to header, where a header is not recognised or two are.
    sheet : str or None
        The workbook's sheet; None: the one whose headers are known best.
    """

    date_order: str | None = None
    weight_unit: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class HerdFile:
    """What a herd file held.

    `rows` counts rows with something in them below the header; `columns` are (header, field) as
    taken; `unused` are the headers of columns not taken.
    """

    females: tuple[Female, ...]
    problems: tuple[Problem, ...]
    rows: int = 0
    columns: tuple[tuple[str, str], ...] = ()
    unused: tuple[str, ...] = ()


def read_herd(data: bytes, name: str, *, on: date, reading: HerdReading | None = None) -> HerdFile:
    """Read a herd list from the bytes of a CSV or XLSX file.

    Parameters
    ----------
    data : bytes
    name : str
        The file's name, for problems.
    on : date
        Today; nothing in a herd file may lie after it.
    reading : HerdReading, optional
        How to read dates, weights and columns.

    Returns
    -------
    HerdFile
        Never raises for what a file may hold; mistakes are in `problems`. An unreadable tag keeps
        the row out; an unreadable class, calving date, exposure, pregnancy or hold puts her on
        hold; any other unreadable cell is left unknown.
    """
    how = reading or HerdReading()
    asked = {key: header for key, header in how.columns.items() if key in BY_KEY}
    try:
        sheet = open_table(
            data,
            name,
            score=lambda rows: _best_header(rows, asked)[0],
            sheet=how.sheet,
        )
        return _Reader(sheet, name, on, how, asked).read()
    except NotATableError as fault:
        return HerdFile((), (fault.to_problem(name),))


def _best_header(rows: Iterable[Row], asked: Mapping[str, str]) -> tuple[int, int, list[str]]:
    """Find the row with most known headers: (score, row number, cells)."""
    best: tuple[int, int, list[str]] = (0, 0, [])
    for count, (number, cells) in enumerate(rows):
        if count == _HEADER_ROWS:
            break
        score = header_score(cells, asked)
        if score > best[0]:
            best = (score, number, cells)
    return best


class _Reader:
    """Reads one sheet; holds what its rows share."""

    def __init__(
        self, sheet: Sheet, name: str, on: date, how: HerdReading, asked: Mapping[str, str]
    ) -> None:
        self.sheet, self.name, self.on, self.how, self.asked = sheet, name, on, how, asked
        self.place = f"{name} sheet '{sheet.name}'" if sheet.name else name
        self.problems: list[tuple[int, int, Problem]] = []  # row, column index, problem
        self.females: list[Female | None] = []
        self.tags: dict[str, list[int]] = {}
        self.rfids: dict[str, list[int]] = {}
        self.lines: list[tuple[int, str | None, str | None]] = []  # row, tag cell, RFID cell
        self.no_class: dict[tuple[str, str, Severity], list[int]] = {}

    def read(self) -> HerdFile:
        """Read header and rows."""
        score, number, cells = _best_header(self.sheet.rows(), self.asked)
        if not score:
            return HerdFile((), (*self.sheet.problems, self._no_header()))
        self.sheet.problems[:] = [one for one in self.sheet.problems if one.row is None]
        headers = read_headers(number, cells, self.asked)
        for problem, index in header_problems(headers, self.place, self.how.weight_unit):
            self.problems.append((number, index, problem))
        for key in sorted(set(self.how.columns) - set(BY_KEY)):
            self.problems.append((0, 0, self._no_field(key)))
        taken = usable_columns(headers)
        if "tag" not in taken:
            return HerdFile((), (*self.sheet.problems, self._no_header()))
        self.headers = headers
        self.index = {key: column.index for key, column in taken.items()}
        self._read_rows(number)
        self._check_tags()
        self._check_rfids()
        self._say_no_class()
        if not self.lines:
            self.problems.append((number, 0, self._no_rows(number)))
        used = {column.index for column in taken.values()}
        self.problems.extend((one.row or 0, -1, one) for one in self.sheet.problems)
        self.problems.sort(key=itemgetter(0, 1))
        return HerdFile(
            females=tuple(one for one in self.females if one is not None),
            problems=tuple(problem for _, _, problem in self.problems),
            rows=len(self.lines),
            columns=tuple(
                (column.header, key)
                for key, column in sorted(taken.items(), key=lambda pair: pair[1].index)
            ),
            unused=tuple(cell for at, cell in enumerate(headers.cells) if cell and at not in used),
        )

    def _read_rows(self, header_row: int) -> None:
        """Read the rows below the header, cell by cell through readers that remember."""
        keys = list(self.index)
        indices = [self.index[key] for key in keys]
        taken = usable_columns(self.headers)
        columns = [
            column_for(
                taken[key].known,
                on=self.on,
                date_order=self.how.date_order,
                weight_unit=self.how.weight_unit,
            )
            for key in keys
        ]
        pick = itemgetter(*indices) if len(indices) > 1 else (lambda cells: (cells[indices[0]],))
        width = len(self.headers.cells)
        while width and not self.headers.cells[width - 1]:
            width -= 1
        width = max(width, max(indices) + 1)
        tag_index, rfid_index = self.index["tag"], self.index.get("rfid")
        for number, cells in self.sheet.rows():
            if number <= header_row or not any(map(str.strip, cells)):
                continue
            if cells[tag_index : tag_index + 1] == [self.headers.cells[tag_index]] and (
                [cell.strip() for cell in cells[:width]] == list(self.headers.cells[:width])
            ):
                continue  # the header printed again
            if len(cells) < width:
                self._short(number, len(cells), width)
                cells = [*cells, *[""] * (width - len(cells))]  # noqa: PLW2901
            is_long = len(cells) > width and any(map(str.strip, cells[width:]))
            if is_long:
                self._long(number, cells, width)
            values = [column[cell] for column, cell in zip(columns, pick(cells), strict=True)]
            rfid = cells[rfid_index] if rfid_index is not None else None
            self._take(number, cells, dict(zip(keys, values, strict=True)), rfid, is_long=is_long)

    def _take(
        self,
        number: int,
        cells: list[str],
        facts: dict[str, Any],
        rfid_cell: str | None,
        *,
        is_long: bool,
    ) -> None:
        """Make a female of a row's facts, and note her tag and RFID for the checks across rows."""
        unread: frozenset[str] | set[str] = _NO_FAULT
        holds: list[str] = []
        if Fault in map(type, facts.values()):
            unread = self._report_cells(number, cells, facts, holds)
        loads = not is_long and "tag" not in unread
        if self.headers.rivals and not self._compare_rivals(number, cells, facts, holds):
            loads = False
        tag, rfid = facts["tag"], facts.get("rfid")
        place = len(self.lines)
        self.lines.append((number, cells[self.index["tag"]], rfid_cell))
        if tag is None and "tag" not in unread:
            text = cells[self.index["tag"]]
            self._report(number, "tag", text, Fault("the row has no tag.", "Type her tag."))
        if tag is not None:
            self.tags.setdefault(tag.casefold(), []).append(place)
        if rfid is not None:
            self.rfids.setdefault(rfid, []).append(place)
        state = RowState(facts, unread, self.on, holds)
        check_row(state)
        for key, fault in state.findings:
            if key in self.index:
                self._report(number, key, cells[self.index[key]], fault)
            else:
                self.no_class.setdefault((fault.what, fault.fix, fault.severity), []).append(number)
        self.females.append(_female(state, number) if loads and tag is not None else None)

    def _report_cells(
        self, number: int, cells: list[str], facts: dict[str, Any], holds: list[str]
    ) -> set[str]:
        """Report the faults among a row's values; returns the fields not readable."""
        unread = set()
        for key, fault in facts.items():
            if type(fault) is not Fault:
                continue
            text = cells[self.index[key]]
            self._report(number, key, text, fault)
            if fault.severity is Severity.WARNING:
                facts[key] = fault.value
                continue
            facts[key] = None
            unread.add(key)
            if is_safety(key):
                holds.append(_unread_hold(key, text))
        return unread

    def _compare_rivals(
        self, number: int, cells: list[str], facts: dict[str, Any], holds: list[str]
    ) -> bool:
        """Compare second columns of a field with the one taken; False where the tags differ."""
        loads = True
        for rival in self.headers.rivals:
            key = rival.known.key
            if key not in self.index:
                continue
            text = cells[rival.index] if rival.index < len(cells) else ""
            first = cells[self.index[key]]
            if not bare(text) or bare(text) == bare(first):
                continue
            used = self.headers.columns[key].header
            fault = Fault(
                f"it differs from column '{used}' ({bare(first)[:40] or 'empty'}), which also"
                f" stands for the {BY_KEY[key].words}.",
                f"Keep one column, or say which with --column {key}=HEADER.",
            )
            self._report_at(number, rival.index, rival.header, text, fault)
            facts[key] = None if key != "tag" else facts[key]
            loads = loads and key != "tag"
            if is_safety(key):
                holds.append(f"two columns differ on her {BY_KEY[key].words}")
        return loads

    def _check_tags(self) -> None:
        """Find a tag on two rows: the same facts count once, different facts keep both rows out.

        Repeats that count once are no finding for the check on RFIDs.
        """
        repeats: set[int] = set()
        for places in self.tags.values():
            if len(places) < 2:
                continue
            rows = [self.lines[place][0] for place in places]
            females = [self.females[place] for place in places]
            is_repeat = None not in females and all(one == females[0] for one in females)
            for place in places:
                number, text, _ = self.lines[place]
                others = ", ".join(str(row) for row in rows if row != number)
                if not is_repeat:
                    self.females[place] = None
                    fault = Fault(
                        f"the tag is on row {others} too, with other facts; neither row was taken.",
                        "Mend the tag that is wrong, or take one row out.",
                    )
                elif number != rows[0]:
                    self.females[place] = None
                    fault = Fault(
                        f"the row repeats row {rows[0]}; she was counted once.",
                        "Take the row out.",
                        severity=Severity.WARNING,
                    )
                else:
                    continue
                self._report(number, "tag", text or "", fault)
            if is_repeat:
                repeats.update(places[1:])
        if repeats:
            for rfid, found in self.rfids.items():
                self.rfids[rfid] = [place for place in found if place not in repeats]

    def _check_rfids(self) -> None:
        """Find an RFID on two rows: it belongs to neither until somebody looks."""
        for places in self.rfids.values():
            if len(places) < 2:
                continue
            rows = [self.lines[place][0] for place in places]
            for place in places:
                number, _, text = self.lines[place]
                female = self.females[place]
                if female is not None:
                    self.females[place] = replace(female, rfid=None)
                others = ", ".join(str(row) for row in rows if row != number)
                fault = Fault(
                    f"the RFID is on row {others} too; it was given to neither.",
                    "Read both tags again.",
                )
                self._report(number, "rfid", text or "", fault)

    def _report(self, number: int, key: str, text: str, fault: Fault) -> None:
        index = self.index[key]
        self._report_at(number, index, self.headers.cells[index], text, fault)

    def _report_at(self, number: int, index: int, header: str, text: str, fault: Fault) -> None:
        problem = Problem(
            where=f"{self.place} row {number}, column '{header}'",
            what=fault.what[0].upper() + fault.what[1:],
            fix=fault.fix,
            severity=fault.severity,
            row=number,
            column=header,
            value=text if len(text) <= 80 else text[:77] + "...",
        )
        self.problems.append((number, index, problem))

    def _short(self, number: int, found: int, width: int) -> None:
        problem = Problem(
            where=f"{self.place} row {number}",
            what=f"The row has {found} cells, the header {width}; the rest was taken as empty.",
            fix="See that no cell or separator is missing.",
            severity=Severity.WARNING,
            row=number,
        )
        self.problems.append((number, found, problem))

    def _long(self, number: int, cells: list[str], width: int) -> None:
        problem = Problem(
            where=f"{self.place} row {number}",
            what=f"The row has {len(cells)} cells, the header {width}: cells may have slipped"
            " sideways. The row was left out.",
            fix="A separator inside a cell needs quotation marks around the cell.",
            row=number,
            value=cells[width][:80],
        )
        self.problems.append((number, width, problem))

    def _say_no_class(self) -> None:
        """Where the file has no class column: one problem a cause, not one a row."""
        for (what, fix, severity), rows in self.no_class.items():
            shown = ", ".join(map(str, rows[:10])) + (" and more" if len(rows) > 10 else "")
            problem = Problem(
                where=self.place,
                what=f"{len(rows)} rows ({shown}): {what}",
                fix=f"Add a column 'Class'. {fix}",
                severity=severity,
            )
            self.problems.append((self.headers.row, 0, problem))

    def _no_header(self) -> Problem:
        return Problem(
            where=self.place,
            what=f"No header row with a column for the tag in the first {_HEADER_ROWS} rows.",
            fix="Name the column 'Tag', or say --column tag=HEADER.",
        )

    def _no_rows(self, number: int) -> Problem:
        return Problem(
            where=self.place,
            what=f"There is a header on row {number} but no row below it.",
            fix="Give one row a female.",
        )

    def _no_field(self, key: str) -> Problem:
        return Problem(
            where=self.place,
            what=f"There is no field '{key}' to take a column for.",
            fix=f"The fields are {', '.join(BY_KEY)}.",
        )


def _unread_hold(key: str, text: str) -> str:
    """Say why she is on hold, in a few words."""
    words = "exposure" if key in _EXPOSURE else BY_KEY[key].words
    return f"{words} not readable: '{bare(text)[:40]}'"


def _female(state: RowState, number: int) -> Female:
    """Make the female of a row."""
    get = state.facts.get
    hold = get("hold")
    holds = [hold, *state.holds] if hold else state.holds
    default = "heifers" if state.class_ is FemaleClass.HEIFER else "cows"
    return Female(
        tag=state.facts["tag"],
        class_=state.class_,
        group=get("group") or default,
        rfid=get("rfid"),
        breed_shares=get("breed") or (),
        born_on=get("born_on"),
        calved_on=get("calved_on"),
        calving_ease=get("calving_ease"),
        retained_membranes=get("retained_membranes"),
        condition=get("condition"),
        weight_kg=get("weight"),
        mature_weight_kg=get("mature_weight"),
        tract_score=get("tract_score"),
        pelvic_area_cm2=get("pelvic_area"),
        cycling=get("cycling"),
        exposure=state.exposure,
        pregnancy=get("pregnancy"),
        pregnancy_checked_on=get("pregnancy_checked_on"),
        pregnancy_method=get("pregnancy_method"),
        hold_reason="; ".join(holds) if holds else None,
        sire=get("sire"),
        dam=get("dam"),
        ever_given_estradiol=get("estradiol"),
        remarks=get("remarks"),
        row=number,
    )

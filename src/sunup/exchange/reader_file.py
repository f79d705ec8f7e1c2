"""Files of electronic readers and scales: which animals were read, when, and how often.

Shapes checked: the published ones in ``tests/published/test_rfid_values.py`` and
``tests/exchange/test_reader_files.py``. An order of day and month is taken from the file only
where a day past the twelfth settles it for all lines; else it is asked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from sunup.base.problems import Problem, Severity
from sunup.base.quantities import kg_from
from sunup.exchange.delimited import decode
from sunup.exchange.faults import Fault
from sunup.exchange.moments import read_clock_cell
from sunup.exchange.rfid import read_rfid
from sunup.exchange.sheets import NotATableError
from sunup.exchange.tables import MOST_BYTES, open_table

SAME_READ_S = 3  # a tag read again within 3 s is one read (ISO readers repeat while she stands)
_LONGEST_LINE = 2_000
_CLOCK = re.compile(
    r"(?<![0-9:])([0-2]?[0-9]:[0-5][0-9](?::[0-5][0-9])?(?:\s?[ap]m)?)(?![0-9:])", re.IGNORECASE
)
_ISO = re.compile(r"(?<![0-9])((?:19|20)[0-9]{2})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})(?![0-9])")
_DAY = re.compile(r"(?<![0-9])([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})(?![0-9])")
_WEIGHT = re.compile(
    r"(?<![0-9.])([0-9]{2,4}(?:\.[0-9]+)?)\s*[,;\t ]\s*(lbs?|kgs?)\b", re.IGNORECASE
)
_HEADER = re.compile(r"(?i)\b(?:rfid|eid|tag|id|date|time|weight|vid)\b")


@dataclass(frozen=True, slots=True)
class Read:
    """One animal read, on the reader's own clock; `n` reads were merged, the last at `last`."""

    row: int
    rfid: str
    at: datetime | None
    last: datetime | None
    n: int = 1
    weight_kg: float | None = None


@dataclass(frozen=True, slots=True)
class ReaderFile:
    """What a reader's file held.

    `reads` are merged, in order; `repeated` counts reads merged away; `n_lines` lines with
    something in them.
    """

    place: str
    reads: tuple[Read, ...]
    problems: tuple[Problem, ...]
    repeated: int = 0
    n_lines: int = 0


@dataclass(slots=True)
class _Line:
    row: int
    rfid: str
    clock: time | None
    day: date | None
    parts: tuple[int, str, int, int] | None = None  # first, mark, second, year
    weight_kg: float | None = None


@dataclass(slots=True)
class _Gathered:
    lines: list[_Line] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    n: int = 0


def read_reader_file(data: bytes, name: str, *, date_order: str | None = None) -> ReaderFile:
    """Read whatever a reader or scale wrote.

    Parameters
    ----------
    data : bytes
        Text of any shape with one read a line, or a workbook with one a row.
    name : str
    date_order : str, optional
        "mdy" or "dmy", where the file does not settle it.

    Returns
    -------
    ReaderFile
        Never raises for what a file may hold. A line with two codes, or a damaged one, is reported
        and not taken: nothing is guessed between two animals.
    """
    try:
        texts = _texts(data, name)
    except NotATableError as fault:
        return ReaderFile(name, (), (fault.to_problem(name),))
    got = _Gathered()
    for row, text in texts:
        if text.strip(' \t,;\x02\x03"'):
            _take_line(got, name, row, text)
    order = date_order if date_order in {"mdy", "dmy"} else _settle(got.lines)
    unclear = [line for line in got.lines if line.parts is not None and order is None]
    if unclear:
        shown = "{0}{1}{2}{1}{3}".format(*unclear[0].parts) if unclear[0].parts else ""
        got.problems.append(
            Problem(
                where=f"{name} row {unclear[0].row}",
                what=f"{len(unclear)} dates like {shown} do not tell which is the day.",
                fix="Say --dates mdy or --dates dmy for the whole file.",
                row=unclear[0].row,
            )
        )
        return ReaderFile(name, (), tuple(got.problems), n_lines=got.n)
    if not got.lines and not got.problems:
        got.problems.append(
            Problem(where=name, what="No RFID was found.", fix="Give the reader's own file.")
        )
    reads, repeated = merge_reads(_dated(got, name, order))
    return ReaderFile(name, reads, tuple(got.problems), repeated=repeated, n_lines=got.n)


def _texts(data: bytes, name: str) -> list[tuple[int, str]]:
    """The lines of a file; a workbook's rows as lines."""
    if data.startswith(b"PK"):
        sheet = open_table(data, name, score=len)
        return [(number, ", ".join(cells)) for number, cells in sheet.rows()]
    if not data.strip():
        raise NotATableError("The file is empty.", "Give the reader's own file.")
    if len(data) > MOST_BYTES:
        raise NotATableError(
            f"The file is {len(data) / 1e6:,.0f} MB, more than we open.", "Give one day's reads."
        )
    text, _ = decode(data)
    return list(enumerate(re.split(r"\r\n|\n|\r", text), start=1))


def _take_line(got: _Gathered, name: str, row: int, text: str) -> None:
    got.n += 1
    if len(text) > _LONGEST_LINE:
        _say(got, (name, row), text, "The line is far too long for a read.", "Leave it out.")
        return
    found = read_rfid(text)
    if isinstance(found, Fault):
        found = _from_cells(text) or found
    if isinstance(found, Fault):
        if _HEADER.search(text) and not re.search(r"[0-9]{6}", text):
            return  # a header
        what = found.what[0].upper() + found.what[1:]
        _say(got, (name, row), text, what, found.fix)
        return
    rest = _without_code(text)
    clock = _CLOCK.search(rest)
    when = read_clock_cell(clock[1]) if clock else None
    line = _Line(row, found, when if isinstance(when, time) else None, None)
    iso, numeric = _ISO.search(rest), _DAY.search(rest)
    if iso:
        line.day = _make_day(int(iso[1]), int(iso[2]), int(iso[3]))
    elif numeric:
        year = int(numeric[4]) + (2000 if len(numeric[4]) == 2 else 0)
        line.parts = (int(numeric[1]), numeric[2], int(numeric[3]), year)
    weight = _WEIGHT.search(rest)
    if weight and float(weight[1]):
        line.weight_kg = kg_from(float(weight[1]), "kg" if weight[2][0] in "kK" else "lb")
    got.lines.append(line)


def _from_cells(text: str) -> str | None:
    """Find the one code among the cells of a line; None where there is none, or two differ."""
    codes = set()
    for cell in re.split(r"[,;\t|]", text):
        found = read_rfid(cell) if len(re.sub("[^0-9]", "", cell)) >= 15 else None
        if isinstance(found, str):
            codes.add(found)
    return codes.pop() if len(codes) == 1 else None


def _without_code(text: str) -> str:
    """The line without its code, so that the code's digits are no date or weight."""
    plain = re.sub(r"[0-9A-Fa-f]{3}\.[0-9A-Fa-f]{10}", " ", text)
    return re.sub(r"(?<![0-9:/])0?[0-9]{3}[ .\-_]?[0-9]{12}(?![0-9])", " ", plain)


def _settle(lines: list[_Line]) -> str | None:
    """Find the order of day and month that every date of the file allows; None if both do."""
    parts = [line.parts for line in lines if line.parts is not None]
    day_first = any(one[0] > 12 for one in parts)
    month_first = any(one[2] > 12 for one in parts)
    if day_first == month_first:
        return None
    return "dmy" if day_first else "mdy"


def _dated(got: _Gathered, name: str, order: str | None) -> list[Read]:
    reads = []
    for line in got.lines:
        day = line.day
        if line.parts is not None:
            first, _, second, year = line.parts
            day = _make_day(year, *((first, second) if order == "mdy" else (second, first)))
            if day is None:
                _say(got, (name, line.row), "", "The date of this line does not exist.", "Look.")
        clock = line.clock
        at = datetime.combine(day, clock) if day is not None and clock is not None else None
        reads.append(Read(line.row, line.rfid, at, at, weight_kg=line.weight_kg))
    return reads


def _make_day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def merge_reads(reads: list[Read]) -> tuple[tuple[Read, ...], int]:
    """Merge reads of one animal that follow within 3 s, or have no time at all.

    Returns
    -------
    tuple of Read, int
        In the order given; how many were merged away.
    """
    out: list[Read] = []
    last: dict[str, int] = {}
    for one in reads:
        place = last.get(one.rfid)
        if place is not None:
            before = out[place]
            timeless = before.last is None or one.at is None
            near = timeless or abs(one.at - before.last) <= timedelta(seconds=SAME_READ_S)  # type: ignore[operator]
            same_weight = one.weight_kg in {None, before.weight_kg}
            if near and (same_weight or before.weight_kg is None):
                out[place] = Read(
                    before.row,
                    one.rfid,
                    before.at or one.at,
                    one.at or before.last,
                    n=before.n + 1,
                    weight_kg=before.weight_kg if before.weight_kg is not None else one.weight_kg,
                )
                continue
        last[one.rfid] = len(out)
        out.append(one)
    return tuple(out), len(reads) - len(out)


def _say(got: _Gathered, place: tuple[str, int], text: str, what: str, fix: str) -> None:
    name, row = place
    got.problems.append(
        Problem(
            where=f"{name} row {row}",
            what=what,
            fix=fix,
            severity=Severity.ERROR,
            row=row,
            value=text.strip()[:80] or None,
        )
    )

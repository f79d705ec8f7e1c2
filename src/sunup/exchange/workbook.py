"""XLSX workbooks as rows of text cells.

The reader underneath gives an error cell (#N/A) and a formula saved without its result as blank. A
blank "bull in" means never exposed, so both are looked up in the sheet's own XML and put back as
words that no column accepts. A value in merged cells holds for all the rows it is merged over.
"""

from __future__ import annotations

import html
import io
import posixpath
import re
import struct
import zipfile
import zlib
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from python_calamine import CalamineError, CalamineWorkbook, SheetVisibleEnum

from sunup.exchange.sheets import NOT_CALCULATED, NotATableError, Row, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_BYTES_UNPACKED = 1_500_000_000  # a workbook that unpacks to more is damaged or hostile
MOST_CELLS = 20_000_000  # rows times columns from the corner to the farthest cell
_CHUNK = 1 << 20
_BROKEN = (
    CalamineError,
    EOFError,
    KeyError,
    OSError,
    RuntimeError,
    ValueError,
    struct.error,
    zipfile.BadZipFile,
    zlib.error,
)
_LETTERS = re.compile(rb"r=\"([A-Z]+)[0-9]")  # these three are plain: there are millions of cells
_ROW = re.compile(rb"row r=\"([0-9]+)")
_FAR_ROW = re.compile(rb"r=\"[A-Z]*([0-9]{6,})")
_FAR_ROW_FROM = 100_000
_REFERENCE = re.compile(rb"\br\s*=\s*[\"']\s*([A-Za-z]*)([0-9]+)")
_ODD_STYLE = re.compile(rb"\sr(?:\s|=[^\"]|=\"[^A-Z0-9])")
_LONGEST_ROW = 64_000_000  # bytes of XML
_SHEET = re.compile(rb"<(?:\w+:)?sheet\s([^>]*)>")
_RELATION = re.compile(rb"<(?:\w+:)?Relationship\s([^>]*)>")
_ATTRIBUTE = re.compile(rb"([\w:]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
_CELL = re.compile(rb"<(?:\w+:)?c(?:\s([^>]*?))?(?:/>|>(.*?)</(?:\w+:)?c>)", re.DOTALL)
_VALUE = re.compile(rb"<(?:\w+:)?v(?:\s[^>/]*)?(?:/>|>([^<]*)</)")
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]")
_PLACE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")


def open_workbook(data: bytes) -> list[Sheet]:
    """Open the visible sheets of an XLSX workbook.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    list of Sheet
        In the workbook's order.

    Raises
    ------
    NotATableError
        If the bytes are not a workbook we read.
    """
    archive = _archive(data)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        seen = [(meta.name, meta.visible) for meta in book.sheets_metadata]
        sheets = [
            _sheet(book, archive, title)
            for title, visible in seen
            if visible == SheetVisibleEnum.Visible
        ]
    except _BROKEN as fault:
        raise _damaged() from fault
    return sheets


def _archive(data: bytes) -> zipfile.ZipFile:
    """Open the zip and see that it is an XLSX of bearable size."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        names = set(archive.namelist())
        unpacked = sum(entry.file_size for entry in archive.infolist())
    except _BROKEN as fault:
        raise _damaged() from fault
    if "xl/workbook.xml" not in names:
        raise NotATableError(
            "The file is packed, but it is not an XLSX workbook.",
            "Unpack it, or save the list as XLSX or CSV.",
        )
    if unpacked > MOST_BYTES_UNPACKED:
        raise NotATableError(
            f"The workbook unpacks to {unpacked / 1e6:,.0f} MB, more than we open.",
            "Save only the herd's sheet as CSV and give that file.",
        )
    return archive


def _damaged() -> NotATableError:
    return NotATableError(
        "The workbook is damaged or not an XLSX file inside.",
        "Open it in a spreadsheet and save it again as XLSX or CSV.",
    )


def _sheet(book: CalamineWorkbook, archive: zipfile.ZipFile, title: str) -> Sheet:
    kept: list[Row] = []

    def rows() -> Iterator[Row]:
        if not kept:
            kept.extend(_rows(book, archive, title))
        return iter(kept)

    return Sheet(name=title, rows=rows)


def _rows(book: CalamineWorkbook, archive: zipfile.ZipFile, title: str) -> Iterator[Row]:
    """Read a sheet; equal texts share one object, or a large herd would fill the memory."""
    same: dict[str, str] = {}
    try:
        patches = _patches(archive, title)
        sheet = book.get_sheet_by_name(title)
        merged = _merged_below(sheet.merged_cell_ranges or [])
        cells_of: dict[int, dict[int, str]] = {}
        for (at, column), word in patches.items():
            cells_of.setdefault(at, {})[column] = word
        above: dict[tuple[int, int], str] = {}
        for index, raw in enumerate(sheet.iter_rows()):
            texts = [value if type(value) is str else cell_text(value) for value in raw]
            row = [same.setdefault(text, text) for text in texts]
            for column, word in cells_of.get(index, {}).items():
                row.extend([""] * (column + 1 - len(row)))
                row[column] = row[column] or word
            for start, column in merged.get(index, ()):
                if column < len(row):
                    if start == index:
                        above[start, column] = row[column]
                    elif not row[column]:
                        row[column] = above.get((start, column), "")
            yield index + 1, row
    except _BROKEN as fault:
        raise _damaged() from fault


def cell_text(value: Any) -> str:
    """Say a typed cell as text: 412.0 is "412", a date is ISO, a truth value TRUE or FALSE.

    Examples
    --------
    >>> cell_text(840003123456789.0), cell_text(5.5), cell_text(datetime(2027, 3, 4))
    ('840003123456789', '5.5', '2027-03-04')
    """
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e17 else repr(value)
    if isinstance(value, datetime):
        midnight = not (value.hour or value.minute or value.second)
        return value.date().isoformat() if midnight else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    return "" if value is None else str(value)


def _merged_below(
    ranges: list[tuple[tuple[int, int], tuple[int, int]]],
) -> dict[int, list[tuple[int, int]]]:
    """For each row: which columns take the value of a merged cell that starts at which row."""
    below: dict[int, list[tuple[int, int]]] = {}
    for (top, left), (bottom, _) in ranges:
        if bottom - top > 100_000:
            continue
        for row in range(top, bottom + 1):
            below.setdefault(row, []).append((top, left))
    return below


def _patches(archive: zipfile.ZipFile, title: str) -> dict[tuple[int, int], str]:
    """Find the cells the reader gives as blank though something stands there.

    Also refuses a sheet with a cell so far off that the reader underneath, which lays out every
    cell from the corner to the farthest, would fill the memory.
    """
    path = _sheet_path(archive, title)
    if path is None:
        raise _damaged()
    found: dict[tuple[int, int], str] = {}
    letters: set[bytes] = set()
    last_row, is_odd = 0, False
    for xml in _pieces(archive, path):
        _scan(xml, found)
        is_odd = is_odd or _ODD_STYLE.search(xml) is not None
        letters.update(_LETTERS.findall(xml))
        rows = {*_ROW.findall(xml), *_FAR_ROW.findall(xml)}
        last_row = max(last_row, *map(int, rows), 0)
    widest = _widest(letters)
    if is_odd or widest * max(last_row, _FAR_ROW_FROM) > MOST_CELLS:
        for xml in _pieces(archive, path):  # near the limit, or oddly written: every cell counts
            places = _REFERENCE.findall(xml)
            letters.update(name for name, _ in places)
            last_row = max(last_row, *(int(number) for _, number in places), 0)
        widest = _widest(letters)
    if widest * last_row > MOST_CELLS:
        raise NotATableError(
            f"The sheet '{title}' reaches to row {last_row:,} and column {widest:,}.",
            "Delete the stray cells far from the list, or save the list as CSV.",
        )
    return found


def _pieces(archive: zipfile.ZipFile, path: str) -> Iterator[bytes]:
    """Read a sheet's XML in pieces that end with a row."""
    with archive.open(path) as stream:
        rest = b""
        while chunk := stream.read(_CHUNK):
            rest += chunk
            cut = rest.rfind(b"row>") + 4
            if cut > 3:
                yield rest[:cut]
                rest = rest[cut:]
            elif len(rest) > _LONGEST_ROW:
                raise _damaged()
        yield rest


def _widest(letters: set[bytes]) -> int:
    return max((_column_index(name.decode().upper()) + 1 for name in letters), default=0)


def _scan(xml: bytes, found: dict[tuple[int, int], str]) -> None:
    """Collect error cells and formulas without result from a piece of a sheet's XML."""
    if b't="e"' not in xml and b"t='e'" not in xml and b"<f" not in xml and b":f" not in xml:
        return
    for match in _CELL.finditer(xml):
        attributes = _attributes(match[1] or b"")
        body = match[2] or b""
        value = _VALUE.search(body)
        if attributes.get("t") == "e":
            word = (value[1] or b"").decode("utf-8", "replace") if value else ""
            word = word or "#VALUE!"
        elif _FORMULA.search(body) and not (value and (value[1] or attributes.get("t") == "str")):
            word = NOT_CALCULATED
        else:
            continue
        place = _PLACE.fullmatch(attributes.get("r", ""))
        if place is None:
            raise NotATableError(
                "The workbook holds error cells or formulas without results that we cannot place.",
                "Open it in a spreadsheet, save it again, and give that file.",
            )
        found[int(place[2]) - 1, _column_index(place[1])] = word


def _column_index(letters: str) -> int:
    index = 0
    for letter in letters:
        index = index * 26 + ord(letter) - 64
    return index - 1


def _attributes(text: bytes) -> dict[str, str]:
    return {
        match[1].decode("ascii", "replace"): html.unescape(
            (match[2] if match[2] is not None else match[3]).decode("utf-8", "replace")
        )
        for match in _ATTRIBUTE.finditer(text)
    }


def _sheet_path(archive: zipfile.ZipFile, title: str) -> str | None:
    """Find where in the archive a sheet of this name lies."""
    try:
        targets = {
            found.get("Id"): found.get("Target", "")
            for match in _RELATION.finditer(archive.read("xl/_rels/workbook.xml.rels"))
            for found in [_attributes(match[1])]
        }
        for match in _SHEET.finditer(archive.read("xl/workbook.xml")):
            sheet = _attributes(match[1])
            if sheet.get("name") == title:
                key = next((sheet[name] for name in sheet if name.endswith(":id")), None)
                target = targets.get(key, "")
                path = target[1:] if target.startswith("/") else posixpath.join("xl", target)
                return posixpath.normpath(path) if target else None
    except KeyError:
        return None
    return None

"""Text tables: which letters, which separator, which rows.

A quotation mark that is never closed makes an ordinary reader swallow the rest of the herd into one
cell. Here such a row is reported and the reading starts again on the next line.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity
from sunup.exchange.sheets import NotATableError, Row, Sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SEPARATORS = (",", ";", "\t", "|")
LONGEST_CELL = 32_767  # characters; what a cell of the usual spreadsheets can hold
_PEEK_ROWS = 60
_UTF16_SHARE = 0.3  # share of zero bytes on one side that gives UTF-16 without a mark away


def decode(data: bytes) -> tuple[str, str]:
    """Turn bytes into text.

    Byte order marks first, then UTF-8, then Windows western (cp1252) as the last resort.

    Returns
    -------
    tuple of str
        The text and the name of the encoding.

    Raises
    ------
    NotATableError
        If the bytes are no text at all.
    """
    if data.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        raise NotATableError(
            "The file is text in UTF-32, which we do not read.", "Save it as CSV UTF-8."
        )
    if data.startswith(b"\xef\xbb\xbf"):
        return data[3:].decode("utf-8", errors="replace"), "utf-8"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), "utf-16"
    head = data[:4096]
    half = max(len(head) // 2, 1)
    if head[1::2].count(0) / half > _UTF16_SHARE and not head[::2].count(0):
        return data.decode("utf-16-le", errors="replace"), "utf-16"
    if head[::2].count(0) / half > _UTF16_SHARE and not head[1::2].count(0):
        return data.decode("utf-16-be", errors="replace"), "utf-16"
    if b"\x00" in head:
        raise NotATableError(
            "The file is not text: it holds bytes no table has.",
            "Save the list as CSV or XLSX and give that file.",
        )
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace"), "cp1252"


def open_delimited(data: bytes, name: str, *, score: Callable[[list[Row]], int]) -> Sheet:
    """Open a text table with the separator that makes most sense of its header.

    Parameters
    ----------
    data : bytes
    name : str
        The file's name, for problems.
    score : callable
        Tells how many headers it knows among the first rows.

    Returns
    -------
    Sheet

    Raises
    ------
    NotATableError
        If the bytes are not text.
    """
    text, encoding = decode(data)
    named = None
    if text[:4].casefold() == "sep=" and len(text) > 5 and text[5] in "\r\n":
        named = text[4]  # a line some spreadsheets write for themselves and never show
        text = text[5:].removeprefix("\r").removeprefix("\n")
    problems: list[Problem] = []
    if encoding == "cp1252":
        problems.append(
            Problem(
                where=name,
                what="The file is not UTF-8; its letters were read as Windows western text.",
                fix="If names look wrong, save it as CSV UTF-8.",
                severity=Severity.NOTICE,
            )
        )
    separator = named or _best_separator(text, score)

    def rows() -> Iterator[Row]:
        return _read_rows(text, separator, name, problems)

    return Sheet(name="", rows=rows, problems=problems, separator=separator)


def _best_separator(text: str, score: Callable[[list[Row]], int]) -> str:
    """Choose by headers known, then by how many cells a row has."""
    best, best_score = ",", (-1, -1)
    head = text[: 4 * LONGEST_CELL]
    for separator in SEPARATORS:
        peek: list[Row] = []
        for row in _read_rows(head, separator, "", []):
            peek.append(row)
            if len(peek) == _PEEK_ROWS:
                break
        found = (score(peek), sum(len(cells) for _, cells in peek))
        if found > best_score:
            best, best_score = separator, found
    return best


def _read_rows(text: str, separator: str, name: str, problems: list[Problem]) -> Iterator[Row]:
    """Yield rows; a row with an unclosed quotation mark is reported and left out."""
    lines = io.StringIO(text, newline="")
    number = 0
    while True:
        start = lines.tell()
        reader = csv.reader(_Remember(lines), delimiter=separator, strict=True)
        broken = False
        while not broken:
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error:
                broken = True
            else:
                number += 1
                yield number, cells
                start = lines.tell()
        number += 1
        lines.seek(start)
        line = lines.readline()
        loose = _loose(line, separator)
        if loose is not None:
            yield number, loose
            continue
        problems.append(
            Problem(
                where=f"{name} row {number}",
                what="The quotation marks of this row do not pair up, or a cell is far too long.",
                fix="Close or remove the quotation mark; the row was left out.",
                row=number,
                value=line.strip()[:80],
            )
        )


def _loose(line: str, separator: str) -> list[str] | None:
    """Read one line without strictness where its quotation marks pair up; else None."""
    if line.count('"') % 2:
        return None
    try:
        return next(csv.reader([line], delimiter=separator), [])
    except csv.Error:
        return None


class _Remember:
    """Hand lines to the csv reader by readline, which keeps the stream's place known."""

    def __init__(self, lines: io.StringIO) -> None:
        self._lines = lines

    def __iter__(self) -> _Remember:
        return self

    def __next__(self) -> str:
        line = self._lines.readline()
        if not line:
            raise StopIteration
        return line

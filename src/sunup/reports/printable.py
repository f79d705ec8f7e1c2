"""Which characters the packet's fonts can draw.

A name may hold anything; PDF/UA refuses a character without a glyph. What cannot be drawn is
printed as a question mark, and the packet says so.
"""

from __future__ import annotations

import struct
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Any

# the fallback of every text in the templates: the widest of the fonts we ship
_WIDEST = "SourceSans3-Regular.ttf"
_FORMAT_12_PLATFORMS = {(0, 4), (3, 10)}


class MissingTableError(RuntimeError):
    """A font we ship lacks the table of characters we read: the package is damaged."""

    def __init__(self, font: str) -> None:
        super().__init__(f"{font} has no character table of format 12")


def printable(value: Any) -> tuple[Any, int]:
    """Return plain values with what cannot be drawn replaced, and how many characters that was.

    Parameters
    ----------
    value : str, number, list, tuple, dict or None
        As it goes to the templates; keys of a dict are left alone.

    Returns
    -------
    tuple of (value, int)
    """
    if isinstance(value, str):
        return _printable_text(value)
    if isinstance(value, dict):
        pairs = {key: printable(item) for key, item in value.items()}
        return {k: v for k, (v, _) in pairs.items()}, sum(n for _, n in pairs.values())
    if isinstance(value, list | tuple):
        items = [printable(item) for item in value]
        return [item for item, _ in items], sum(n for _, n in items)
    return value, 0


def _printable_text(text: str) -> tuple[str, int]:
    known = drawn_characters()
    out, lost = [], 0
    for character in unicodedata.normalize("NFC", text):
        if character in {"\n", "\t", "\r"}:
            out.append(" ")
        elif ord(character) in known:
            out.append(character)
        else:
            out.append("?")
            lost += 1
    return "".join(out), lost


@cache
def drawn_characters() -> frozenset[int]:
    """Return the code points the widest font has a glyph for, from its ``cmap`` table."""
    font = (files("sunup.reports") / "fonts" / _WIDEST).read_bytes()
    (tables,) = struct.unpack_from(">H", font, 4)
    for i in range(tables):
        tag, _, offset, _ = struct.unpack_from(">4sIII", font, 12 + 16 * i)
        if tag == b"cmap":
            return _read_cmap(font, offset)
    raise MissingTableError(_WIDEST)


def _read_cmap(font: bytes, start: int) -> frozenset[int]:
    (n,) = struct.unpack_from(">H", font, start + 2)
    for i in range(n):
        platform, encoding, offset = struct.unpack_from(">HHI", font, start + 4 + 8 * i)
        if (platform, encoding) in _FORMAT_12_PLATFORMS:
            at = start + offset
            (groups,) = struct.unpack_from(">I", font, at + 12)
            found: set[int] = set()
            for g in range(groups):
                first, last, _ = struct.unpack_from(">III", font, at + 16 + 12 * g)
                found.update(range(first, last + 1))
            return frozenset(code for code in found if code >= 0x20)
    raise MissingTableError(_WIDEST)

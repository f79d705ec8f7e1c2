"""The text of one data file: parsed, with its faults put in words and the place of each."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sunup.library.toml_text import Reading

_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")
_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(
    r"""^\s*((?:"[^"]*"|'[^']*'|[\w-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[\w-]+))*)\s*="""
)
_DOUBLED = ("Cannot overwrite", "Cannot declare", "Duplicate", "Cannot redefine", "Cannot mutate")


def parse_toml(reading: Reading, text: str) -> dict[str, Any] | None:
    """Parse one file; None, with the problem noted, where it is not TOML.

    Parameters
    ----------
    reading : Reading
        Takes the problem: what is wrong with line and column, or which key stands twice.
    text : str
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        reading.report("", "lists stand inside lists too deep to read.", "Flatten them.")
    except ValueError as fault:  # TOMLDecodeError, and int() on thousands of digits
        _report_fault(reading, text, str(fault))
    return None


def _report_fault(reading: Reading, text: str, message: str) -> None:
    found = _PLACE.search(message)
    words = message[: found.start()] if found else message
    line = int(found[1]) if found and found[1] else text.count("\n") + 1
    if words.startswith(_DOUBLED):
        key, first, second = _find_doubled(text) or ("", 0, line)
        if key:
            reading.report(
                key,
                f"'{key}' stands twice, on lines {first} and {second}.",
                "Keep one of them and delete the other.",
            )
            return
        reading.report(
            f"line {line}",
            f"a key or table stands twice ({words}).",
            "Keep one of them and delete the other.",
        )
        return
    column = f", column {found[2]}" if found and found[2] else ""
    reading.report(
        f"line {line}{column}",
        f"this is not TOML: {words}.",
        'Look for a missing quote, bracket or comma; texts stand in quotes ("...").',
    )


def _find_doubled(text: str) -> tuple[str, int, int] | None:
    """Find the first key or table that stands twice: its dotted key and both lines."""
    seen: dict[str, int] = {}
    table = ""
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = header[2]
            if header[1] == "[[":
                counts[table] = counts.get(table, 0) + 1
                table = f"{table}[{counts[table]}]"
                continue
            key = table
        elif pair := _KEY.match(line):
            key = f"{table}.{pair[1]}" if table else pair[1]
        else:
            continue
        if key in seen:
            return key, seen[key], number
        seen[key] = number
    return None

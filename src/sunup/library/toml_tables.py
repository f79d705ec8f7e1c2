"""TOML text as tables whose every key is asked for by name, or reported.

A `Table` keeps one promise: each key that stands in the file was either read with its type checked
or is reported as unknown. A getter that finds something wrong reports it and returns a stand-in of
the right type; the caller drops the entry when `Reading.count` has grown.
"""

from __future__ import annotations

import math
import re
from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Any, TypeVar

from sunup.library.toml_text import listed, nearest, shown

if TYPE_CHECKING:
    from collections.abc import Collection

    from sunup.library.toml_text import Reading

LARGEST = 1e12  # [-] larger numbers are slips of the hand, and would overflow later
_MISSING = object()
_WordT = TypeVar("_WordT", bound=StrEnum)
_OtherT = TypeVar("_OtherT")


class Table:
    """One table of a file, read key by key.

    Parameters
    ----------
    reading : Reading
    values : dict
        As parsed.
    path : str
        Dotted key of this table in its file; "" for the file itself.
    """

    def __init__(self, reading: Reading, values: dict[str, Any], *, path: str) -> None:
        self.reading = reading
        self.path = path
        self._values = values
        self._asked: dict[str, None] = {}

    def at(self, key: str) -> str:
        """Return the dotted path of a key of this table."""
        return f"{self.path}.{key}" if self.path else key

    def has(self, key: str) -> bool:
        """Whether the key stands in the table."""
        return key in self._values

    def wrong(self, key: str, what: str, fix: str) -> None:
        """Report an error at one key of this table."""
        self.reading.report(self.at(key), what, fix)

    def raw(self, key: str) -> Any:
        """Return a value as parsed, or None; the key counts as asked for."""
        self._asked[key] = None
        return self._values.get(key)

    def finish(self) -> None:
        """Report every key that nobody asked for."""
        for key in self._values:
            if key not in self._asked:
                self.wrong(
                    key,
                    f"unknown key '{key}'.",
                    f"{nearest(key, self._asked)}Allowed here: {listed(self._asked)}.",
                )

    def _take(self, key: str, words: str, kinds: type | tuple[type, ...]) -> Any:
        """Take a value of the type named, or report and return the mark for missing."""
        self._asked[key] = None
        if key not in self._values:
            self.wrong(key, f"the key '{key}' is missing.", f"Add {key} = {words}.")
            return _MISSING
        value = self._values[key]
        is_misfit = isinstance(value, bool) and kinds is not bool
        if is_misfit or not isinstance(value, kinds):
            self.wrong(key, f"{shown(value)} was found.", f"Write {words}.")
            return _MISSING
        return value

    def text(self, key: str, words: str = "a text in quotes") -> str:
        """Read a text that may not be blank."""
        value = self._take(key, words, str)
        if value is _MISSING:
            return ""
        if not value.strip():
            self.wrong(key, "the text is empty.", f"Write {words}.")
        return str(value)

    def text_or(self, key: str, other: _OtherT) -> str | _OtherT:
        """Read a text that may be left out or blank."""
        self._asked[key] = None
        if key not in self._values:
            return other
        value = self._take(key, "a text in quotes", str)
        return other if value is _MISSING else str(value)

    def truth_or(self, key: str, other: _OtherT) -> bool | _OtherT:
        """Read true or false, which may be left out."""
        self._asked[key] = None
        if key not in self._values:
            return other
        value = self._take(key, "true or false, without quotes", bool)
        return other if value is _MISSING else bool(value)

    def number(self, key: str, *, low: float = -LARGEST, high: float = LARGEST) -> float:
        """Read a number between `low` and `high`, both allowed."""
        value = self._take(key, "a number, without quotes", (int, float))
        if value is _MISSING:
            return low
        if not self.check_number(key, value, low=low, high=high):
            return low
        return float(value)

    def number_or(
        self, key: str, other: _OtherT, *, low: float = -LARGEST, high: float = LARGEST
    ) -> float | _OtherT:
        """Read a number that may be left out."""
        self._asked[key] = None
        return self.number(key, low=low, high=high) if key in self._values else other

    def whole(self, key: str, *, low: int = 0, high: int = 10**9) -> int:
        """Read a whole number between `low` and `high`, both allowed."""
        value = self._take(key, "a whole number, without quotes", int)
        if value is _MISSING or not self.check_number(key, value, low=low, high=high):
            return low
        return int(value)

    def whole_or(
        self, key: str, other: _OtherT, *, low: int = 0, high: int = 10**9
    ) -> int | _OtherT:
        """Read a whole number that may be left out."""
        self._asked[key] = None
        return self.whole(key, low=low, high=high) if key in self._values else other

    def check_number(self, key: str, value: float, *, low: float, high: float) -> bool:
        """Report a number that is out of range or no number at all."""
        if isinstance(value, float) and not math.isfinite(value):
            self.wrong(key, f"{value} is no number.", "Write a plain number.")
            return False
        if low <= value <= high:
            return True
        if high >= 10**9:
            allowed = f"{low:g} or more" if low > -LARGEST else f"at most {high:g}"
        else:
            allowed = f"from {low:g} to {high:g}"
        self.wrong(key, f"{shown(value)} is out of range.", f"Allowed: {allowed}.")
        return False

    def span_or_none(self, key: str, *, low: float = 0.0) -> tuple[float, float] | None:
        """Read [low, high], or None where it is left out."""
        numbers = self.numbers_or_empty(key, low=low)
        if not numbers:
            if self.has(key) and self._values[key] == []:
                self.wrong(key, "the list is empty.", "Write [low, high], or leave the key out.")
            return None
        if len(numbers) != 2 or numbers[0] > numbers[1]:
            self.wrong(key, f"{list(numbers)} is no range.", "Write [low, high], the lower first.")
            return None
        return numbers[0], numbers[1]

    def numbers_or_empty(self, key: str, *, low: float = 0.0) -> tuple[float, ...]:
        """Read a list of numbers that may be left out."""
        self._asked[key] = None
        if key not in self._values:
            return ()
        value = self._take(key, "a list of numbers", list)
        if value is _MISSING:
            return ()
        for item in value:
            if isinstance(item, bool) or not isinstance(item, int | float):
                self.wrong(key, f"{shown(item)} stands in the list.", "Write numbers only.")
                return ()
            if not self.check_number(key, item, low=low, high=LARGEST):
                return ()
        return tuple(float(item) for item in value)

    def texts(self, key: str, *, may_be_empty: bool = False) -> tuple[str, ...]:
        """Read a list of texts; a blank or doubled one is an error."""
        value = self._take(key, 'a list of texts, such as ["..."]', list)
        if value is _MISSING:
            return ()
        if not value and not may_be_empty:
            self.wrong(key, "the list is empty.", "Write at least one text.")
        for item in value:
            if not isinstance(item, str) or not item.strip():
                self.wrong(key, f"{shown(item)} stands in the list.", "Write texts in quotes.")
                return ()
        for item in sorted({item for item in value if value.count(item) > 1}):
            self.wrong(key, f"'{item}' stands twice in the list.", "Delete one of them.")
        return tuple(value)

    def texts_or_empty(self, key: str) -> tuple[str, ...]:
        """Read a list of texts that may be left out or empty."""
        self._asked[key] = None
        return self.texts(key, may_be_empty=True) if key in self._values else ()

    def one_of(self, key: str, allowed: Collection[str]) -> str:
        """Read one word of a list."""
        value = self.text(key, f"one of: {listed(allowed)}")
        self._check_word(key, value, allowed)
        return value

    def one_of_or(self, key: str, other: _OtherT, allowed: Collection[str]) -> str | _OtherT:
        """Read one word of a list, or its absence."""
        self._asked[key] = None
        return self.one_of(key, allowed) if key in self._values else other

    def some_of(
        self, key: str, allowed: Collection[str], *, may_be_empty: bool = False
    ) -> tuple[str, ...]:
        """Read a list of words of a list."""
        values = self.texts(key, may_be_empty=may_be_empty)
        for value in values:
            self._check_word(key, value, allowed)
        return values

    def word(self, key: str, words: type[_WordT]) -> _WordT:
        """Read a word of an enumeration; on error a stand-in, since the entry is dropped."""
        value = self.one_of(key, [str(member) for member in words])
        for member in words:
            if member == value:
                return member
        return next(iter(words))

    def _check_word(self, key: str, value: str, allowed: Collection[str]) -> None:
        if value.strip() and value not in allowed:
            self.wrong(
                key,
                f"unknown word '{value}'.",
                f"{nearest(value, allowed)}Allowed: {listed(allowed)}.",
            )

    def day(self, key: str) -> date:
        """Read a date."""
        value = self._take(key, "a date such as 2026-11-25, without quotes", date)
        if value is _MISSING:
            return date.min
        if isinstance(value, datetime):
            self.wrong(key, f"{shown(value)} was found.", "Write a date without a time of day.")
            return date.min
        return date(value.year, value.month, value.day)

    def sources(self, key: str = "source") -> tuple[str, ...]:
        """Read the keys of the sources something rests on; each must be listed."""
        values = self.texts(key)
        known = self.reading.known_sources
        self.reading.used_sources.update(values)
        for value in values:
            if known is not None and value not in known:
                self.wrong(
                    key,
                    f"the source '{value}' is not listed.",
                    f"{nearest(value, known)}Add [{value}] to sources.toml or correct the key.",
                )
        return values

    def subtables(self, key: str) -> list[Table]:
        """Read a list of tables that may be left out; paths count from 1."""
        self._asked[key] = None
        if key not in self._values:
            return []
        value = self._take(key, f"tables under [[{key}]]", list)
        if value is _MISSING:
            return []
        tables = []
        for number, item in enumerate(value, start=1):
            path = f"{key}[{number}]"
            if isinstance(item, dict):
                named = item.get("id", item.get("key"))
                if isinstance(named, str) and named.strip():
                    path = f"{key}.{named}"
                tables.append(Table(self.reading, item, path=self.at(path)))
            else:
                self.wrong(path, f"{shown(item)} was found.", "Write a table: { ... }.")
        return tables

    def subtable(self, key: str) -> Table | None:
        """Read one table; None, with the problem noted, where it is missing."""
        value = self._take(key, f"a table under [{self.at(key)}]", dict)
        return None if value is _MISSING else Table(self.reading, value, path=self.at(key))

    @property
    def names(self) -> list[str]:
        """The keys that stand in the table, in file order."""
        return list(self._values)


def entries(reading: Reading, values: dict[str, Any]) -> list[tuple[str, Table]]:
    """Split a file into its named tables; anything else at the top is an error.

    Returns
    -------
    list of (key, Table)
        Keys are lower case with digits and underscores.
    """
    found = []
    for key, value in values.items():
        if not isinstance(value, dict):
            reading.report(
                key, f"{shown(value)} stands outside a table.", f"Write it under [{key}]."
            )
        elif not re.fullmatch(r"[a-z0-9_]+", key):
            reading.report(
                key, f"'{key}' is no key.", "Use lower-case letters, digits and underscores."
            )
        else:
            found.append((key, Table(reading, value, path=key)))
    return found

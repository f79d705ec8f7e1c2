"""Figures: numbers that carry their unit, source and kind wherever they go."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """Where a figure comes from."""

    PUBLISHED = "published"
    FITTED = "fitted"
    ASSUMED = "assumed"


class Seen(StrEnum):
    """How the published text behind a figure was seen; the mark follows the figure everywhere."""

    READ = "read"
    PART_READ = "part_read"  # an abstract, an opening or one passage was read
    OLDER_EDITION = "older_edition"
    SECOND_HAND = "second_hand"  # another's account of the text
    MEMORY = "memory"  # from memory of the literature or of common practice; not seen


@dataclass(frozen=True, slots=True)
class Source:
    """One thing a figure may rest on: who, when, what."""

    key: str
    author: str
    year: str
    title: str
    seen: Seen

    def __str__(self) -> str:
        dated = f" {self.year}" if self.year.strip("-") else ""
        return f"{self.author}{dated}. {self.title}"


@dataclass(frozen=True, slots=True)
class Figure:
    """A value with unit, kind and sources.

    `key` is the dotted path that ``sunup explain`` takes; `yours` is true when a ranch's overlay
    replaced the shipped value, which is then kept in `shipped`.
    """

    key: str
    value: float | int | str | bool | tuple[float, ...] | tuple[str, ...]
    unit: str
    kind: Kind
    seen: Seen
    source: tuple[str, ...]
    applies: str = ""
    note: str = ""
    where: str = ""
    as_of: str = ""
    sd: float | None = None
    example: bool = False
    yours: bool = False
    shipped: float | int | str | bool | tuple[float, ...] | tuple[str, ...] | None = None

    @property
    def number(self) -> float:
        """The value as a float; a TypeError for a list, text or truth value."""
        if isinstance(self.value, bool) or not isinstance(self.value, int | float):
            message = f"{self.key} is not a single number"
            raise TypeError(message)
        return float(self.value)

    @property
    def span(self) -> tuple[float, float]:
        """The value as (low, high); a single number stands for both."""
        if isinstance(self.value, tuple) and len(self.value) == 2:
            low, high = self.value
            return float(low), float(high)
        return self.number, self.number

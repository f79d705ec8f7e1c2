"""Everything the data files say, typed and checked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.base.figures import Figure, Seen, Source
    from sunup.library.active import Active
    from sunup.library.region import RegionPack
    from sunup.protocols.protocol import Protocol


@dataclass(frozen=True, slots=True)
class ScoreLevel:
    """One level of a score: what is felt or seen, with its figures in `facts` (name, text)."""

    score: float
    name: str
    text: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Score:
    """A scoring scale of the trade."""

    key: str
    name: str
    lowest: float
    highest: float
    step: float
    levels: tuple[ScoreLevel, ...]
    rules: tuple[str, ...]
    source: tuple[str, ...]
    seen: Seen


@dataclass(frozen=True, slots=True)
class RunUpEntry:
    """Something to be done before the season: days before the first AI (larger is earlier)."""

    key: str
    from_days: int
    to_days: int
    for_: str  # all | cows | heifers | melengestrol (where a plan feeds it)
    text: str
    why: str
    source: tuple[str, ...]
    seen: Seen


@dataclass(frozen=True, slots=True)
class OptionEntry:
    """An option of a plan: a published change to a protocol."""

    key: str
    name: str
    changes: str
    classes: tuple[str, ...]
    source: tuple[str, ...]
    seen: Seen


@dataclass(frozen=True, slots=True)
class Breed:
    """A breed with its other names and gestation figure key."""

    key: str
    name: str
    aliases: tuple[str, ...]
    cattle: str  # taurus | indicus | cross
    gestation: str  # key of a figure, e.g. gestation.angus


@dataclass(frozen=True, slots=True)
class Library:
    """The whole library.

    `version` is a hash of the texts it was built from, so that a plan file can say which library
    it was made with.
    """

    version: str
    sources: Mapping[str, Source]
    figures: Mapping[str, Figure]
    actives: Mapping[str, Active]
    regions: Mapping[str, RegionPack]
    protocols: Mapping[str, Protocol]
    options: Mapping[str, OptionEntry]
    scores: Mapping[str, Score]
    breeds: Mapping[str, Breed]
    run_up: tuple[RunUpEntry, ...]

    def figure(self, key: str) -> Figure:
        """Return a figure by its dotted key; KeyError if there is none."""
        return self.figures[key]

    def number(self, key: str) -> float:
        """Return the single number of a figure."""
        return self.figures[key].number

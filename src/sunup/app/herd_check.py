"""Use-case: what does a herd file hold, and what is wrong with it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.app.open import open_library, read_bytes
from sunup.app.plan_season import find_today
from sunup.exchange.herd_file import HerdFile, HerdReading, read_herd
from sunup.exchange.list_date import find_list_date
from sunup.exchange.plausible import Limits

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

_FACTS = (
    "rfid",
    "breed_shares",
    "born_on",
    "calved_on",
    "calving_ease",
    "condition",
    "weight_kg",
    "mature_weight_kg",
    "tract_score",
    "pelvic_area_cm2",
    "cycling",
    "exposure",
    "pregnancy",
    "hold_reason",
)


@dataclass(frozen=True, slots=True)
class HerdCheck:
    """A herd file read, with what is known for how many."""

    herd: HerdFile
    as_of: date
    groups: tuple[tuple[str, int], ...]
    known: tuple[tuple[str, int], ...]


def check_herd(
    herd_file: Path,
    *,
    reading: HerdReading,
    as_of: date | None = None,
    overlay: Path | None = None,
) -> HerdCheck:
    """Read a herd file; nothing is kept.

    Raises
    ------
    FileError
        If the file cannot be read at all.
    """
    data = read_bytes(herd_file)
    on = as_of or find_list_date(data, herd_file.name, sheet=reading.sheet) or find_today()
    library, problems = open_library(overlay)
    herd = read_herd(data, herd_file.name, on=on, limits=Limits.of(library), reading=reading)
    herd = replace(herd, problems=(*problems, *herd.problems))
    groups = Counter(f.group for f in herd.females)
    known = tuple(
        (name.replace("_", " "), count)
        for name in _FACTS
        if (count := sum(getattr(f, name) not in {None, ()} for f in herd.females))
    )
    return HerdCheck(herd, on, tuple(groups.items()), known)

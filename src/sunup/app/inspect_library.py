"""Use-cases for looking at the library: is it sound, what is in it, where a number comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.app.open import open_library
from sunup.app.plan_season import find_today
from sunup.base.problems import Problem, Severity, UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from sunup.library import Library
    from sunup.protocols.protocol import Protocol


class UnknownThingError(UsageError):
    """Something was asked to be explained that is not in the library."""


@dataclass(frozen=True, slots=True)
class Soundness:
    """What `sunup check` found."""

    library: Library
    problems: tuple[Problem, ...]


def check_library(overlay: Path | None = None) -> Soundness:
    """Check every shipped data file, the overlay, and the age of every rule pack."""
    library, problems = open_library(overlay)
    today = find_today()
    stale = [
        Problem(
            f"regions/{pack.key}.toml",
            f"last checked {pack.last_checked}, thought valid until {pack.valid_until}.",
            "Check law and labels again, then renew the dates.",
            Severity.WARNING,
        )
        for pack in library.regions.values()
        if pack.is_stale(today)
    ]
    return Soundness(library, (*problems, *stale))


def find_protocols(
    library: Library, *, class_: str | None = None, include_all: bool = False
) -> list[Protocol]:
    """Protocols to show: the recommended ones for a class, or all of them, in order."""
    from sunup.planning.fit import sort_key

    return [
        p
        for p in sorted(library.protocols.values(), key=sort_key)
        if (include_all or p.standing.value == "recommended")
        and (class_ is None or class_ in p.classes)
    ]

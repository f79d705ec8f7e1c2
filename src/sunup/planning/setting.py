"""What every group's planning needs: wishes, library, rule pack, clock, starts of a group."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.planning.clock_times import Clock
    from sunup.planning.readiness import ReadinessFigures
    from sunup.planning.request import Request

_START = ", start "


@dataclass(frozen=True, slots=True)
class Setting:
    """What every group's planning needs."""

    request: Request
    library: Library
    pack: RegionPack
    figures: ReadinessFigures
    holidays: Mapping[date, str]
    new_uid: Callable[[], str]
    clock: Clock


@dataclass(frozen=True, slots=True)
class Days:
    """Day of the first treatment and of the first insemination."""

    treatment_on: date
    ai_on: date


def base_name(group: str, request: Request) -> str:
    """The herd file's group of a start that was split off; any other group is its own."""
    base, found, number = group.rpartition(_START)
    return base if found and number.isdecimal() and base in request.splits else group


def start_name(group: str, number: int) -> str:
    """The name of one of several starts of a group."""
    return f"{group}{_START}{number}"


def days_later(group: str, request: Request) -> int:
    """Days by which a split-off start follows the first."""
    base = base_name(group, request)
    return 0 if base == group else int(group.removeprefix(base + _START)) - 1


def wanted_days(name: str, request: Request, *, lead: int | None) -> Days:
    """The days asked for, the other end counted by the protocol's lead (0 until one is chosen)."""
    gap = timedelta(days=lead or 0)
    shift = timedelta(days=days_later(name, request))
    if request.first_ai_on is not None:
        return Days(request.first_ai_on + shift - gap, request.first_ai_on + shift)
    start = (request.first_treatment_on or request.today) + shift
    return Days(start, start + gap)

"""How a forecast is to be made, and reading what was typed of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.base.problems import UsageError
from sunup.forecast.bulls import Bulls

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

DEFAULT_SEED = 1
DEFAULT_REPLICATES = 500
BULLS_ALONE = "bulls_alone"
LATE_H = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PastSeason:
    """What a group did in a past season: its protocol, and how many were pregnant of how many."""

    protocol: str
    pregnant: int
    inseminated: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a forecast is to be made.

    Parameters
    ----------
    seed, replicates : int
    share_late, late_h, share_missed : float
        What slips at the step the insemination is counted from.
    bulls_after_days : float, optional
        The library's figure if absent.
    season_days : float, optional
        By class from the library if absent.
    no_bulls : bool
    past : mapping of group to past results
        One for each season.
    against : mapping of group to protocol keys
        To be run beside what is chosen; "bulls_alone" stands for bulls alone, "KEY+KEY" for a
        protocol with a second AI after it.
    second : mapping of group to protocol key
        Second AI of those not pregnant, after what is chosen.
    bulls : mapping of group to Bulls
        Enough of them for every heat where a group has none here.
    """

    seed: int = DEFAULT_SEED
    replicates: int = DEFAULT_REPLICATES
    share_late: float = 0.0
    late_h: float = LATE_H
    share_missed: float = 0.0
    bulls_after_days: float | None = None
    season_days: float | None = None
    no_bulls: bool = False
    past: Mapping[str, tuple[PastSeason, ...]] = field(default_factory=dict)
    against: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    second: Mapping[str, str] = field(default_factory=dict)
    bulls: Mapping[str, Bulls] = field(default_factory=dict)


_PAST = re.compile(r"([a-z0-9_]+):([0-9]{1,6})/([0-9]{1,6})")


def read_past(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[PastSeason, ...]]:
    """Read past results typed as KEY:PREGNANT/INSEMINATED, by group.

    Raises
    ------
    UsageError
        If one is not of that form or counts more pregnant than inseminated.
    """
    found: dict[str, tuple[PastSeason, ...]] = {}
    for group, text in pairs:
        match = _PAST.fullmatch(text)
        if match is None or not 0 <= int(match[2]) <= int(match[3]) or int(match[3]) == 0:
            message = (
                f"--past {group}={text}: write it as GROUP=KEY:PREGNANT/INSEMINATED, such as "
                "cows=co_synch_insert7_cow:61/110."
            )
            raise UsageError(message)
        season = PastSeason(protocol=match[1], pregnant=int(match[2]), inseminated=int(match[3]))
        found[group] = (*found.get(group, ()), season)
    return found


def read_seconds(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Read one protocol key a group.

    Raises
    ------
    UsageError
        If a group is named twice.
    """
    found: dict[str, str] = {}
    for group, key in pairs:
        if group in found:
            message = f"--resynch names {group} twice; one second AI a group can be forecast."
            raise UsageError(message)
        found[group] = key
    return found


_BULLS = re.compile(r"([1-9][0-9]{0,3})(?::(yearling|mature))?")


def read_bulls(pairs: Iterable[tuple[str, str]]) -> dict[str, Bulls]:
    """Read bulls typed as N, N:yearling or N:mature, by group.

    Raises
    ------
    UsageError
        If one is not of that form or a group is named twice.
    """
    found: dict[str, Bulls] = {}
    for group, text in pairs:
        match = _BULLS.fullmatch(text)
        if match is None or group in found:
            message = (
                f"--bulls {group}={text}: write it once a group as GROUP=NUMBER, such as cows=3 or "
                "cows=3:yearling."
            )
            raise UsageError(message)
        found[group] = Bulls(number=int(match[1]), are_yearlings=match[2] == "yearling")
    return found


def check_wishes(
    *,
    no_bulls: bool,
    bulls: Mapping[str, Bulls],
    bulls_after: float | None,
    season_days: float | None,
    late: float,
    late_hours: float | None,
    missed: float,
) -> None:
    """Refuse wishes that contradict each other or say nothing.

    Raises
    ------
    UsageError
        If any do.
    """
    if late + missed > 1:
        message = "--late and --missed together are more than all."
        raise UsageError(message)
    if late_hours is not None and not late:
        message = "--late-hours says how late; say of what share too: --late 0.05."
        raise UsageError(message)
    if late_hours == 0:
        message = "--late-hours 0 is not late: give the hours, such as 12, or leave --late out."
        raise UsageError(message)
    if no_bulls and bulls:
        message = f"--no-bulls and --bulls {next(iter(bulls))}=... contradict; give one of them."
        raise UsageError(message)
    if no_bulls and bulls_after is not None:
        message = "--no-bulls and --bulls-after contradict; give one of them."
        raise UsageError(message)
    if bulls_after is not None and season_days is not None and bulls_after >= season_days:
        message = (
            f"--bulls-after {bulls_after:g} puts bulls in after the {season_days:g} days of the "
            "season; give fewer, or --no-bulls."
        )
        raise UsageError(message)


def read_keys(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    """Collect protocol keys by group, each once, in the order typed."""
    found: dict[str, tuple[str, ...]] = {}
    for group, key in pairs:
        found[group] = tuple(dict.fromkeys((*found.get(group, ()), key)))
    return found

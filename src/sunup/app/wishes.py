"""From words as typed (on a command line, in a form) to a request, over a former plan."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from sunup.app.open import read_bytes
from sunup.base.hours import read_clock
from sunup.base.problems import UsageError
from sunup.exchange.plan_file import read_plan_file
from sunup.planning.request import Request

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What was typed; None or empty where nothing was.

    `plain` holds settings that are taken as they are (zone, region, ranch, prescriber, chutes,
    max_passes, earlier_days). `events` are (kind, "[GROUP=]DATE").
    """

    plain: Mapping[str, Any] = field(default_factory=dict)
    first_ai: str | None = None
    first_treatment: str | None = None
    hours: str | None = None
    as_of: str | None = None
    watching: bool = True
    protocols: Pairs = ()
    options: Pairs = ()
    sires: Pairs = ()
    drugs: Pairs = ()
    splits: Pairs = ()
    watches: Pairs = ()
    technicians: Pairs = ()
    events: Pairs = ()


def read_pairs(texts: Iterable[str] | None, flag: str) -> Pairs:
    """Split NAME=VALUE texts.

    Raises
    ------
    UsageError
        If a text is not of that form; `flag` is named.
    """
    pairs: list[tuple[str, str]] = []
    for text in texts or ():
        key, _, value = text.partition("=")
        if not key.strip() or not value.strip():
            message = f"{flag} '{text}': write it as NAME=VALUE."
            raise UsageError(message)
        pairs.append((key.strip(), value.strip()))
    return tuple(pairs)


# Time zones are known from 1970 on; a year far ahead is a slip of the finger.
_FIRST_YEAR, _LAST_YEAR = 1970, 2199


def read_day(text: str, flag: str) -> date:
    """Read an ISO date.

    Raises
    ------
    UsageError
        If it is not one; `flag` is named.
    """
    try:
        day = date.fromisoformat(text)
    except ValueError:
        message = f"{flag} '{text}' is not a date. Write it as 2027-05-25."
        raise UsageError(message) from None
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        message = f"{flag} '{text}': the year must be from {_FIRST_YEAR} to {_LAST_YEAR}."
        raise UsageError(message)
    return day


def make_request(wishes: Wishes, *, today: date, former: Path | None = None) -> Request:
    """Make a request of what was typed.

    Parameters
    ----------
    wishes : Wishes
    today : date
        Used where no ``as_of`` is given.
    former : Path, optional
        A plan file whose settings hold wherever nothing was typed.

    Returns
    -------
    Request

    Raises
    ------
    UsageError
        If the day or the zone is missing, or something cannot be read.
    """
    settings: dict[str, Any] = {"region": "US", "ranch": "", "sires": [], "events": []}
    if former is not None:
        plan = read_plan_file(read_bytes(former).decode("utf-8", "replace"), str(former))
        settings |= plan.settings
    settings |= {key: value for key, value in wishes.plain.items() if value is not None}
    earlier = settings.get("earlier_days")
    if earlier is not None and not math.isfinite(earlier):
        message = f"--earlier-days '{earlier}': give a number of days."
        raise UsageError(message)
    settings |= _days(wishes)
    if not settings.get("first_ai_on") and not settings.get("first_treatment_on"):
        message = "Say when: --first-ai DATE (the first insemination) or --first-treatment DATE."
        raise UsageError(message)
    if not settings.get("zone"):
        message = "Say where the clock is: --zone America/Denver (the IANA zone of the ranch)."
        raise UsageError(message)
    settings |= _hours(wishes.hours)
    options: dict[str, list[str]] = {}
    for group, key in wishes.options:
        options.setdefault(group, []).append(key)
    watches = _once(wishes.watches, "--watch")
    if watches:
        from sunup.forecast.watches import read_watch

        for group, text in watches.items():
            read_watch(group, text)
    technicians = _once(wishes.technicians, "--technicians")
    if technicians:
        from sunup.forecast.technicians import read_technicians

        for group, text in technicians.items():
            read_technicians(group, text)
    if watches and not wishes.watching:
        message = "--no-watching and --watch contradict; give one of them."
        raise UsageError(message)
    for name, typed in (
        ("protocols", _once(wishes.protocols, "--protocol")),
        ("options", options),
        ("drugs", _once(wishes.drugs, "--drug")),
        ("splits", {g: _count(text) for g, text in _once(wishes.splits, "--split").items()}),
        ("watches", watches),
        ("technicians", technicians),
    ):
        settings[name] = {**settings.get(name, {}), **typed}
    if wishes.sires:
        settings["sires"] = [_sire(group, text) for group, text in wishes.sires]
    if wishes.events:
        settings["events"] = [_event(kind, text) for kind, text in wishes.events]
    settings["watching"] = wishes.watching and settings.get("watching", True)
    as_of = read_day(wishes.as_of, "--as-of") if wishes.as_of else today
    settings["today"] = as_of.isoformat()
    request = Request.from_json(settings)
    if request.open_at >= request.close_at:
        message = "--hours: the working day must start before it ends."
        raise UsageError(message)
    return request


def _once(pairs: Pairs, flag: str) -> dict[str, str]:
    """Return pairs as a mapping; the last of several for one name would win unsaid."""
    found: dict[str, str] = {}
    for name, value in pairs:
        if found.setdefault(name, value) != value:
            message = f"{flag} says {name}={found[name]} and {name}={value}; give one of them."
            raise UsageError(message)
    return found


def _days(wishes: Wishes) -> dict[str, Any]:
    if wishes.first_ai is not None and wishes.first_treatment is not None:
        message = "Give --first-ai or --first-treatment, not both."
        raise UsageError(message)
    if wishes.first_ai is not None:
        day, _, clock = wishes.first_ai.partition("T")
        return {
            "first_ai_on": read_day(day, "--first-ai").isoformat(),
            "first_ai_at": _clock(clock) if clock else None,
            "first_treatment_on": None,
        }
    if wishes.first_treatment is not None:
        day = read_day(wishes.first_treatment, "--first-treatment").isoformat()
        return {"first_treatment_on": day, "first_ai_on": None, "first_ai_at": None}
    return {}


def _hours(text: str | None) -> dict[str, str]:
    if text is None:
        return {}
    opens, found, closes = text.partition("-")
    if not found:
        message = f"--hours '{text}': write it as 06:00-20:00."
        raise UsageError(message)
    return {"open_at": _clock(opens), "close_at": _clock(closes)}


def _clock(text: str) -> str:
    return read_clock(text).strftime("%H:%M")


def _count(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or int(text) < 1:
        message = f"--split '{text}': give a whole number of starts."
        raise UsageError(message)
    return int(text)


def _sire(group: str, text: str) -> dict[str, Any]:
    code, *rest = text.split(":")
    semen, share = "conventional", 1.0
    for part in rest:
        if part in {"sexed", "conventional"}:
            semen = part
            continue
        try:
            share = float(part)
        except ValueError:
            message = f"--sire {group}={text}: '{part}' is neither sexed nor a share such as 0.5."
            raise UsageError(message) from None
    if not code or not 0 < share <= 1:
        message = f"--sire {group}={text}: give a code and a share above 0, at most 1."
        raise UsageError(message)
    return {"group": group, "code": code, "semen": semen, "share": share}


def _event(kind: str, text: str) -> dict[str, Any]:
    group, found, day = text.rpartition("=")
    flag = {"diet": "--diet-change"}.get(kind, f"--{kind}")
    on = read_day(day, flag).isoformat()
    return {"kind": kind, "on": on, "group": group if found else None}

"""Why no plan is in force: none was adopted, or none yet at the hour that is looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import find_zone, to_local
from sunup.base.problems import UsageError
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.records.event import Event

NONE_ADOPTED = (
    "No plan has been adopted in this ledger yet. Make one (sunup plan ...) and adopt it: "
    "sunup season adopt packet/plan.json"
)


class NoSeasonError(UsageError):
    """No plan is in force at the hour looked at."""

    def __init__(self, message: str = NONE_ADOPTED) -> None:
        super().__init__(message)


def say_adopted_later(standing: Iterable[Event], at: datetime) -> str | None:
    """Say that the first plan was adopted after an instant; None where none was adopted at all.

    Parameters
    ----------
    standing : iterable of Event
        As they stand after corrections.
    at : datetime
        The instant looked at; UTC.
    """
    plans = [e for e in standing if e.kind is Kind.PLAN_ADOPTED and e.occurred_at > at]
    first = min(plans, key=lambda e: e.occurred_at, default=None)
    if first is None:
        return None
    zone = find_zone(first.zone)
    return (
        f"At {_when(at, zone)} no plan was adopted yet: that of season "
        f"{first.body.get('season') or 'without a name'} is adopted on "
        f"{_when(first.occurred_at, zone)}. Look at a later hour: --at, --as-of or SUNUP_NOW set "
        "it; without them it is now."
    )


def _when(moment: datetime, zone: ZoneInfo) -> str:
    local = to_local(moment, zone)
    return f"{local:%a} {local.day} {local:%b} {local.year} {local:%H:%M}"

"""What the user asked for when a plan is made; recorded in the plan file."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import date, time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.forecast.technicians import Technicians
    from sunup.forecast.watches import Watches

CLOCK_GRID_MINUTES = 15  # clock times are offered on the quarter hour


@dataclass(frozen=True, slots=True)
class Sire:
    """Semen of one bull wanted for one group. `share` of the group's straws; they sum to 1."""

    group: str
    code: str
    semen: str = "conventional"
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Event:
    """Something else on the ranch's calendar that cattle feel: vaccination, haul, diet change."""

    kind: str  # vaccination | haul | diet
    on: date
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Request:
    """The wishes a plan is made from. Exactly one of `first_ai_on` and `first_treatment_on`.

    `today` is the day it is planned on: starts, orders and what is overdue go by it. `list_on` is
    the day the herd list is of, where it says so: females are judged by it.
    """

    ranch: str
    zone: str
    region: str
    today: date
    first_ai_on: date | None = None
    first_ai_at: time | None = None
    first_treatment_on: date | None = None
    open_at: time = time(6)
    close_at: time = time(20)
    protocols: Mapping[str, str] = field(default_factory=dict)
    options: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    sires: tuple[Sire, ...] = ()
    drugs: Mapping[str, str] = field(default_factory=dict)  # step word -> active/strength
    chutes: int = 1
    splits: Mapping[str, int] = field(default_factory=dict)
    max_passes: int | None = None
    watching: bool = True
    events: tuple[Event, ...] = ()
    prescriber: str | None = None
    watches: Mapping[str, str] = field(default_factory=dict)  # group -> TIMESxMINUTES[:AID]
    technicians: Mapping[str, str] = field(default_factory=dict)  # group -> NUMBER[:TRAINING]
    earlier_days: float | None = None  # how many days earlier AI calves come; None: not assumed
    list_on: date | None = None

    @property
    def judged_on(self) -> date:
        """The day the females are judged on: that of the list, else the day it is planned on."""
        return self.list_on or self.today

    def watched(self, group: str) -> Watches | None:
        """How heats of a group of the herd file are watched, where it was said."""
        text = self.watches.get(group)
        if text is None:
            return None
        from sunup.forecast.watches import read_watch

        return read_watch(group, text)

    def inseminated_by(self, group: str) -> Technicians | None:
        """Who inseminates a group of the herd file, where it was said."""
        text = self.technicians.get(group)
        if text is None:
            return None
        from sunup.forecast.technicians import read_technicians

        return read_technicians(group, text)

    def to_json(self) -> dict[str, Any]:
        """Return the request as plain values (dates and times as ISO text)."""

        def plain(value: Any) -> Any:
            if isinstance(value, date):
                return value.isoformat()
            if isinstance(value, time):
                return value.strftime("%H:%M")
            if isinstance(value, dict):
                return {str(key): plain(item) for key, item in value.items()}
            if isinstance(value, list | tuple):
                return [plain(item) for item in value]
            return value

        return {key: plain(value) for key, value in asdict(self).items()}

    @staticmethod
    def from_json(data: Mapping[str, Any]) -> Request:
        """Rebuild a request from what `to_json` gave."""
        values = dict(data)
        for key in ("today", "list_on", "first_ai_on", "first_treatment_on"):
            if values.get(key):
                values[key] = date.fromisoformat(values[key])
        for key in ("first_ai_at", "open_at", "close_at"):
            if values.get(key):
                values[key] = time.fromisoformat(values[key])
        values["options"] = {key: tuple(item) for key, item in values["options"].items()}
        values["sires"] = tuple(Sire(**item) for item in values["sires"])
        values["events"] = tuple(
            Event(item["kind"], date.fromisoformat(item["on"]), item.get("group"))
            for item in values["events"]
        )
        return Request(**values)

"""The desk of a running season: the ledger open, the season read, a writer at hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.app.no_plan import NONE_ADOPTED, NoSeasonError, say_adopted_later
from sunup.app.open import open_library
from sunup.app.settings import read_once_a_day, read_sire_breeds
from sunup.app.writing import Writer, find_now, find_person, new_id
from sunup.base.hours import find_zone
from sunup.base.problems import UsageError
from sunup.exchange.plan_file import plan_from_json
from sunup.planning.expected_heats import read_kept_heats
from sunup.planning.heats import HeatFigures
from sunup.planning.season_from_events import as_they_stand, read_recorded
from sunup.planning.season_now import PlanInForce, SeasonNow

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from sunup.library import Library
    from sunup.planning.plan import Plan
    from sunup.planning.season_from_events import PlanEvent, Recorded
    from sunup.records.event import Event
    from sunup.store.ledger import Ledger

DEFAULT_ZONE = "UTC"
FindInstant = Callable[[str, "datetime | None"], "datetime"]


class UnknownGroupNameError(UsageError):
    """A group that the plan in force does not have."""

    def __init__(self, name: str, known: Sequence[str]) -> None:
        super().__init__(f"There is no group '{name}'. The season has: {', '.join(known)}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Who writes, from which clock; what was typed, absent where nothing was."""

    by: str | None = None
    zone: str | None = None
    now: Callable[[], datetime] = find_now
    make_id: Callable[[], str] = new_id


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """What every use-case of the running season starts from.

    `season` is the season at `season.at`. `write` makes events; `append` keeps them.
    """

    library: Library
    season: SeasonNow
    recorded: Recorded
    standing: Sequence[Event]
    events: Sequence[Event]
    writer: Writer
    append: Callable[[Sequence[Event]], Any]
    zone_name: str

    @property
    def latest(self) -> datetime:
        """The latest of what is on file, or now: where everything recorded can be seen."""
        return (
            max(self.season.at, self.standing[-1].occurred_at)
            if self.standing
            else (self.season.at)
        )

    def looking_at(self, at: datetime) -> Desk:
        """The same desk with the season at another instant."""
        recorded, season = _read(self.standing, self.library, at=at, zone=self.zone_name)
        return replace(self, recorded=recorded, season=replace(season, ranch=self.season.ranch))

    def as_of(self, at: datetime) -> Desk:
        """The same desk now, or at an instant to come: what is dated later gives no advice yet.

        Recording looks at all on file (`latest`); one entry dated into another year must not make
        everything since too late.
        """
        moment = max(at, self.writer.now())
        return self if self.season.at <= moment else self.looking_at(moment)

    def with_more(self, more: Sequence[Event]) -> Desk:
        """The same desk after events were kept."""
        events = (*self.events, *more)
        standing = as_they_stand(events)
        recorded, season = _read(standing, self.library, at=self.season.at, zone=self.zone_name)
        season = replace(season, ranch=self.season.ranch)
        return replace(self, events=events, standing=standing, recorded=recorded, season=season)

    def need_plan(self) -> PlanInForce:
        """The plan in force.

        Raises
        ------
        NoSeasonError
            If none was adopted, or none yet at the instant looked at.
        """
        if self.season.in_force is None:
            later = say_adopted_later(self.standing, self.season.at)
            raise NoSeasonError(later or NONE_ADOPTED)
        return self.season.in_force

    def need_group(self, name: str) -> str:
        """A group's name as the plan or the ledger writes it; case does not matter.

        Raises
        ------
        UnknownGroupNameError
            If there is none.
        """
        planned = [] if self.season.in_force is None else self.season.in_force.plan.groups
        known = list(
            dict.fromkeys(
                [*(g.name for g in planned), *(f.group for f in self.season.females.values())]
            )
        )
        for group in known:
            if group and group.casefold() == name.strip().casefold():
                return group
        raise UnknownGroupNameError(name, [g for g in known if g])


def sit_down(
    events: Sequence[Event],
    append: Callable[[Sequence[Event]], Any],
    *,
    ranch: str,
    at: datetime | FindInstant | None = None,
    who: Who | None = None,
    overlay: Path | None = None,
    season_only: bool = False,
) -> Desk:
    """Read a ledger's events into a desk.

    Parameters
    ----------
    events : sequence of Event
        Everything the ledger holds of the ranch.
    append : callable
        Keeps new events.
    ranch : str
    at : datetime or callable, optional
        The instant looked at, or what finds it from the ranch's zone and the instant of the last
        thing on file (None in an empty ledger); now where absent.
    who : Who, optional
    overlay : Path, optional
        A ranch's own figures.
    season_only : bool
        Read only females the plan in force has to do with: enough for Today.
    """
    who = who or Who()
    library, _ = open_library(overlay)
    zone = who.zone or _zone_of(events) or DEFAULT_ZONE
    find_zone(zone)
    standing = as_they_stand(events)
    if callable(at):
        at = at(zone, standing[-1].occurred_at if standing else None)
    recorded, season = _read(
        standing, library, at=at or who.now(), zone=zone, season_only=season_only
    )
    by = who.by if who.by is not None else str(recorded.settings.get("person") or find_person())
    return Desk(
        library=library,
        season=replace(season, ranch=ranch),
        recorded=recorded,
        standing=standing,
        events=events,
        writer=Writer(ranch=ranch, zone=zone, by=by, now=who.now, make_id=who.make_id),
        append=append,
        zone_name=zone,
    )


def open_desk(
    ledger: Ledger,
    *,
    at: datetime | FindInstant | None = None,
    who: Who | None = None,
    overlay: Path | None = None,
    season_only: bool = False,
) -> Desk:
    """Read an open ledger into a desk."""
    return sit_down(
        ledger.events(),
        ledger.record,
        ranch=ledger.ranch,
        at=at,
        who=who,
        overlay=overlay,
        season_only=season_only,
    )


def _zone_of(events: Sequence[Event]) -> str | None:
    """The zone of the plan adopted last, else of the latest event."""
    plans = [e for e in events if "plan_id" in e.body and isinstance(e.body.get("plan"), dict)]
    if plans:
        last = max(plans, key=lambda e: e.occurred_at)
        zone = last.body["plan"].get("zone")
        if isinstance(zone, str):
            return zone
    return events[-1].zone if events else None


def _read(
    standing: Sequence[Event],
    library: Library,
    *,
    at: datetime,
    zone: str,
    season_only: bool = False,
) -> tuple[Recorded, SeasonNow]:
    recorded = read_recorded(
        standing, at=at, figures=HeatFigures.of(library), zone=zone, season_only=season_only
    )
    in_force = _in_force(recorded.plans[-1]) if recorded.plans else None
    kept = {}
    if in_force is not None:
        for (plan_id, group), forecast in recorded.forecasts.items():
            heats = read_kept_heats(forecast)
            if plan_id == in_force.plan_id and heats is not None:
                kept[group] = heats
    season = SeasonNow(
        ranch="",
        zone=find_zone(zone),
        at=at,
        females=recorded.females,
        near_h=library.number("practice.act_of_step_hours"),
        in_force=in_force,
        group_acts=recorded.group_acts,
        kept=kept,
        changes=recorded.changes,
        counts=recorded.counts,
        levels=recorded.levels,
        acknowledged=_acknowledged(recorded.settings),
        once_a_day=read_once_a_day(recorded.settings),
        sire_breeds=read_sire_breeds(recorded.settings),
    )
    return recorded, season


_parsed: list[tuple[Mapping[str, Any], Plan]] = []  # the plan read last: a desk reads it often


def _in_force(told: PlanEvent) -> PlanInForce:
    last = next(iter(_parsed), None)
    if last is None or last[0] != told.plan:
        plan = plan_from_json(dict(told.plan), f"the plan adopted {told.at:%Y-%m-%d}")
        last = (told.plan, plan)
        _parsed[:] = [last]
    plan = last[1]
    return PlanInForce(plan, told.plan_id, told.season, told.at, told.event)


READ_CAUTION = "caution_read/"  # + person / key of the active


def _acknowledged(settings: Mapping[str, Any]) -> dict[str, frozenset[str]]:
    """Who has read which caution: settings of the form caution_read/PERSON/ACTIVE."""
    found: dict[str, set[str]] = {}
    for key, value in settings.items():
        if key.startswith(READ_CAUTION) and value:
            person, _, active = key.removeprefix(READ_CAUTION).rpartition("/")
            found.setdefault(person, set()).add(active)
    return {person: frozenset(read) for person, read in found.items()}

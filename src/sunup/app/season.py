"""Use-cases of the season itself: adopt a plan, who joins, moves, leaves, is identified."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from sunup.app.adopt_doubts import doubt_planned
from sunup.base.hours import at_local, find_zone, to_local
from sunup.base.problems import Problem, Severity, UsageError
from sunup.exchange.plan_file import plan_to_json
from sunup.planning.listed import facts_of
from sunup.planning.request import Request
from sunup.records.event import Event, Kind
from sunup.records.female import Female, FemaleClass
from sunup.records.identity import find_same

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.app.desk import Desk
    from sunup.forecast.forecast import Forecast
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import FemaleLine, Plan

NOON = time(12)


@dataclass(frozen=True, slots=True)
class Adopted:
    """What adopting a plan did."""

    plan: Plan
    plan_id: str
    changed: bool  # a plan of this season was in force: it was changed, not begun anew
    added: int
    moved: int
    forecasts: tuple[str, ...]
    problems: tuple[Problem, ...]
    events: tuple[Event, ...]


def adopt(
    desk: Desk,
    plan: Plan,
    *,
    females: Sequence[Female] = (),
    forecasts: Mapping[str, Forecast] | None = None,
    kernel_version: str = "",
    at: datetime | None = None,
    why: str | None = None,
) -> Adopted:
    """Take a plan as what is to be done: its females into their groups, its schedule in force.

    A female is known again by her electronic code, then by her tag; nothing on file of her is
    changed. Where a plan of the same season is in force, this changes it.

    Parameters
    ----------
    desk : Desk
    plan : Plan
    females : sequence of Female
        The herd list the plan was made from: what it says of each female is recorded with her.
    forecasts : mapping of group to Forecast, optional
        Kept beside the plan, to be compared with what happens.
    kernel_version : str
        Of the simulator the forecasts were made with.
    at : datetime, optional
    why : str, optional
        Reason of a change.
    """
    pen = desk.writer.batch()  # one entry: taken back with the plan or not at all
    adopted_at = at or pen.entered_at or pen.now()
    desk = replace(desk, writer=pen)
    events: list[Event] = []
    listed_on = Request.from_json(plan.settings).judged_on
    by_tag = {f.tag: f for f in females}
    known = desk.season.by_tag()
    group_of = {tag: g.name for g in plan.groups for tag in g.order}
    problems: list[Problem] = []
    added = moved = 0
    on_file: dict[str, FemaleNow] = {}
    for line in plan.females:
        group = group_of.get(line.tag, line.group)
        found = _find(line, known)
        if found is None:
            her, facts = _new_female(
                desk, line, by_tag.get(line.tag), listed_on, plan.zone, until=adopted_at
            )
            events += facts
            added += 1
            events.append(pen.write(Kind.MOVED, {"to": group}, at=at, female=her))
            continue
        if len(found) > 1:
            problems.append(_two(line.tag, len(found)))
        on_file[line.tag] = found[0]
        if found[0].group != group:
            moved += 1
            events.append(pen.write(Kind.MOVED, {"to": group}, at=at, female=found[0].id))
    for one in plan.groups:
        problems += doubt_planned(desk, one, on_file, by_tag)
    adoption = _plan_event(desk, plan, at=at, why=why)
    events.append(adoption)
    plan_id = str(adoption.body["plan_id"])
    told = forecasts or {}
    events += [
        pen.write(
            Kind.FORECAST_KEPT,
            {
                "plan_id": plan_id,
                "forecast": forecast_body(forecast) | {"group": group},
                "library_version": forecast.library_version,
                "kernel_version": kernel_version or forecast.params_version,
                "seed": forecast.seed,
            },
            at=at,
            group=group,
        )
        for group, forecast in told.items()
    ]
    desk.append(events)
    return Adopted(
        plan=plan,
        plan_id=plan_id,
        changed=adoption.kind is Kind.PLAN_CHANGED,
        added=added,
        moved=moved,
        forecasts=tuple(told),
        problems=tuple(problems),
        events=tuple(events),
    )


def _plan_event(desk: Desk, plan: Plan, *, at: datetime | None, why: str | None) -> Event:
    data = plan_to_json(plan)
    in_force = desk.season.in_force
    if in_force is not None and in_force.season == plan.season:
        body = {
            "plan_id": in_force.plan_id,
            "based_on": in_force.event,
            "plan": data,
            "why": why,
        }
        return desk.writer.write(Kind.PLAN_CHANGED, body, at=at)
    body = {"plan_id": desk.writer.make_id(), "season": plan.season, "plan": data}
    return desk.writer.write(Kind.PLAN_ADOPTED, body, at=at)


def forecast_body(forecast: Forecast) -> dict[str, Any]:
    """A forecast as plain values, as it is kept."""
    plain: dict[str, Any] = _plain(asdict(forecast))
    return plain


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value


def _find(line: FemaleLine, known: Mapping[str, list[FemaleNow]]) -> list[FemaleNow] | None:
    for name in (line.rfid, line.tag):
        found = [f for f in known.get(name or "", ()) if f.is_here]
        if found:
            return found
    return None


def _two(tag: str, n: int) -> Problem:
    return Problem(
        f"female {tag}",
        f"{n} females wear this tag; the first on file was taken.",
        "Give one of them another tag (sunup season retag).",
        Severity.WARNING,
    )


def _new_female(
    desk: Desk,
    line: FemaleLine,
    listed: Female | None,
    listed_on: date,
    zone: str,
    *,
    until: datetime,
) -> tuple[str, list[Event]]:
    """A female of the plan with what her list says; none of it later than the adoption, `until`."""
    her = desk.writer.make_id()
    place = find_zone(zone)
    female = listed or Female(
        tag=line.tag, class_=FemaleClass(line.class_), group=line.group, rfid=line.rfid
    )
    return her, [
        desk.writer.write(
            fact.kind,
            {**fact.body, "day_only": True},  # a list tells days; noon stands for each
            at=min(at_local(fact.on, NOON, place).utc, until),
            female=her,
        )
        for fact in facts_of(female, listed_on)
    ]


class NotFoundError(UsageError):
    """A tag nobody on file wears."""

    def __init__(self, tag: str, near: Sequence[str] = ()) -> None:
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        super().__init__(f"No female on file wears '{tag}'.{hint}")


class AmbiguousTagError(UsageError):
    """A tag that several females wear."""

    def __init__(self, tag: str, n: int) -> None:
        super().__init__(
            f"{n} females wear '{tag}'. Name her by her electronic code, or retag one of them."
        )


def find_female(desk: Desk, tag: str) -> FemaleNow:
    """The female who wears a tag or electronic code now.

    Raises
    ------
    NotFoundError, AmbiguousTagError
    """
    found = desk.season.by_tag().get(tag.strip(), [])
    here = [f for f in found if f.is_here] or found
    if not here:
        near = sorted(t for t in desk.season.by_tag() if t.endswith(tag.strip()))[:5]
        raise NotFoundError(tag, near)
    if len(here) > 1:
        raise AmbiguousTagError(tag, len(here))
    return here[0]


def join(
    desk: Desk,
    tag: str,
    *,
    class_: str,
    group: str,
    rfid: str | None = None,
    at: datetime | None = None,
    is_another: bool = False,
) -> Event:
    """A female not on any list joins the herd and a group; returns her record.

    `is_another`: she wears the tag of one that left the herd and is not that one.

    Raises
    ------
    UsageError
        If one that is here wears the tag, or one that left did and nobody said which she is.
    """
    worn = [one for name in (tag, rfid) for one in desk.season.by_tag().get(name or "", ())]
    if any(one.is_here for one in worn):
        message = (
            f"'{tag}' is on file already. Move her instead: sunup season move {tag} --to {group}."
        )
        raise UsageError(message)
    if worn and not is_another:
        message = (
            f"'{tag}' was worn by one that left the herd. If she is back, her history goes on: "
            f"sunup season move {tag} --to {group}. If this is another animal: add --another."
        )
        raise UsageError(message)
    her = desk.writer.make_id()
    body = {"tag": tag, "listed": True, "class": FemaleClass(class_).value, "rfid": rfid}
    first = desk.writer.write(Kind.FEMALE_ADDED, body, at=at, female=her)
    name = desk.need_group(group)
    desk.append([first, desk.writer.write(Kind.MOVED, {"to": name}, at=at, female=her)])
    return first


def move(
    desk: Desk, tags: Sequence[str], group: str, *, at: datetime | None = None
) -> tuple[Event, ...]:
    """Females go over to another group; an empty name: to none."""
    name = desk.need_group(group) if group else ""
    females = [find_female(desk, tag) for tag in tags]
    events = tuple(desk.writer.write(Kind.MOVED, {"to": name}, at=at, female=f.id) for f in females)
    desk.append(events)
    return events


def retag(
    desk: Desk, tag: str, *, new: str | None, rfid: str | None = None, at: datetime | None = None
) -> Event:
    """A female gets another tag or electronic code; her history stays hers."""
    her = find_female(desk, tag)
    event = desk.writer.write(Kind.TAG_CHANGED, {"tag": new, "rfid": rfid}, at=at, female=her.id)
    desk.append([event])
    return event


def also_wearing(
    desk: Desk, tag: str, *, new: str | None, rfid: str | None = None
) -> tuple[FemaleNow, ...]:
    """Other females that are here and wear the tag or code a female is given.

    Raises
    ------
    NotFoundError, AmbiguousTagError
    """
    her = find_female(desk, tag)
    wanted = {name for name in (new, rfid) if name}
    return tuple(
        f
        for f in desk.season.females.values()
        if f.id != her.id and f.is_here and wanted & {f.tag, f.facts.rfid}
    )


class IdentifiedBeforeError(UsageError):
    """Somebody has said already who wore a tag."""

    def __init__(self, tag: str, her: str, told: Event, on: date) -> None:
        by = f" by {told.entered_by}" if told.entered_by else ""
        super().__init__(
            f"'{tag}' was identified as {her} on {on.day} {on:%b %Y}{by} (entry {told.id[:8]}). If "
            f"that was wrong, take it back (sunup record undo {told.id[:8]}) and identify it anew."
        )


def _identified_before(desk: Desk, tag: str) -> Event | None:
    """The entry that said who an unlisted tag is; None where nobody did."""
    met = {
        e.female
        for e in desk.standing
        if e.kind is Kind.FEMALE_ADDED and tag in {e.body.get("tag"), e.body.get("rfid")}
    }
    told = [e for e in desk.standing if e.kind is Kind.IDENTIFIED and e.female in met]
    return max(told, key=lambda e: e.entered_at, default=None)


def identify(desk: Desk, tag: str, same_as: str, *, at: datetime | None = None) -> Event:
    """Say that an unlisted tag is a female on file: both histories are hers from then on.

    Raises
    ------
    UsageError
        If they are one already, somebody said before who she is, or either tag is not on file.
    """
    before = (
        None if desk.season.by_tag().get(tag.strip()) else _identified_before(desk, tag.strip())
    )
    if before is not None:
        real = find_same(desk.standing).get(str(before.female), "")
        known = desk.season.females.get(real)
        on = to_local(before.entered_at, desk.season.zone).date()
        raise IdentifiedBeforeError(tag, known.tag if known else "another", before, on)
    stray, her = find_female(desk, tag), find_female(desk, same_as)
    if stray.id == her.id:
        message = f"'{tag}' and '{same_as}' are one female already."
        raise UsageError(message)
    if stray.listed and not her.listed:
        stray, her = her, stray
    event = desk.writer.write(Kind.IDENTIFIED, {"same_as": her.id}, at=at, female=stray.id)
    desk.append([event])
    return event

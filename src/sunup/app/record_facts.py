"""Use-cases of recording single facts, and what is done to a group as a whole."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sunup.app.record import Entry, Line, her_now, look_up, unlisted_events, who_wears
from sunup.planning.warning_rules import find_flags
from sunup.planning.warnings import Intent, WarningFigures
from sunup.protocols.protocol import Do
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.planning.warnings import Flag


def record_fact(
    desk: Desk,
    tags: Sequence[str],
    kind: Kind,
    body: Mapping[str, Any],
    *,
    at: datetime,
    words: str,
    act: str = "",
    group: str | None = None,
) -> Entry:
    """Record one fact of each of several females: a calving, a weight, that she left.

    Parameters
    ----------
    act : str
        The act as the rules know it ("left_herd"); empty where no rule speaks of it.
    group : str, optional
        Where they are, for tags nobody has on file.
    """
    desk = replace(desk, writer=desk.writer.batch())
    batch = look_up(desk, group, at=at)
    lines = []
    for tag in tags:
        female = who_wears(batch, tag, group)
        events: list[Event] = []
        her_id = female.id if female is not None else ""
        if female is None:
            her_id, events = unlisted_events(desk, tag, group, at)
        events.append(desk.writer.write(kind, body, at=at, female=her_id))
        flags: tuple[tuple[str, Flag], ...] = ()
        if female is not None and act:
            intent = Intent(do=act, at=at, zone=desk.season.zone)
            found = find_flags(her_now(female, desk.season, at=at), intent, batch.figures)
            flags = tuple((words, flag) for flag in found)
        lines.append(Line(tag, her_id, at, tuple(events), flags, unlisted=female is None))
    events_all = tuple(event for line in lines for event in line.events)
    desk.append(events_all)
    return Entry(group or "", (words,), tuple(lines), events_all)


def record_group(
    desk: Desk, kind: Kind, group: str, body: Mapping[str, Any], *, at: datetime
) -> Event:
    """Record something done to a group as a whole: a watch, feed, bulls in or out."""
    event = desk.writer.batch().write(kind, body, at=at, group=desk.need_group(group))
    desk.append([event])
    return event


def feed_flags(desk: Desk, group_name: str) -> tuple[tuple[str, Flag], ...]:
    """Females of a group to whom melengestrol is not given, with what to do now."""
    name = desk.need_group(group_name)
    figures = WarningFigures.of(desk.library)
    intent = Intent(do=Do.MGA_START.value, at=desk.season.at, zone=desk.season.zone)
    told = []
    for female in desk.season.females.values():
        if female.group != name or not female.is_here:
            continue
        her = her_now(female, desk.season, at=desk.season.at)
        told += [
            (female.tag, flag)
            for flag in find_flags(her, intent, figures)
            if flag.rule == "melengestrol_cow"
        ]
    return tuple(told)


def count_head(desk: Desk, group_name: str, count: int, *, at: datetime) -> int:
    """Record a count of a group's females; return how many are on file."""
    name = desk.need_group(group_name)
    body = {"what": "head", "count": count, "place": name}
    desk.append([desk.writer.batch().write(Kind.TALLIED, body, at=at, group=name)])
    return sum(f.group == name and f.is_here for f in desk.season.females.values())

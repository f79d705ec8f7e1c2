"""Use-cases of recording single facts, and what is done to a group as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sunup.app.lot_expiry import lot_expiry
from sunup.app.odd_at_entry import with_odd
from sunup.app.record import (
    Entry,
    Line,
    her_now,
    look_up,
    spread_times,
    unlisted_events,
    who_wears,
)
from sunup.app.step_meant import step_meant
from sunup.planning.warning_rules import find_flags
from sunup.planning.warnings import Intent, WarningFigures
from sunup.protocols.protocol import INJECTIONS, Do
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.warnings import Flag


# given female by female: off the plan it counts for her nearest step of its kind all the same
_STEPS = frozenset(do.value for do in (*INJECTIONS, Do.INSERT_IN, Do.INSERT_OUT))
# what is kept of a female (None: nobody on file wears the tag), and the act as the rules know it
Made = tuple[Kind, Mapping[str, Any], Intent | None]


def record_each(
    desk: Desk,
    tags: Sequence[str],
    make: Callable[[FemaleNow | None, datetime], Made],
    *,
    at: datetime,
    words: str,
    until: datetime | None = None,
    group: str | None = None,
    keep: bool = True,
) -> Entry:
    """Record one thing of each of several females, with what speaks against it.

    Parameters
    ----------
    desk : Desk
    tags : sequence of str
        In the order they passed.
    make : callable
        Gives kind, body and intent of one female at her time.
    at, until : datetime
        When the first was done, and the last: the others are spread between them.
    words : str
    group : str, optional
        Where they are, for tags nobody has on file.
    keep : bool
        False only looks: what would be flagged, before the act.
    """
    desk = replace(desk, writer=desk.writer.batch())
    batch = look_up(desk, group, at=until or at)
    lines = []
    for tag, when in zip(tags, spread_times(at, until, len(tags)), strict=True):
        female = who_wears(batch, tag, group)
        events: list[Event] = []
        her_id = female.id if female is not None else ""
        if female is None:
            her_id, events = unlisted_events(desk, tag, group, when)
        kind, body, intent = make(female, when)
        made = desk.writer.write(kind, body, at=when, female=her_id)
        events.append(made)
        flags: tuple[tuple[str, Flag], ...] = ()
        if female is not None and intent is not None:
            if intent.step is None and intent.do in _STEPS:
                intent = replace(intent, step=step_meant(batch, female, intent.do, when))
            expires_on = lot_expiry(desk.season.changes, made)
            intent = replace(intent, lot_expires_on=expires_on, ml=body.get("dose_ml"))
            found = find_flags(her_now(female, desk.season, at=when), intent, batch.figures)
            flags = tuple((words, flag) for flag in found)
        lines.append(Line(tag, her_id, when, tuple(events), flags, unlisted=female is None))
    told = with_odd(desk, lines, words)
    events_all = tuple(event for line in lines for event in line.events)
    if keep:
        desk.append(events_all)
    return Entry(group or "", (words,), told, events_all if keep else ())


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
    keep: bool = True,
) -> Entry:
    """Record one fact of each of several females: a calving, a weight, that she left.

    Parameters
    ----------
    act : str
        The act as the rules know it ("left_herd"); empty where no rule speaks of it.
    group : str, optional
        Where they are, for tags nobody has on file.
    keep : bool
        False only looks.
    """

    def make(_: FemaleNow | None, when: datetime) -> Made:
        intent = Intent(do=act, at=when, zone=desk.season.zone) if act else None
        return kind, body, intent

    return record_each(desk, tags, make, at=at, words=words, group=group, keep=keep)


def record_facts(
    desk: Desk,
    tags: Sequence[str],
    facts: Sequence[tuple[Kind, Mapping[str, Any], str]],
    *,
    at: datetime,
) -> tuple[Entry, ...]:
    """Record several facts (kind, body, words) of the same females as one entry."""
    desk = replace(desk, writer=desk.writer.batch())
    told: list[Entry] = []
    for kind, body, words in facts:
        entry = record_fact(desk, tags, kind, body, at=at, words=words)
        told.append(entry)
        if any(line.unlisted for line in entry.lines):
            desk = desk.with_more(entry.events)  # the next fact is of the same unlisted females
    return tuple(told)


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

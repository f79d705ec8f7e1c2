"""Use-cases of the heats: a watch recorded, sightings turned into insemination times."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.app.record import Entry
from sunup.app.record_facts import record_fact, record_group
from sunup.base.problems import UsageError
from sunup.planning.expected_heats import CALL_KEY, HeatsSoFar, heats_so_far
from sunup.planning.heats import HeatFigures
from sunup.planning.insemination_list import AiLine, find_inseminations
from sunup.planning.insemination_times import TimeFigures
from sunup.planning.progress import Phase
from sunup.planning.season_now import follow
from sunup.protocols.protocol import Do
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.planning.plan import GroupPlan
    from sunup.planning.progress import GroupProgress
    from sunup.planning.season_now import SeasonNow
    from sunup.records.event import Event

SIGNS = ("standing", "mounting", "mucus", "blood", "other")
AIDS = ("patch", "chalk", "collar", "other")
WATCH_AIDS = ("none", "patch", "chalk", "collar", "teaser")
LOST = "lost"
_SCORES = range(1, 5)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a sighting or a watch led to: the entry, and who of it is inseminated when."""

    entry: Entry
    watch: Event | None
    lines: tuple[AiLine, ...]

    @property
    def minutes(self) -> float:
        """How long the watch took; 0 where none was recorded."""
        return 0.0 if self.watch is None else float(self.watch.body["minutes"])


def find_ai_lines(desk: Desk, females: Iterable[str] | None = None) -> tuple[AiLine, ...]:
    """Everybody in heat and not yet inseminated at the desk's instant; of `females` only."""
    season = desk.season
    wanted = None if females is None else [season.females[f] for f in females]
    return find_inseminations(
        season,
        heat_figures=HeatFigures.of(desk.library),
        time_figures=TimeFigures.of(desk.library),
        protocols=desk.library.protocols,
        females=wanted,
    )


def record_heats(
    desk: Desk,
    tags: Sequence[str],
    *,
    sign: str,
    at: datetime,
    group: str | None = None,
    note: str | None = None,
) -> Seen:
    """Record females seen in heat and say when each is inseminated.

    Raises
    ------
    UsageError
        If the sign is none we know.
    """
    if sign not in SIGNS:
        message = f"--sign '{sign}' is not known. Choose one of: {', '.join(SIGNS)}."
        raise UsageError(message)
    name = desk.need_group(group) if group else None
    entry = record_fact(
        desk,
        tags,
        Kind.HEAT_SEEN,
        {"sign": sign, "note": note},
        at=at,
        words=f"heat seen: {sign}",
        group=name,
    )
    return _seen(desk, entry, at)


def record_aids(
    desk: Desk, readings: Mapping[str, str], *, aid: str, at: datetime, group: str | None = None
) -> Seen:
    """Record patches or chalk as they were read: a score 1 to 4, or "lost".

    Parameters
    ----------
    readings : mapping of tag to score as typed

    Raises
    ------
    UsageError
        If an aid or a score is none we know; then nothing is recorded.
    """
    if aid not in AIDS:
        message = f"--aid '{aid}' is not known. Choose one of: {', '.join(AIDS)}."
        raise UsageError(message)
    bodies = {tag: _reading(tag, text, aid) for tag, text in readings.items()}
    name = desk.need_group(group) if group else None
    desk = replace(desk, writer=desk.writer.batch())
    entries = [
        record_fact(desk, [tag], Kind.HEAT_AID_READ, body, at=at, words=f"{aid} read", group=name)
        for tag, body in bodies.items()
    ]
    entry = Entry(
        name or "",
        (f"{aid} read",),
        tuple(line for e in entries for line in e.lines),
        tuple(event for e in entries for event in e.events),
    )
    return _seen(desk, entry, at)


def _reading(tag: str, text: str, aid: str) -> dict[str, Any]:
    told = text.strip().lower()
    if told in {LOST, "0"}:
        return {"aid": aid, "lost": True}
    if not (told.isdecimal() and int(told) in _SCORES):
        message = (
            f"{tag}={text}: a {aid} is scored 1 (intact) to 4 (rubbed off), or lost. "
            "Half or more rubbed off is 3 or 4."
        )
        raise UsageError(message)
    return {"aid": aid, "score": int(told)}


def record_watch(
    desk: Desk,
    group: str,
    tags: Sequence[str],
    *,
    minutes: float | None,
    at: datetime,
    aid: str | None = None,
    sign: str = "standing",
) -> Seen:
    """Record a watch of a group, also where nothing was seen, with the females seen in heat.

    Where nobody said how long it took, it took `practice.watch_minutes`.
    """
    if aid is not None and aid not in WATCH_AIDS:
        message = f"--aid '{aid}' is not known. Choose one of: {', '.join(WATCH_AIDS)}."
        raise UsageError(message)
    desk = replace(desk, writer=desk.writer.batch())
    usual = desk.library.number("practice.watch_minutes")
    body = {"minutes": usual if minutes is None else minutes, "aid": aid, "n_seen": len(tags)}
    watch = record_group(desk, Kind.WATCHED, group, body, at=at)
    desk = desk.with_more([watch])
    if not tags:
        return Seen(Entry(desk.need_group(group), ("watched",), (), (watch,)), watch, ())
    seen = record_heats(desk, tags, sign=sign, at=at, group=group)
    return replace(seen, watch=watch)


def _seen(desk: Desk, entry: Entry, at: datetime) -> Seen:
    after = desk.with_more(entry.events).as_of(at)
    told = find_ai_lines(after, dict.fromkeys(line.female for line in entry.lines))
    return Seen(entry, None, told)


def expected_heats(
    desk: Desk, progress: Sequence[GroupProgress] | None = None
) -> tuple[HeatsSoFar, ...]:
    """Heats expected so far against heats seen, of every group with a forecast kept."""
    season = desk.season
    if season.in_force is None or not season.kept:
        return ()
    call_after = desk.library.figure(CALL_KEY)
    followed = {p.group: p for p in progress or ()}
    told = []
    for group in season.in_force.plan.groups:
        kept = season.kept.get(group.name)
        if kept is None:
            continue
        found = followed.get(group.name) or follow(season, group)
        clocks = find_clocks(found, kept.clock_h)
        if not clocks:
            continue
        seen = _seen_since(season, clocks)
        line = heats_so_far(
            group.name, kept, list(clocks.values()), seen, at=season.at, call_after=call_after
        )
        if line is None:
            continue
        if line.call and not _is_watched(season, group, clocks):
            call = _call_unwatched(group, line.call)
            if not call and seen == 0:
                continue  # nobody looks for heats there: none seen says nothing
            line = replace(line, call=call)
        told.append(line)
    return tuple(told)


def _is_watched(season: SeasonNow, group: GroupPlan, clocks: Mapping[str, datetime]) -> bool:
    """Whether a watch of the group was recorded since its clock step, or an aid was read."""
    since = min(clocks.values())
    acts = season.group_acts.get(group.name, ())
    females = (season.females[f] for f in clocks if f in season.females)
    read = (s.seen_at for f in females for s in f.sightings if s.score is not None)
    watched = (a.at for a in acts if a.do == Do.WATCH.value)
    return any(since <= at <= season.at for at in (*watched, *read))


def _call_unwatched(group: GroupPlan, call: str) -> str:
    """What is said where heats were seen by chance alone, or the watch was not written down."""
    if not any(s.do == Do.WATCH.value and not s.cancelled for s in group.schedule):
        return ""
    return (
        f"No watch is recorded since the PGF: write each down, also where nothing was seen. {call}"
    )


def find_clocks(progress: GroupProgress, clock_h: float) -> dict[str, datetime]:
    """When each female got the step a forecast counts heats from: the PGF nearest its hour."""
    live = [s for s in progress.steps if not s.is_group_act]
    if not live:
        return {}
    zero = min(s.step.at_utc for s in progress.steps)
    pgf = [s for s in live if s.step.do == Do.PGF.value] or live
    nearest = min(pgf, key=lambda s: abs((s.step.at_utc - zero).total_seconds() / 3600 - clock_h))
    return {
        f.female: f.done.at for f in nearest.females if f.phase is Phase.DONE and f.done is not None
    }


def _seen_since(season: SeasonNow, clocks: Mapping[str, datetime]) -> int:
    return sum(
        any(h.is_sure and at <= h.first_seen_at <= season.at for h in season.females[f].heats)
        for f, at in clocks.items()
        if f in season.females
    )

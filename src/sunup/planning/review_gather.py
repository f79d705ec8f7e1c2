"""From a season's ledger to the rows of its review."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.planning.progress import Act, History, follow_group
from sunup.planning.review import Gathered
from sunup.planning.review_away import cut_away, find_stays
from sunup.planning.review_compliance import Slip, Watch, check_compliance
from sunup.planning.review_female import Reading, Span, make_result, read_season
from sunup.planning.review_measures import measure
from sunup.planning.review_performance import Start
from sunup.protocols.protocol import Do
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from typing import Any
    from zoneinfo import ZoneInfo

    from sunup.library.library import Library
    from sunup.planning.females_now import Noted
    from sunup.planning.plan import GroupPlan, Plan
    from sunup.planning.progress import GroupProgress
    from sunup.planning.review_away import Stays
    from sunup.planning.review_compliance import Compliance
    from sunup.planning.review_female import Season
    from sunup.planning.review_rows import FemaleResult

_NONE: tuple[Noted, ...] = ()
_GROUP_DO = {Kind.BULLS_IN: "bulls_in", Kind.BULLS_OUT: "bulls_out"}


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRecord:
    """A season's plan with what was recorded.

    Parameters
    ----------
    ranch, season : str
    plan : Plan
        As it now stands.
    at : datetime
        The instant of the review, UTC.
    zone : ZoneInfo
    females : mapping of female to notes
        Of each female, in time order, from the beginning of the ledger.
    groups : mapping of group to notes
        Of each group as a whole.
    kept : mapping of group to forecast
        As kept before the season.
    next_from : datetime, optional
        When the next season's first treatment is; services from then on are not of this one.
    """

    ranch: str
    season: str
    plan: Plan
    at: datetime
    zone: ZoneInfo
    females: Mapping[str, Sequence[Noted]]
    groups: Mapping[str, Sequence[Noted]] = field(default_factory=dict)
    kept: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    next_from: datetime | None = None


def gather(
    record: SeasonRecord, library: Library, *, start: Start = Start.THIRD_MATURE_COW
) -> Gathered:
    """Gather a season's rows.

    Parameters
    ----------
    record : SeasonRecord
    library : Library
    start : Start
        Rule of the first window of calving.

    Returns
    -------
    Gathered
    """
    reading = Reading.of(library)
    tags = _by_tag(record.females)
    results: list[FemaleResult] = []
    compliance: list[Compliance] = []
    measures = []
    for group in record.plan.groups:
        steps = [s for s in group.schedule if not s.cancelled]
        if not steps:
            continue
        span = _span(record, group, reading)
        notes = _group_notes(record, group)
        ids = _members(record, group, tags, span, reading)
        seasons = [
            read_season(
                female, record.females[female], notes, group=group.name,
                protocol=group.chosen or "", span=span, reading=reading,
            )
            for female in ids
        ]  # fmt: skip
        names = {group.name, _base(group.name)}
        stays = {
            one.female: find_stays(one.own, names, is_planned=one.now.tag in group.order)
            for one in seasons
        }
        progress = cut_away(
            _follow(group, seasons, notes, span, near_h=reading.act_of_step.number), stays
        )
        kept = check_compliance(
            progress,
            watches=[
                Watch(n.at, float(n.body.get("minutes") or 0.0))
                for n in span.inside(notes)
                if n.kind is Kind.WATCHED
            ],
            others=_others(seasons, span),
        )
        compliance.append(kept)
        rows = [
            make_result(
                one, on_time=kept.on_time.get(one.female), treated=_is_treated(one, span),
                span=span, reading=reading, gone=_is_gone(stays[one.female], group, span),
            )
            for one in seasons
        ]  # fmt: skip
        results += rows
        measures.append((seasons, {row.female: row for row in rows}, span))
    return Gathered(
        ranch=record.ranch,
        season=record.season,
        zone=record.zone.key,
        at=record.at,
        results=tuple(results),
        compliance=tuple(compliance),
        kept={
            group.name: record.kept[group.name]
            for group in record.plan.groups
            if group.name in record.kept
        },
        measures=_measures(measures, start, reading),
        protocols={
            group.chosen: group.chosen_name or group.chosen
            for group in record.plan.groups
            if group.chosen
        },
    )


def _measures(
    counted: Sequence[tuple[list[Season], dict[str, FemaleResult], Span]],
    start: Start,
    reading: Reading,
) -> tuple[Any, ...]:
    if not counted:
        return ()
    seasons = [one for group, _, _ in counted for one in group]
    rows = {female: row for _, held, _ in counted for female, row in held.items()}
    first = min((span for _, _, span in counted), key=lambda span: span.since)
    return measure(seasons, rows, start=start, span=first, reading=reading)


def _span(record: SeasonRecord, group: GroupPlan, reading: Reading) -> Span:
    opens = min(s.window_utc[0] for s in group.schedule if not s.cancelled)
    since = opens - timedelta(days=reading.lead_days.number)
    until = record.at if record.next_from is None else min(record.at, record.next_from)
    return Span(since, max(since, until), record.zone, record.at)


def _base(name: str) -> str:
    """Name of a group whose start was split: its females keep the group's own name."""
    return name.rpartition(", start ")[0] or name


def _group_notes(record: SeasonRecord, group: GroupPlan) -> list[Noted]:
    own = [*record.groups.get(group.name, _NONE)]
    if _base(group.name) != group.name:
        own += record.groups.get(_base(group.name), _NONE)
    return sorted(own, key=lambda n: n.at)


def _by_tag(females: Mapping[str, Sequence[Noted]]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for female, notes in females.items():
        for note in notes:
            tag = note.body.get("tag")
            if note.kind in {Kind.FEMALE_ADDED, Kind.TAG_CHANGED} and tag:
                found[str(tag)].append(female)
    return found


def _members(
    record: SeasonRecord,
    group: GroupPlan,
    tags: Mapping[str, Sequence[str]],
    span: Span,
    reading: Reading,
) -> list[str]:
    """Females in treatment order, then those treated with the group though no plan counted them."""
    names = {group.name, _base(group.name)}
    joined = reading.lead_days.number + reading.joined_days.number
    until = span.since + timedelta(days=joined)
    others = {name for g in record.plan.groups for name in (g.name, _base(g.name))} - names
    found: list[str] = []
    for tag in group.order:
        held = tags.get(tag, ())
        here = [f for f in held if _group_of(record.females[f], until) in names]
        # one that went over to another group of the plan is counted there
        stayed = [f for f in held if _group_of(record.females[f], until) not in others]
        found += (here or stayed)[:1]
    ids = {s.id for s in group.schedule}
    more = [
        female
        for female, notes in record.females.items()
        if female not in found
        and _group_of(notes, until) in names
        and any(n.body.get("step") in ids for n in span.inside(notes))
    ]
    return list(dict.fromkeys([*found, *more]))


def _group_of(notes: Sequence[Noted], until: datetime) -> str:
    """The group she was in while treated: the last she joined up to an instant."""
    held = [n for n in notes if n.kind is Kind.MOVED and n.at <= until]
    return str(held[-1].body.get("to", "")) if held else ""


def _follow(
    group: GroupPlan,
    seasons: Sequence[Season],
    notes: Sequence[Noted],
    span: Span,
    *,
    near_h: float,
) -> GroupProgress:
    return follow_group(
        group.name,
        group.schedule,
        {one.female: _history(one, span) for one in seasons},
        at=span.until,
        zone=span.zone,
        near_h=near_h,
        as_group=_group_acts(span.inside(notes)),
    )


def _history(season: Season, span: Span) -> History:
    """Her history of this season alone, without what was done to the group as a whole."""
    told = season.now.history()
    own = {n.event for n in season.own}

    def is_inside(at: datetime) -> bool:
        return span.since <= at <= span.until

    return History(
        acts=tuple(a for a in told.acts if is_inside(a.at) and a.event in own),
        heats=tuple(at for at in told.heats if is_inside(at)),
        inseminated=tuple(at for at in told.inseminated if is_inside(at)),
        open_at=tuple(at for at in told.open_at if is_inside(at)),
    )


def _group_acts(notes: Sequence[Noted]) -> list[Act]:
    acts = []
    for note in notes:
        do = _GROUP_DO.get(note.kind, "")
        if note.kind is Kind.FED and note.body.get("feed") == "melengestrol":
            do = "mga_start" if note.body.get("first_day") else ""
            do = "mga_end" if note.body.get("last_day") else do
        if note.kind is Kind.TREATED:
            do = str(note.body.get("act", "other"))
        if do:
            acts.append(Act(do, note.at, note.event, note.by, note.body.get("step")))
    return acts


def _others(seasons: Sequence[Season], span: Span) -> list[Slip]:
    """What a schedule does not show: inserts not found, part doses."""
    found = []
    for one in seasons:
        for note in span.inside(one.own):
            step = str(note.body.get("step") or "")
            if note.kind is Kind.INSERT_REMOVED and not note.body.get("found", True):
                found.append(
                    Slip("lost insert", one.group, one.female, step, "insert out", at=note.at)
                )
            share = note.body.get("dose_share")
            if note.kind is Kind.TREATED and share is not None and float(share) < 1.0:
                words = str(note.body.get("active") or note.body.get("act") or "dose")
                found.append(Slip("part dose", one.group, one.female, step, words, at=note.at))
    return found


def _is_gone(stays: Stays, group: GroupPlan, span: Span) -> bool:
    """Whether she was out of the group before its insemination was over."""
    last = [s.window_utc[1] for s in group.schedule if not s.cancelled and s.do == Do.AI.value]
    return stays.gone_by(min(max(last, default=span.until), span.until))


def _is_treated(season: Season, span: Span) -> bool:
    return any(
        a.do not in {"watch", "preg_check", "bulls_in", "bulls_out"}
        and span.since <= a.at <= span.until
        for a in season.now.acts
    )

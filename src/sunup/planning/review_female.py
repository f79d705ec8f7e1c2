"""One female of a season as a review counts her: from what was recorded of her and her group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.planning.conceptions import BullTime, Insemination
from sunup.planning.female_reading import read_female
from sunup.planning.heats import HeatFigures, InHeat, in_heat_before
from sunup.planning.parentage import Calving, Check, Dam, ParentageFigures
from sunup.planning.pregnancies import keep_last_words
from sunup.planning.review_outcome import Pregnancy, settle
from sunup.planning.review_performance import SpreadFigures
from sunup.planning.review_rows import FemaleResult, Service
from sunup.records.event import Kind
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.females_now import FemaleNow, Noted
    from sunup.planning.females_now import Service as Given

_NOON = 12


@dataclass(frozen=True, slots=True)
class Span:
    """The season's part of a ledger: from the first treatment to the review or the next season.

    Calvings and weanings of the season come later: they are read up to `at`, the review.
    """

    since: datetime
    until: datetime
    zone: ZoneInfo
    at: datetime

    def day(self, at: datetime) -> date:
        """Day of an instant on the ranch's clock."""
        return to_local(at, self.zone).date()

    def inside(self, notes: Sequence[Noted]) -> list[Noted]:
        """What was recorded of the season's own."""
        return [n for n in notes if self.since <= n.at <= self.until]


@dataclass(frozen=True, slots=True)
class Reading:
    """Figures that rows are read with."""

    heats: HeatFigures
    parentage: ParentageFigures
    calving_days: Figure
    weaning_days: Figure
    act_of_step: Figure
    lead_days: Figure
    joined_days: Figure
    spread: SpreadFigures

    @staticmethod
    def of(library: Library) -> Reading:
        """Take them from the library."""
        return Reading(
            heats=HeatFigures.of(library),
            parentage=ParentageFigures.of(library),
            calving_days=library.figure("review.calving_of_season_days"),
            weaning_days=library.figure("review.weaning_of_calf_days"),
            act_of_step=library.figure("practice.act_of_step_hours"),
            lead_days=library.figure("review.season_lead_days"),
            joined_days=library.figure("review.joined_late_days"),
            spread=SpreadFigures.of(library),
        )


@dataclass(frozen=True, slots=True)
class Season:
    """One female's season: her notes, her group's, and what she was at its start."""

    female: str
    group: str
    own: Sequence[Noted]
    of_group: Sequence[Noted]
    now: FemaleNow
    protocol: str


def read_season(
    female: str,
    own: Sequence[Noted],
    of_group: Sequence[Noted],
    *,
    group: str,
    protocol: str,
    span: Span,
    reading: Reading,
) -> Season:
    """Read one female up to the end of the season."""
    before = [n for n in own if n.at <= span.at]
    watched = span.inside(of_group)
    now = read_female(
        female, before, group=group, zone=span.zone, figures=reading.heats, of_group=watched
    )
    return Season(female, group, before, watched, now, protocol)


def make_result(
    season: Season,
    *,
    on_time: bool | None,
    treated: bool,
    span: Span,
    reading: Reading,
    gone: bool = False,
) -> FemaleResult:
    """Make the row of one female.

    Parameters
    ----------
    season : Season
    on_time : bool or None
        Whether all that her pregnancy hangs on was in her windows.
    treated : bool
        Whether any step of the plan was done to her.
    span : Span
    reading : Reading
    gone : bool
        Whether she was out of the group before its insemination was over.

    Returns
    -------
    FemaleResult
    """
    recorded = [s for s in season.now.services if span.since <= s.at <= span.until]
    start = recorded[0].at if recorded else _first_act(season, span)
    then = read_female(
        season.female,
        [n for n in season.own if n.at <= start],
        group=season.group,
        zone=span.zone,
        figures=reading.heats,
    ).facts
    calved = then.calved_on
    settled = settle(
        _pregnancy(season, span, reading, is_heifer=then.class_ is FemaleClass.HEIFER),
        asked_on=span.day(span.at),
        figures=reading.parentage,
    )
    services = []
    before: datetime | None = None
    for i, heat in enumerate(settled.heats):
        same = [recorded[place] for place in heat]
        one = same[0]
        told = {key: {_said(s, key, span) for s in same} for key in _MAY_DIFFER}
        since = before if before is not None else _heat_since(season, one.at, span)
        before = same[-1].at
        services.append(
            Service(
                female=season.female,
                group=season.group,
                class_=then.class_.value,
                protocol=season.protocol,
                number=i + 1,
                at=one.at,
                half=_said(one, "half", span),
                sire=_only(told["sire"]),
                technician=_only(told["technician"]),
                semen=_only(told["semen"]),
                timed=one.timed,
                in_heat=_was_in_heat(season, same, since, reading),
                on_time=on_time,
                condition=then.condition,
                days_since_calving=None if calved is None else (span.day(one.at) - calved).days,
                chance=settled.services[i],
                called_from=reading.parentage.called_from.number,
                straws=sum(s.straws for s in same),
                shared=tuple(key for key, said in told.items() if len(said) > 1),
            )
        )
    until = recorded[0].at if recorded else span.until
    seen = _seen(season, _heat_since(season, until, span), until, reading)
    if seen is None and services:
        seen = services[0].in_heat
    return FemaleResult(
        female=season.female,
        tag=season.now.tag,
        group=season.group,
        class_=then.class_.value,
        protocol=season.protocol,
        treated=treated,
        seen_in_heat=seen,
        condition=then.condition,
        days_since_calving=None if calved is None else (span.day(start) - calved).days,
        services=tuple(services),
        chance=settled.chance,
        called_from=reading.parentage.called_from.number,
        pregnant=settled.pregnant,
        on_time=on_time,
        note=settled.why,
        gone=gone and not services,
    )


_MAY_DIFFER = ("sire", "technician", "semen", "half", "timed")


def _said(one: Given, key: str, span: Span) -> str:
    """What is on file of one insemination, as a level of the review."""
    if key == "half":
        return "morning" if to_local(one.at, span.zone).hour < _NOON else "evening"
    said = str(getattr(one, key))
    return "" if key == "sire" and said == "unknown" else said


def _only(said: set[str]) -> str:
    """The one thing said; empty where the inseminations of a heat differ in it."""
    return next(iter(said)) if len(said) == 1 else ""


def _was_in_heat(
    season: Season, same: Sequence[Given], since: datetime, reading: Reading
) -> bool | None:
    """Whether she was in heat by the last insemination of a heat."""
    noted = [one.in_heat for one in same if one.in_heat is not None]
    if any(noted) or len(noted) == len(same):
        return any(noted)
    return _seen(season, since, same[-1].at, reading)


def find_calving(season: Season, span: Span, reading: Reading) -> Noted | None:
    """The calving this season led to."""
    shortest, longest = reading.calving_days.span
    for note in season.own:
        days = (note.at - span.since).days
        if note.kind is Kind.CALVED and shortest <= days <= longest:
            return note
    return None


def _first_act(season: Season, span: Span) -> datetime:
    acts = [a.at for a in season.now.acts if span.since <= a.at <= span.until]
    return min(acts, default=span.since)


def _heat_since(season: Season, at: datetime, span: Span) -> datetime:
    """From when a heat counts as the answer to treatment: her last PGF, else her first act."""
    doses = [a.at for a in season.now.acts if a.do == "pgf" and span.since <= a.at < at]
    return doses[-1] if doses else _first_act(season, span)


def _seen(season: Season, since: datetime, until: datetime, reading: Reading) -> bool | None:
    looked = [n.at for n in season.of_group if n.kind is Kind.WATCHED]
    told = in_heat_before(
        season.now.sightings, since=since, until=until, looked_at=looked, figures=reading.heats
    )
    return None if told is InHeat.UNKNOWN else told is InHeat.YES


def _pregnancy(season: Season, span: Span, reading: Reading, *, is_heifer: bool) -> Pregnancy:
    inside = span.inside(season.own)
    calving = find_calving(season, span, reading)
    checks = [_check(n, span) for n in inside if n.kind is Kind.PREGNANCY_CHECKED]
    was_found = any(c.result == "pregnant" for c in keep_last_words(checks))
    return Pregnancy(
        services=[
            Insemination(
                on=span.day(s.at), sire=s.sire, is_on_heat=bool(s.in_heat) and not s.timed, at=s.at
            )
            for s in season.now.services
            if span.since <= s.at <= span.until
        ],
        bulls=_bulls([*inside, *season.of_group], span),
        dam=Dam(breeds=season.now.facts.breed_shares, is_heifer=is_heifer),
        checks=checks,
        calving=None if calving is None else _calving(calving, span),
        lost=not was_found and any(n.kind is Kind.ABORTED for n in inside),
    )


def _bulls(notes: Sequence[Noted], span: Span) -> list[BullTime]:
    found: list[BullTime] = []
    open_: list[tuple[date, tuple[str, ...]]] = []
    for note in sorted(notes, key=lambda n: n.at):
        if note.kind is Kind.BULLS_IN:
            open_.append((span.day(note.at), tuple(note.body.get("bulls") or ())))
        elif note.kind is Kind.BULLS_OUT:
            out = set(note.body.get("bulls") or ())
            kept = []
            for start, bulls in open_:
                if out and not out & set(bulls):
                    kept.append((start, bulls))
                else:
                    found.append(BullTime(start, span.day(note.at), bulls))
            open_ = kept
    return [*found, *(BullTime(start, None, bulls) for start, bulls in open_)]


def _check(note: Noted, span: Span) -> Check:
    body = note.body
    return Check(
        on=span.day(note.at),
        method=str(body.get("method", "other")),
        result=str(body.get("result", "unsure")),
        fetal_age_d=body.get("fetal_age_days"),
        fetal_sex=body.get("fetal_sex"),
        fetuses=body.get("fetuses"),
    )


def _calving(note: Noted, span: Span) -> Calving:
    calves = note.body.get("calves") or [{}]
    sexes = {calf.get("sex") for calf in calves}
    sex = sexes.pop() if len(sexes) == 1 else None
    return Calving(on=span.day(note.at), n_calves=max(1, len(calves)), sex=sex)

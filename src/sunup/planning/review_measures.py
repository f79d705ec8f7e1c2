"""Standard performance measures of one season, counted from what was recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.readiness import months_after
from sunup.planning.review import ALL, HerdMeasures
from sunup.planning.review_female import find_calving
from sunup.planning.review_performance import Performance, Start, spread_calvings
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from sunup.planning.females_now import Noted
    from sunup.planning.review_female import Reading, Season, Span
    from sunup.planning.review_rows import FemaleResult


def measure(
    seasons: Sequence[Season],
    results: Mapping[str, FemaleResult],
    *,
    start: Start,
    span: Span,
    reading: Reading,
) -> tuple[HerdMeasures, ...]:
    """Count the measures of every group, and of all of them where there are several.

    Parameters
    ----------
    seasons : sequence of Season
        Females exposed to breeding.
    results : mapping of female to FemaleResult
    start : Start
        Rule of the first window of calving.
    span : Span
    reading : Reading

    Returns
    -------
    tuple of HerdMeasures
    """
    groups = list(dict.fromkeys(s.group for s in seasons))
    told = [
        _measures(
            name, [s for s in seasons if s.group == name], results,
            start=start, span=span, reading=reading,
        )
        for name in groups
    ]  # fmt: skip
    if len(groups) > 1:
        told.append(_measures(ALL, seasons, results, start=start, span=span, reading=reading))
    return tuple(told)


def _measures(
    group: str,
    seasons: Sequence[Season],
    results: Mapping[str, FemaleResult],
    *,
    start: Start,
    span: Span,
    reading: Reading,
) -> HerdMeasures:
    calvings = {s.female: find_calving(s, span, reading) for s in seasons}
    taken = {s.female for s in seasons if _is_taken_out(s, calvings[s.female], results, span)}
    exposed = [s for s in seasons if s.female not in taken]
    ends = [
        results[s.female].pregnant for s in exposed if results[s.female].pregnant is not None
    ]  # fmt: skip
    born = [birth for s in exposed if (birth := calvings[s.female]) is not None]
    alive = dead = 0
    for birth in born:
        calves = birth.body.get("calves") or [{}]
        living = sum(calf.get("alive", True) is not False for calf in calves)
        alive, dead = alive + living, dead + len(calves) - living
    weaned, weight, weighed = _weaned(exposed, calvings, within_d=reading.weaning_days.number)
    performance = Performance(
        exposed=len(exposed),
        checked=len(ends),
        pregnant=sum(map(bool, ends)),
        calved=len(born),
        born_alive=alive,
        born_dead=dead,
        weaned=weaned,
        weaned_weight_kg=weight,
        weighed=weighed,
        taken_out=len(taken),
        has_calved=bool(born),
        has_weaned=weaned > 0,
    )
    days = [
        (span.day(birth.at), _is_mature(s, results[s.female], span.day(birth.at), reading))
        for s in exposed
        if (birth := calvings[s.female]) is not None
    ]
    spread = spread_calvings(
        days, start=start, figures=reading.spread, breeding_on=_breeding_on(seasons, span)
    )
    missing = [s for s in exposed if calvings[s.female] is None and results[s.female].pregnant]
    note = ""
    if born and missing:
        note = (
            f"{len(missing)} found pregnant have no calving on record: calving and weaning are too "
            "low by up to as many."
        )
    if days and spread is None and start is Start.THIRD_MATURE_COW:
        note += (
            " No third mature cow has calved (heifers have none): count from the start of breeding "
            "instead."
        )
    return HerdMeasures(group=group, performance=performance, calvings=spread, note=note.strip())


def _departure(season: Season, span: Span) -> Noted | None:
    """How she left in the season; None where she did not, or is back in a group."""
    gone = None
    for note in season.own:
        if note.at >= span.since and note.kind is Kind.LEFT_HERD:
            gone = note
        elif note.kind is Kind.MOVED:
            gone = None
    return gone


def _is_taken_out(
    season: Season, calving: Noted | None, results: Mapping[str, FemaleResult], span: Span
) -> bool:
    """Gone before calving for another reason than being open; who calved here was here."""
    gone = _departure(season, span)
    if gone is None or calving is not None:
        return False
    was_open = results[season.female].pregnant is False
    return not (was_open and gone.body.get("why") in {"sold", "culled"})


def _weaned(
    seasons: Sequence[Season], calvings: Mapping[str, Noted | None], *, within_d: float
) -> tuple[int, float, int]:
    """Calves weaned, their weight together, how many were weighed; a later weaning is another's."""
    calves, weight, weighed = 0, 0.0, 0
    for season in seasons:
        calving = calvings[season.female]
        if calving is None:
            continue
        for note in season.own:
            if note.kind is Kind.WEANED and 0 < (note.at - calving.at).days <= within_d:
                number = int(note.body.get("calves", 1))
                calves += number
                if note.body.get("weight_kg") is not None:
                    weight += float(note.body["weight_kg"])
                    weighed += number
    return calves, weight, weighed


def _is_mature(season: Season, result: FemaleResult, on: date, reading: Reading) -> bool:
    """Whether she is 3 years or older at this calving; by class where her birth is not on file."""
    born = season.now.facts.born_on
    if born is not None:
        return months_after(born, round(12 * reading.spread.mature.number)) <= on
    return result.class_ != "heifer"


def _breeding_on(seasons: Sequence[Season], span: Span) -> date | None:
    days = [span.day(s.at) for one in seasons for s in one.now.services if s.at >= span.since]
    for one in seasons:
        days += [span.day(n.at) for n in one.of_group if n.kind is Kind.BULLS_IN]
    return min(days, default=None)

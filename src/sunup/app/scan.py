"""Use-cases after insemination: the scan sheet, results, returns, the calving book."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.app.record_facts import record_fact
from sunup.base.problems import UsageError
from sunup.planning.after_ai import (
    BredFemale,
    her_pregnancies,
    herd_book,
    herd_females,
    herd_returns,
    herd_scan_sheet,
    herd_states,
)
from sunup.planning.calving_book import CalvingFigures, Outcome
from sunup.planning.due_dates import due_dates
from sunup.planning.insemination_list import local_day
from sunup.planning.next_season import late_next_season, next_season
from sunup.planning.parentage import ParentageFigures
from sunup.planning.returns import ReturnFigures
from sunup.planning.scan_sheet import METHODS, Advice, ScanFigures, advise_check
from sunup.planning.warnings import Flag, Weight
from sunup.records.event import Kind
from sunup.records.fold import fold

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from sunup.app.desk import Desk
    from sunup.app.record import Entry
    from sunup.planning.calving_book import BookLine, Pregnancy
    from sunup.planning.next_season import NextSeason
    from sunup.planning.returns import ReturnDue
    from sunup.planning.scan_sheet import Expected

_NOW = (
    "Read the tag again and ask who checked. If the finding is right, a service, a bull or a date "
    "is missing or wrong: record it with its own --at; if not, put the finding right (sunup record "
    "correct)."
)
RESULTS = ("pregnant", "not_pregnant", "unsure")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A scan sheet with when to scan each group; `states` says where every female stands."""

    on: date
    method: str
    lines: tuple[Expected, ...]
    advice: tuple[tuple[str, Advice], ...]


def bred_females(desk: Desk) -> tuple[BredFemale, ...]:
    """Every female with her services, checks and calvings, as it stood at the desk's instant."""
    season = desk.season
    # as it stood: who has left since was there then; who an unlisted tag is holds for all times
    told = [e for e in desk.standing if e.occurred_at <= season.at or e.kind is Kind.IDENTIFIED]
    return herd_females(
        fold(told), zone=season.zone, until=season.at, sire_breeds=season.sire_breeds
    )


def find_sheet(
    desk: Desk, *, on: date | None = None, method: str = "ultrasound", everybody: bool = False
) -> Sheet:
    """Draw the scan sheet of a day.

    Raises
    ------
    UsageError
        If the method is none we know.
    """
    if method not in METHODS:
        message = f"--method '{method}' is not known. Choose one of: {', '.join(METHODS)}."
        raise UsageError(message)
    figures = ScanFigures.of(desk.library)
    day = on or local_day(desk.season.at, desk.season)
    females = bred_females(desk)
    lines = herd_scan_sheet(females, on=day, method=method, all_of_them=everybody, figures=figures)
    return Sheet(day, method, lines, _advice(lines, method, figures))


def _advice(
    lines: Sequence[Expected], method: str, figures: ScanFigures
) -> tuple[tuple[str, Advice], ...]:
    groups = dict.fromkeys(line.exposed.group for line in lines)
    told = []
    for group in groups:
        own = [line.exposed for line in lines if line.exposed.group == group]
        days = [day for one in own for day in one.ai_on]
        if not days:
            continue
        # bulls before the first AI (of the herd list) are not the clean-up bulls
        after = [
            one
            for one in own
            if one.ai_on and one.bulls_in_on is not None and one.bulls_in_on >= min(one.ai_on)
        ]
        bulls_in = [one.bulls_in_on for one in after if one.bulls_in_on is not None]
        bulls_out = [one.bulls_out_on for one in after if one.bulls_out_on is not None]
        first_in = min(bulls_in, default=None)
        # a return inseminated among the bulls is no "last AI" that their calves are younger than
        before = [day for day in days if first_in is None or day <= first_in]
        later = [one.tag for one in after if max(one.ai_on) > (one.bulls_in_on or max(one.ai_on))]
        advice = advise_check(
            first_ai_on=min(days),
            last_ai_on=max(before),
            bulls_in_on=first_in,
            bulls_out_on=max(bulls_out, default=None),
            inseminated_with_bulls=later,
            method=method,
            figures=figures,
        )
        told.append((group, advice))
    return tuple(told)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a pregnancy check found, said once for a list of females."""

    result: str
    method: str = "ultrasound"
    fetal_age_days: float | None = None
    fetuses: int | None = None
    fetal_sex: str | None = None
    operator: str | None = None
    note: str | None = None


def record_findings(
    desk: Desk, tags: Sequence[str], finding: Finding, *, at: datetime
) -> tuple[Entry, dict[str, str]]:
    """Record pregnancy findings; return the entry and where each female stands now, by her id.

    Raises
    ------
    UsageError
        If the result or the method is none we know.
    """
    result = finding.result.replace(" ", "_").replace("-", "_")
    if result not in RESULTS:
        message = f"--result '{finding.result}': write pregnant, not_pregnant or unsure."
        raise UsageError(message)
    if finding.method not in {*METHODS, "other"}:
        message = f"--method '{finding.method}': write {', '.join(METHODS)} or other."
        raise UsageError(message)
    body = {
        "method": finding.method,
        "result": result,
        "fetal_age_days": finding.fetal_age_days,
        "fetuses": finding.fetuses,
        "fetal_sex": finding.fetal_sex,
        "operator": finding.operator,
        "note": finding.note,
    }
    words = f"{finding.method}: {result.replace('_', ' ')}"
    entry = record_fact(desk, tags, Kind.PREGNANCY_CHECKED, body, at=at, words=words)
    after = desk.with_more(entry.events).looking_at(max(at, desk.season.at))
    females = {line.female for line in entry.lines}
    own = [f for f in bred_females(after) if f.female in females]
    doubts = _doubt_findings(after, own, finding, on=local_day(at, after.season))
    lines = tuple(
        replace(line, flags=(*line.flags, *((words, flag) for flag in doubts[line.female])))
        if line.female in doubts
        else line
        for line in entry.lines
    )
    return replace(entry, lines=lines), find_states(after, own)


def _doubt_findings(
    desk: Desk, females: Sequence[BredFemale], finding: Finding, *, on: date
) -> dict[str, tuple[Flag, ...]]:
    """What does not fit of a pregnant finding just recorded, by the female's id."""
    figures = ParentageFigures.of(desk.library)
    always = (*_too_young(finding, figures), *_open_with_fetus(finding))
    found: dict[str, tuple[Flag, ...]] = {}
    for female in females:
        told = list(always)
        checks = [c for c in female.now.checks if c.on == on and c.result == "pregnant"]
        if checks:
            one = her_pregnancies(female, today=on, parents=figures)
            parentage = one[-1].parentage if one and one[-1].ended_on is None else None
            if parentage is None or not parentage.candidates or not parentage.fits:
                text = _no_fit(female, finding, on=on)
                due = None if parentage is None else due_dates(parentage)
                if due is not None:
                    text += f". By the age of the fetus she is {due.words}"
                told.append(Flag("finding_fits_no_service", Weight.WARN, text, _NOW))
            elif parentage.age_off_d:
                text = _no_fit(female, finding, on=on, off_d=parentage.age_off_d)
                told.append(Flag("fetal_age_off", Weight.WARN, text, _NOW))
        if told:
            found[female.female] = tuple(told)
    return found


def _too_young(finding: Finding, figures: ParentageFigures) -> tuple[Flag, ...]:
    age, seen = finding.fetal_age_days, figures.seen_from.get(finding.method)
    if age is None or seen is None or age >= seen.number:
        return ()
    text = (
        f"an age of {age:g} days: {finding.method} finds a pregnancy from about day "
        f"{seen.number:g} on"
    )
    return (Flag("fetal_age_too_young", Weight.WARN, text, _NOW, seen.source),)


def _open_with_fetus(finding: Finding) -> tuple[Flag, ...]:
    said = [
        words
        for value, words in (
            (finding.fetal_age_days, "the age of a fetus"),
            (finding.fetuses, "a number of fetuses"),
            (finding.fetal_sex, "the sex of a fetus"),
        )
        if value
    ]
    if not said or finding.result.replace(" ", "_").replace("-", "_") != "not_pregnant":
        return ()
    text = f"found open, with {' and '.join(said)} beside it"
    return (Flag("open_with_fetus", Weight.WARN, text, _NOW),)


def _no_fit(female: BredFemale, finding: Finding, *, on: date, off_d: float = 0.0) -> str:
    """A pregnant finding against the services on file, in words."""
    age = finding.fetal_age_days
    said = "found pregnant" + (f" {age:g} days" if age is not None else "")
    served = [s for s in female.now.inseminations if s.on <= on]
    days = [f"AI {s.on.day} {s.on:%b %Y}, {(on - s.on).days} days before" for s in served[-3:]]
    days += [
        f"bulls from {b.from_on.day} {b.from_on:%b %Y}"
        + (f" to {b.until_on.day} {b.until_on:%b %Y}" if b.until_on else "")
        for b in female.now.bulls
        if b.from_on <= on
    ]
    if not days:
        return f"{said}, and no service or bull of hers is on file since her last calving"
    what = f"{off_d:.0f} days off every service" if off_d else "which fits no service"
    return f"{said}, {what} on file: {'; '.join(days)}"


def find_states(desk: Desk, females: Sequence[BredFemale] | None = None) -> dict[str, str]:
    """Where each female stands: "inseminated", "pregnant to AI", "calved"; by her id."""
    return herd_states(
        bred_females(desk) if females is None else females,
        today=local_day(desk.season.at, desk.season),
        parents=ParentageFigures.of(desk.library),
    )


def find_returns(desk: Desk) -> tuple[ReturnDue, ...]:
    """Females whose return to heat is to be looked for at the desk's day."""
    return herd_returns(
        bred_females(desk),
        on=local_day(desk.season.at, desk.season),
        figures=ReturnFigures.of(desk.library),
    )


def find_book(
    desk: Desk, *, since: date | None = None, females: Sequence[BredFemale] | None = None
) -> tuple[BookLine, ...]:
    """The calving book at the desk's day."""
    return herd_book(
        bred_females(desk) if females is None else females,
        today=local_day(desk.season.at, desk.season),
        since=since,
        parents=ParentageFigures.of(desk.library),
        figures=CalvingFigures.of(desk.library),
    )


def find_pregnancies(desk: Desk) -> dict[str, tuple[Pregnancy, ...]]:
    """Every pregnancy of each female, running and over, the last one last; by her id."""
    found: dict[str, list[Pregnancy]] = {}
    today = local_day(desk.season.at, desk.season)
    parents = ParentageFigures.of(desk.library)
    for female in bred_females(desk):
        found[female.female] = list(her_pregnancies(female, today=today, parents=parents))
    return {her: tuple(told) for her, told in found.items() if told}


@dataclass(frozen=True, slots=True)
class AtStart:
    """How long since calving at the next season's first insemination; `late` latest first.

    No day can be counted for the rest, by tag: `unchecked` were served and not yet checked, `ended`
    lost the pregnancy, `idle` are cows not served, and females found open.
    """

    first_ai_on: date
    every: tuple[NextSeason, ...]
    late: tuple[NextSeason, ...]
    unchecked: tuple[str, ...] = ()
    ended: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()


def find_at_start(desk: Desk, *, first_ai_on: date) -> AtStart:
    """Who will have the days since calving at the next season's first insemination, who will not.

    Females that left the herd are left out; heifers not yet served are not in it.

    Raises
    ------
    UsageError
        If the day is past.
    """
    today = local_day(desk.season.at, desk.season)
    if first_ai_on < today:
        message = (
            f"--first-ai {first_ai_on} is past (today is {today}): give the day of next season's "
            "first insemination."
        )
        raise UsageError(message)
    figures = CalvingFigures.of(desk.library)
    here = {f.id for f in desk.season.females.values() if f.is_here}
    # the pregnancy that counts is the last: one that ended a year before has its own season
    females = bred_females(desk)
    last: dict[str, BookLine] = {}
    for line in find_book(desk, females=females):
        one = line.pregnancy
        if one.female in last and not one.is_confirmed and one.due is not None:
            calved = last[one.female].outcome is Outcome.CALVED
            if calved and one.due.early_on > first_ai_on:
                continue  # served since, and no calf of it before then: her last calving counts
        last[one.female] = line
    lines = [line for her, line in last.items() if her in here]
    checked = [line for line in lines if line.pregnancy.is_confirmed]
    told = [(line, next_season(line, first_ai_on=first_ai_on, figures=figures)) for line in checked]
    return AtStart(
        first_ai_on,
        tuple(one for _, one in told if one is not None),
        late_next_season(checked, first_ai_on=first_ai_on, figures=figures),
        unchecked=tuple(
            sorted(line.pregnancy.tag for line in lines if not line.pregnancy.is_confirmed)
        ),
        ended=tuple(sorted(line.pregnancy.tag for line, one in told if one is None)),
        idle=tuple(
            sorted(
                f.tag
                for f in females
                if f.female in here
                and f.female not in last
                and (not f.now.is_heifer or f.now.found == "not_pregnant")
            )
        ),
    )

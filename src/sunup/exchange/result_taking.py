"""Result rows against the ledger: what is new, what is there already, what must be asked about."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import at_local, to_local
from sunup.base.problems import Problem, Severity
from sunup.exchange.drafts import Aside, Difference, Drafted, draw_id, fact_id
from sunup.exchange.held_against import (
    contradict,
    finding_words,
    hold_against,
)
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

    from sunup.exchange.plausible import Limits
    from sunup.exchange.results_file import ResultFile, ResultRow
    from sunup.exchange.roster import Known, Roster

_NOON = time(12)  # stands for a day without a clock time; the body then says day_only
_TO_COME = "its time is still to come: check the hour, and morning or afternoon"


@dataclass(slots=True)
class Taking:
    """What taking a file would do.

    `drafts` would be recorded; `already` are rows the ledger holds; `aside` are rows left out
    until somebody decides; `unlisted` are tags nobody has on file that would be kept as such;
    `differences` are facts taken though the ledger says otherwise of that day.
    """

    drafts: list[Drafted] = field(default_factory=list)
    already: int = 0
    aside: list[Aside] = field(default_factory=list)
    unlisted: list[str] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def draft_results(
    file: ResultFile,
    roster: Roster,
    *,
    ranch: str,
    zone: ZoneInfo,
    limits: Limits,
    keep_unknown: bool = True,
    now: datetime | None = None,
) -> Taking:
    """Match the rows of a result list with the herd.

    Parameters
    ----------
    file : ResultFile
    roster : Roster
    ranch : str
    zone : ZoneInfo
        Of the ranch: clock times of a list are its.
    limits : Limits
    keep_unknown : bool
        Keep rows of tags nobody has on file under an unlisted female; else they are put aside.
    now : datetime, optional
        UTC; a row with a clock time after it is put aside.

    Returns
    -------
    Taking
    """
    taking = Taking()
    drafted: dict[str, tuple[Drafted, Known | None, str]] = {}
    calvings: dict[tuple[str, datetime], Drafted] = {}
    for row in file.rows:
        match = roster.find(row.tag, row.rfid)
        name = row.tag or row.rfid or ""
        if match.look:
            _look(taking, file, row, f"{match.look[0].upper()}{match.look[1:]}; taken by RFID.")
        known = match.female
        at, day_only = _instant(row, zone)
        if now is not None and not day_only and at > now:
            taking.aside.append(Aside(row.row, name, _TO_COME))
            continue
        if known is None and not (match.is_unknown and keep_unknown):
            taking.aside.append(Aside(row.row, name, match.why))
            continue
        female = known.id if known else _unlisted(taking, row, ranch, at)
        for said in row.facts:
            body = {**said.body, "day_only": True} if day_only else dict(said.body)
            one = Drafted(
                fact_id(ranch, said.kind, female, at, body),
                said.kind,
                female,
                at,
                body,
                row=row.row,
                by=row.by,
            )
            if one.id in drafted:
                taking.already += 1  # a row told twice is one
                continue
            if one.kind is Kind.CALVED:
                twin = calvings.get((female, at))  # twins have a row each
                if twin is not None:
                    del drafted[twin.id]
                    one = _twins(twin, one)
                calvings[female, at] = one
            drafted[one.id] = (one, known, name)
    for one, known, name in drafted.values():
        facts = known.facts if known is not None else ()
        verdict = hold_against(
            facts, one, zone, limits=limits, who=known.words if known is not None else ""
        )
        taking.differences += verdict.differences
        if verdict.is_known:
            taking.already += 1
        elif verdict.why:
            taking.aside.append(Aside(one.row, name, verdict.why))
        else:
            taking.drafts.append(one)
    names = {one.id: name for one, _, name in drafted.values()}
    _two_calvings(taking, names, limits)
    _two_findings(taking, names, zone, limits)
    return taking


def _instant(row: ResultRow, zone: ZoneInfo) -> tuple[datetime, bool]:
    """The instant of a row, and whether only its day is known."""
    when = row.when
    if when is None:
        message = "a row without a day was not taken by the reader"
        raise AssertionError(message)
    if when.utc is not None:
        return when.utc.astimezone(UTC), False
    return at_local(when.day, when.clock or _NOON, zone).utc, when.clock is None


def _unlisted(taking: Taking, row: ResultRow, ranch: str, at: datetime) -> str:
    """Keep a tag nobody has on file as a female of its own, who can be identified later."""
    name = row.tag or row.rfid or ""
    female = draw_id(ranch, "unlisted", (row.tag or "").casefold(), row.rfid)
    body = {"tag": name, "listed": False}
    if row.rfid:
        body["rfid"] = row.rfid
    added = Drafted(draw_id(female, "added"), Kind.FEMALE_ADDED, female, at, body, row=row.row)
    if name not in taking.unlisted:
        taking.unlisted.append(name)
        taking.drafts.append(added)
    return female


def _two_calvings(taking: Taking, names: Mapping[str, str], limits: Limits) -> None:
    """Put aside the calvings of a female whom the list gives two too near each other."""
    by_female: dict[str | None, list[Drafted]] = {}
    for one in taking.drafts:
        if one.kind is Kind.CALVED:
            by_female.setdefault(one.female, []).append(one)
    for calvings in by_female.values():
        calvings.sort(key=lambda one: one.at)
        near = timedelta(days=limits.pregnancy_days[0])
        for first, second in itertools.pairwise(calvings):
            if second.at - first.at >= near:
                continue
            why = f"rows {first.row} and {second.row} give her two calvings"
            for one in (first, second):
                if one in taking.drafts:
                    taking.drafts.remove(one)
                    taking.aside.append(Aside(one.row, names[one.id], why))


def _two_findings(taking: Taking, names: Mapping[str, str], zone: ZoneInfo, limits: Limits) -> None:
    """Put aside the findings of a female whom the list gives two of one day that cannot both be."""
    by_day: dict[tuple[str | None, date], list[Drafted]] = {}
    for one in taking.drafts:
        if one.kind is Kind.PREGNANCY_CHECKED:
            by_day.setdefault((one.female, to_local(one.at, zone).date()), []).append(one)
    for (_, day), found in by_day.items():
        for first, second in itertools.combinations(found, 2):
            if not contradict(first.body, second.body, limits):
                continue
            why = (
                f"rows {first.row} and {second.row} say {finding_words(first.body)} and "
                f"{finding_words(second.body)} of her on {day}: ask who checked, and leave one"
            )
            for one in (first, second):
                if one in taking.drafts:
                    taking.drafts.remove(one)
                    taking.aside.append(Aside(one.row, names[one.id], why))


def _twins(first: Drafted, second: Drafted) -> Drafted:
    calves = [*first.body.get("calves", []), *second.body.get("calves", [])]
    body: dict[str, Any] = {**first.body, **second.body, "calves": calves}
    eases = [body_["ease"] for body_ in (first.body, second.body) if "ease" in body_]
    if eases:
        body["ease"] = max(eases)
    return replace(first, id=draw_id(first.id, second.id), body=body)


def _look(taking: Taking, file: ResultFile, row: ResultRow, what: str) -> None:
    taking.problems.append(
        Problem(
            where=f"{file.place} row {row.row}",
            what=what,
            fix="Mend the tag here or in the list.",
            severity=Severity.WARNING,
            row=row.row,
        )
    )

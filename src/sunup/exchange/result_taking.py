"""Result rows against the ledger: what is new, what is there already, what must be asked about."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import at_local, to_local
from sunup.base.problems import Problem, Severity
from sunup.exchange.drafts import Aside, Difference, Drafted, draw_id, fact_id
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

    from sunup.exchange.results_file import ResultFile, ResultRow
    from sunup.exchange.roster import Known, Roster
    from sunup.exchange.standing import Standing

_NOON = time(12)  # stands for a day without a clock time; the body then says day_only
CALVINGS_APART_DAYS = 200  # assumed: two calvings nearer than this are one told twice
_TO_COME = "its time is still to come: check the hour, and morning or afternoon"
AGES_APART_DAYS = 15  # assumed: ages of a fetus on one day that differ by more are not of one
_SAME_ACT_H = 12  # assumed: the same drug again within half a day is one treatment told twice
_ONCE = frozenset({Kind.TREATED, Kind.INSERT_PLACED, Kind.INSERT_REMOVED, Kind.VACCINATED})
_VALUES = {
    Kind.WEIGHED: "weight_kg",
    Kind.CONDITION_SCORED: "score",
    Kind.TRACT_SCORED: "score",
    Kind.PELVIS_MEASURED: "area_cm2",
    Kind.PREGNANCY_CHECKED: "result",
    Kind.OVARY_SCANNED: "cycling",
}


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
        why = _judge(taking, known, one, zone)
        if why == "":
            taking.drafts.append(one)
        elif why is not None:
            taking.aside.append(Aside(one.row, name, why))
    names = {one.id: name for one, _, name in drafted.values()}
    _two_calvings(taking, names)
    _two_findings(taking, names, zone)
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


def _two_calvings(taking: Taking, names: Mapping[str, str]) -> None:
    """Put aside the calvings of a female whom the list gives two too near each other."""
    by_female: dict[str | None, list[Drafted]] = {}
    for one in taking.drafts:
        if one.kind is Kind.CALVED:
            by_female.setdefault(one.female, []).append(one)
    for calvings in by_female.values():
        calvings.sort(key=lambda one: one.at)
        near = timedelta(days=CALVINGS_APART_DAYS)
        for first, second in itertools.pairwise(calvings):
            if second.at - first.at >= near:
                continue
            why = f"rows {first.row} and {second.row} give her two calvings"
            for one in (first, second):
                if one in taking.drafts:
                    taking.drafts.remove(one)
                    taking.aside.append(Aside(one.row, names[one.id], why))


def _two_findings(taking: Taking, names: Mapping[str, str], zone: ZoneInfo) -> None:
    """Put aside the findings of a female whom the list gives two of one day that cannot both be."""
    by_day: dict[tuple[str | None, date], list[Drafted]] = {}
    for one in taking.drafts:
        if one.kind is Kind.PREGNANCY_CHECKED:
            by_day.setdefault((one.female, to_local(one.at, zone).date()), []).append(one)
    for (_, day), found in by_day.items():
        for first, second in itertools.combinations(found, 2):
            if not _contradict(first.body, second.body):
                continue
            why = (
                f"rows {first.row} and {second.row} say {_finding_words(first.body)} and "
                f"{_finding_words(second.body)} of her on {day}: ask who checked, and leave one"
            )
            for one in (first, second):
                if one in taking.drafts:
                    taking.drafts.remove(one)
                    taking.aside.append(Aside(one.row, names[one.id], why))


def _contradict(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two findings of one day cannot both be true; "unsure" speaks against none."""
    results = {one.get("result"), other.get("result")}
    if "unsure" in results:
        return False
    if len(results) > 1:
        return True
    age, other_age = one.get("fetal_age_days"), other.get("fetal_age_days")
    return age is not None and other_age is not None and abs(age - other_age) > AGES_APART_DAYS


def _finding_words(body: Mapping[str, Any]) -> str:
    words = "open" if body.get("result") == "not_pregnant" else str(body.get("result"))
    age = body.get("fetal_age_days")
    return words if age is None else f"{words} {age:g} days"


def _twins(first: Drafted, second: Drafted) -> Drafted:
    calves = [*first.body.get("calves", []), *second.body.get("calves", [])]
    body: dict[str, Any] = {**first.body, **second.body, "calves": calves}
    eases = [body_["ease"] for body_ in (first.body, second.body) if "ease" in body_]
    if eases:
        body["ease"] = max(eases)
    return replace(first, id=draw_id(first.id, second.id), body=body)


def _judge(taking: Taking, known: Known | None, one: Drafted, zone: ZoneInfo) -> str | None:
    """Hold a fact against those on file: "" new, None there already, else why it is put aside."""
    if known is None or known.added is None:
        return ""
    day = to_local(one.at, zone).date()
    same_kind = [fact for fact in known.facts if fact.kind is one.kind]
    if any(fact.id == one.id for fact in same_kind):
        taking.already += 1
        return None
    if one.kind is Kind.CALVED:
        return _judge_calving(taking, same_kind, one, zone)
    if one.kind in _ONCE:
        act = one.body.get("act") or one.body.get("against")
        alike = [f for f in same_kind if (f.body.get("act") or f.body.get("against")) == act]
        if any(_is_the_same(fact, one) for fact in alike):
            taking.already += 1
            return None
        for fact in alike:
            other = to_local(fact.at, zone)
            near = abs(fact.at - one.at) <= timedelta(hours=_SAME_ACT_H)
            if near or (other.date() == day and one.body.get("day_only")):
                return f"the same is on file for {other:%Y-%m-%d %H:%M}: was it given twice?"
        return ""
    key = _VALUES.get(one.kind)
    if key is None:
        return ""
    if one.kind is Kind.PREGNANCY_CHECKED:
        for fact in same_kind:
            if to_local(fact.at, zone).date() == day and _contradict(fact.body, one.body):
                return (
                    f"on file of {day}: {_finding_words(fact.body)}; the list says "
                    f"{_finding_words(one.body)}. Ask who checked; if the list is right, put the "
                    f"entry right first (sunup record correct {fact.id[:8]})"
                )
    for fact in same_kind:
        if to_local(fact.at, zone).date() != day:
            continue
        if _equal(fact.body.get(key), one.body.get(key)):
            taking.already += 1
            return None
        differing = Difference(
            one.row,
            known.words,
            f"{key.replace('_', ' ')} on {day}",
            str(fact.body.get(key)),
            str(one.body.get(key)),
        )
        taking.differences.append(differing)
    return ""


def _is_the_same(fact: Standing, one: Drafted) -> bool:
    """Whether a treatment is the one on file: its minute (a list knows no seconds), drug, amount.

    What either does not say speaks against nothing; what "other" was stands in its note.
    """
    if one.body.get("day_only") or _minute(fact.at) != _minute(one.at):
        return False
    told_by_note = one.body.get("act") == "other"
    for key in ("active", "dose_ml", "lot", "found", *(("note",) if told_by_note else ())):
        on_file, told = fact.body.get(key), one.body.get(key)
        if on_file is not None and told is not None and not _equal(on_file, told):
            return False
    return True


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)


def _judge_calving(
    taking: Taking, on_file: list[Standing], one: Drafted, zone: ZoneInfo
) -> str | None:
    day = to_local(one.at, zone).date()
    for fact in on_file:
        other = to_local(fact.at, zone).date()
        apart = abs((other - day).days)
        if apart == 0:
            said = {k: v for k, v in one.body.items() if k != "day_only"}
            if all(fact.body.get(key) == value for key, value in said.items()):
                taking.already += 1
                return None
            return f"a calving of {other} is on file with other facts: correct that one"
        if apart < CALVINGS_APART_DAYS:
            return f"a calving of {other} is on file, {apart} days from this one"
    return ""


def _equal(one: object, other: object) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) < 0.05
    return one == other


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

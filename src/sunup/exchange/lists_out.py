"""Lists out of the ledger, with the headers our own readers know: what goes out comes in again."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.table_out import Cell, OutTable, guard
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from zoneinfo import ZoneInfo

    from sunup.exchange.roster import Known, Roster
    from sunup.exchange.standing import Standing

_HERD = (
    "Tag",
    "RFID",
    "Class",
    "Group",
    "Breed",
    "Born",
    "Calved",
    "BCS",
    "Weight (kg)",
    "Mature weight (kg)",
    "Tract score",
    "Sire",
    "Dam",
    "Remarks",
)
_CAPITAL = re.compile(r"(?<!^)([A-Z])")  # that begins a word of the name of a kind of event
_NEXT = {"heifer": "first_calf_cow", "first_calf_cow": "cow", "cow": "cow"}
_ACTS = {
    "gnrh": "GnRH",
    "pgf": "PGF",
    "estradiol_benzoate": "estradiol benzoate",
    "estradiol_cypionate": "estradiol cypionate",
    "ecg": "eCG",
}
_ACTIVES_READ = {"dinoprost", "cloprostenol", "buserelin"}
_HEADERS: dict[ResultKind, tuple[str, ...]] = {
    ResultKind.CALVINGS: (
        "Dam", "Dam RFID", "Calved", "Calving ease", "Retained placenta", "Calf sex", "Alive",
        "Birth weight (kg)", "Calf tag", "Remarks",
    ),
    ResultKind.WEIGHTS: ("Tag", "RFID", "Date", "Weight (kg)", "Remarks"),
    ResultKind.CONDITION: ("Tag", "RFID", "Date", "BCS", "Remarks"),
    ResultKind.SCANS: (
        "Tag", "RFID", "Date", "Cycling", "CL seen", "Follicle mm", "Tract score", "Pelvic area",
        "Remarks",
    ),
    ResultKind.PREGNANCY: (
        "Tag", "RFID", "Check date", "Pregnancy", "Method", "Fetal age days", "Fetuses",
        "Fetal sex", "Operator", "Remarks",
    ),
    ResultKind.TREATMENTS: (
        "Tag", "RFID", "Date", "Treatment", "Dose ml", "Lot", "Expires", "Withdrawal days",
        "Site", "By", "Remarks",
    ),
}  # fmt: skip
_KINDS: dict[ResultKind, frozenset[Kind]] = {
    ResultKind.CALVINGS: frozenset({Kind.CALVED}),
    ResultKind.WEIGHTS: frozenset({Kind.WEIGHED}),
    ResultKind.CONDITION: frozenset({Kind.CONDITION_SCORED}),
    ResultKind.SCANS: frozenset({Kind.OVARY_SCANNED, Kind.TRACT_SCORED, Kind.PELVIS_MEASURED}),
    ResultKind.PREGNANCY: frozenset({Kind.PREGNANCY_CHECKED}),
    ResultKind.TREATMENTS: frozenset(
        {Kind.TREATED, Kind.INSERT_PLACED, Kind.INSERT_REMOVED, Kind.VACCINATED}
    ),
}


def herd_table(roster: Roster, zone: ZoneInfo) -> OutTable:
    """List the females that are here, with what is known of each last."""
    rows = [_herd_row(known, zone) for known in roster.by_id.values() if known.is_here]
    return OutTable("Herd", _HERD, tuple(sorted(rows, key=lambda row: str(row[0]))))


def result_table(kind: ResultKind, roster: Roster, zone: ZoneInfo) -> OutTable:
    """List all results of a kind, in time order."""
    found = [
        (fact, known)
        for known in roster.by_id.values()
        for fact in known.facts
        if fact.kind in _KINDS[kind]
    ]
    found.sort(key=lambda pair: (pair[0].at, pair[0].id))
    rows = tuple(row for fact, known in found for row in _rows(kind, fact, known, zone))
    return OutTable(kind.value.capitalize(), _HEADERS[kind], rows)


def events_table(standing: Sequence[Standing], roster: Roster, zone: ZoneInfo) -> OutTable:
    """List every event as it stands: for looking things up, not for reading in again."""
    headers = ("When", "What", "Tag", "RFID", "Group", "Facts", "By", "Entered", "Event")
    rows: list[tuple[Cell, ...]] = []
    for one in standing:
        if one.is_taken_back:
            continue
        known = roster.by_id.get(one.female or "")
        facts = "; ".join(
            f"{key.replace('_', ' ')} {_said(value)}"
            for key, value in one.body.items()
            if not isinstance(value, dict | list) and key != "day_only"
        )
        rows.append(
            (
                _when(one, zone),
                _CAPITAL.sub(r" \1", one.kind.value).capitalize(),
                known.tag if known else None,
                known.rfid if known else None,
                one.group,
                facts,
                one.by,
                _wall(one.created_at, zone),
                one.id,
            )
        )
    return OutTable("Events", headers, tuple(rows))


def _said(value: object) -> str:
    return guard(value) if isinstance(value, bool | float) else str(value)


def _wall(at: Any, zone: ZoneInfo) -> Cell:
    return to_local(at, zone).replace(tzinfo=None, microsecond=0)


def _when(one: Standing, zone: ZoneInfo) -> Cell:
    """The day, with its hour where that is known."""
    if one.body.get("day_only"):
        return to_local(one.at, zone).date()
    return _wall(one.at, zone)


def _herd_row(known: Known, zone: ZoneInfo) -> tuple[Cell, ...]:
    body = known.added.body if known.added else {}
    calved = [fact for fact in known.facts if fact.kind is Kind.CALVED]
    class_ = body.get("class")
    for _ in calved:
        class_ = _NEXT.get(str(class_), class_)
    days = [to_local(fact.at, zone).date() for fact in calved]
    if body.get("calved_on"):
        days.append(date.fromisoformat(body["calved_on"]))
    shares = body.get("breed_shares") or {}
    breed = " ".join(f"{share * 100:g}% {name}," for name, share in shares.items()).rstrip(",")
    return (
        known.tag,
        known.rfid,
        str(class_ or "").replace("first_calf_cow", "first-calf cow") or None,
        known.group,
        breed or None,
        date.fromisoformat(body["born_on"]) if body.get("born_on") else None,
        max(days, default=None),
        _last(known, Kind.CONDITION_SCORED, "score"),
        _last(known, Kind.WEIGHED, "weight_kg"),
        body.get("mature_weight_kg"),
        _last(known, Kind.TRACT_SCORED, "score"),
        body.get("sire"),
        body.get("dam"),
        body.get("note"),
    )


def _last(known: Known, kind: Kind, key: str) -> Cell:
    for fact in reversed(known.facts):
        if fact.kind is kind and key in fact.body:
            value: Cell = fact.body[key]
            return value
    return None


def _rows(
    kind: ResultKind, one: Standing, known: Known, zone: ZoneInfo
) -> Iterator[tuple[Cell, ...]]:
    get = one.body.get
    who = (known.tag, known.rfid, _when(one, zone))
    note = get("note")
    if kind is ResultKind.CALVINGS:
        for calf in get("calves") or [{}]:
            yield (
                *who, get("ease"), get("retained_membranes"), calf.get("sex"), calf.get("alive"),
                calf.get("weight_kg"), calf.get("tag"), note,
            )  # fmt: skip
    elif kind in {ResultKind.WEIGHTS, ResultKind.CONDITION}:
        yield (*who, get("weight_kg", get("score")), note)
    elif kind is ResultKind.SCANS:
        score = get("score") if one.kind is Kind.TRACT_SCORED else None
        cycling = get("cycling")
        words = None if cycling is None else ("cycling" if cycling else "not cycling")
        area = get("area_cm2")
        yield (*who, words, get("luteum"), get("follicle_mm"), score, area, note)
    elif kind is ResultKind.PREGNANCY:
        result = str(get("result")).replace("_", " ")
        method = None if get("method") == "other" else get("method")
        yield (
            *who, result, method, get("fetal_age_days"), get("fetuses"), get("fetal_sex"),
            get("operator"), note,
        )  # fmt: skip
    else:
        expires = get("expires_on")
        yield (
            *who, _act_words(one), get("dose_ml"), get("lot"),
            date.fromisoformat(expires) if expires else None, get("withdrawal_days"), get("site"),
            one.by, note,
        )  # fmt: skip


def _act_words(one: Standing) -> str:
    if one.kind is Kind.INSERT_PLACED:
        return "insert in"
    if one.kind is Kind.INSERT_REMOVED:
        return "insert out" if one.body.get("found", True) else "insert not found"
    if one.kind is Kind.VACCINATED:
        return f"vaccine against {one.body.get('against')}"
    active, act = one.body.get("active"), str(one.body.get("act"))
    if active in _ACTIVES_READ or str(active).startswith("gonadorelin_"):
        return str(active).replace("_", " ")
    return _ACTS.get(act, act)

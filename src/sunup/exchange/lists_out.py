"""Lists out of the ledger, with the headers our own readers know: what goes out comes in again."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from sunup.base.hours import to_local
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.table_out import Cell, OutTable, guard
from sunup.records.event import Kind
from sunup.records.female import ExposureKind, Female

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
    from zoneinfo import ZoneInfo

    from sunup.exchange.roster import Known, Roster
    from sunup.exchange.standing import Standing


class _Days(NamedTuple):
    from_on: date | None
    until_on: date | None


_HERD: dict[str, Callable[[Female], Cell]] = {
    "Tag": lambda f: f.tag,
    "RFID": lambda f: f.rfid,
    "Class": lambda f: f.class_.words,
    "Group": lambda f: f.group or None,
    "Breed": lambda f: (
        " ".join(f"{s * 100:g}% {w}," for w, s in f.breed_shares).rstrip(",") or None
    ),
    "Born": lambda f: f.born_on,
    "Calved": lambda f: f.calved_on,
    "Due": lambda f: f.due_on,
    "Calving ease": lambda f: f.calving_ease,
    "Retained placenta": lambda f: f.retained_membranes,
    "BCS": lambda f: f.condition,
    "Weight (kg)": lambda f: f.weight_kg,
    "Mature weight (kg)": lambda f: f.mature_weight_kg,
    "Tract score": lambda f: f.tract_score,
    "Pelvic area": lambda f: f.pelvic_area_cm2,
    "Cycling": lambda f: f.cycling.value.replace("_", " ") if f.cycling else None,
    "Last heat": lambda f: f.last_heat_on,
    "AI date": lambda f: _part(f, ExposureKind.AI).until_on,
    "Bull in": lambda f: _part(f, ExposureKind.BULL).from_on,
    "Bull out": lambda f: _part(f, ExposureKind.BULL).until_on,
    "Pregnancy": lambda f: f.pregnancy.value.replace("_", " ") if f.pregnancy else None,
    "Check date": lambda f: f.pregnancy_checked_on,
    "Check method": lambda f: f.pregnancy_method.value if f.pregnancy_method else None,
    "Hold": lambda f: f.hold_reason,
    "Sire": lambda f: f.sire,
    "Dam": lambda f: f.dam,
    "Ever given estradiol": lambda f: f.ever_given_estradiol,
    "Remarks": lambda f: f.remarks,
}
_CAPITAL = re.compile(r"(?<!^)([A-Z])")  # that begins a word of the name of a kind of event
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


def herd_table(females: Iterable[Female], *, unclassed: Collection[str] = ()) -> OutTable:
    """List females with every column the herd reader knows, so that they come in as they go out.

    Parameters
    ----------
    females : iterable of Female
    unclassed : collection of str
        Tags of females whose class nobody stated; it stays empty.
    """
    rows = [
        tuple(
            None if header == "Class" and one.tag in unclassed else told(one)
            for header, told in _HERD.items()
        )
        for one in females
    ]
    return OutTable("Herd", tuple(_HERD), tuple(rows))


def _part(female: Female, kind: ExposureKind) -> _Days:
    """First and last day of an exposure of a kind; both None where there is none."""
    parts = female.exposure.parts if female.exposure is not None else ()
    return next((_Days(p.from_on, p.until_on) for p in parts if p.kind is kind), _Days(None, None))


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

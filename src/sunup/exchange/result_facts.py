"""A row of a result list as facts of the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunup.exchange import result_words as words
from sunup.exchange.plausible import weight_fault
from sunup.exchange.result_fields import ResultKind
from sunup.records.event import Kind
from sunup.records.female import Cycling

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.exchange.plausible import Limits


@dataclass(frozen=True, slots=True)
class Said:
    """One fact a row states: kind and body of its event."""

    kind: Kind
    body: Mapping[str, Any]


def facts_of_row(kind: ResultKind, row: Mapping[str, Any]) -> tuple[Said, ...]:
    """Turn the cells of a row into facts; none where the row says nothing.

    Parameters
    ----------
    kind : ResultKind
    row : mapping
        Field key to value; None where blank.
    """
    return tuple(Said(one, _bare(body)) for one, body in _MAKERS[kind](row))


def _bare(body: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in body.items() if value is not None}


def _calving(row: Mapping[str, Any]) -> list[tuple[Kind, dict[str, Any]]]:
    calf = _bare(
        {
            "sex": row.get("sex"),
            "alive": row.get("alive"),
            "weight_kg": row.get("calf_weight"),
            "tag": row.get("calf_tag"),
        }
    )
    body = {
        "ease": row.get("calving_ease"),
        "retained_membranes": row.get("retained_membranes"),
        "calves": [calf] if calf else None,
        "note": row.get("remarks"),
    }
    return [(Kind.CALVED, body)]


def _measures(row: Mapping[str, Any]) -> list[tuple[Kind, dict[str, Any]]]:
    note = row.get("remarks")
    out: list[tuple[Kind, dict[str, Any]]] = []
    if row.get("weight") is not None:
        out.append((Kind.WEIGHED, {"weight_kg": row["weight"], "note": note}))
    if row.get("condition") is not None:
        out.append((Kind.CONDITION_SCORED, {"score": row["condition"], "note": note}))
    return out


def _scans(row: Mapping[str, Any]) -> list[tuple[Kind, dict[str, Any]]]:
    cycling = row.get("cycling")
    ovary = {
        "luteum": row.get("luteum"),
        "follicle_mm": row.get("follicle"),
        "cycling": None if cycling is None else cycling is Cycling.CYCLING,
    }
    note = row.get("remarks")
    out: list[tuple[Kind, dict[str, Any]]] = []
    if any(value is not None for value in ovary.values()):
        out.append((Kind.OVARY_SCANNED, {**ovary, "note": note}))
    if row.get("tract_score") is not None:
        out.append((Kind.TRACT_SCORED, {"score": row["tract_score"], "note": note}))
    if row.get("pelvic_area") is not None:
        out.append((Kind.PELVIS_MEASURED, {"area_cm2": row["pelvic_area"], "note": note}))
    return out


def _pregnancy(row: Mapping[str, Any]) -> list[tuple[Kind, dict[str, Any]]]:
    if row.get("pregnancy") is None:
        return []
    method = row.get("pregnancy_method")
    body = {
        "method": method.value if method else "other",
        "result": row["pregnancy"].value,
        "fetal_age_days": row.get("fetal_age"),
        "fetuses": row.get("fetuses"),
        "fetal_sex": row.get("fetal_sex"),
        "operator": row.get("by"),
        "note": row.get("remarks"),
    }
    return [(Kind.PREGNANCY_CHECKED, body)]


def _treatment(row: Mapping[str, Any]) -> list[tuple[Kind, dict[str, Any]]]:
    if row.get("act") is None:
        return []
    act, active, said = row["act"]
    expires = row.get("expires")
    shared = {
        "lot": row.get("lot"),
        "expires_on": expires.isoformat() if expires else None,
        "withdrawal_days": row.get("withdrawal"),
        "note": row.get("remarks"),
    }
    if act == words.INSERT_IN:
        return [(Kind.INSERT_PLACED, shared)]
    if act in {words.INSERT_OUT, words.NONE_FOUND}:
        found = act == words.INSERT_OUT
        return [(Kind.INSERT_REMOVED, {"found": found, "note": shared["note"]})]
    if act == words.MELENGESTROL:
        return [(Kind.FED, {"feed": "melengestrol", "note": shared["note"]})]
    if act == words.VACCINE:
        body = {"against": said, "lot": shared["lot"], "note": shared["note"]}
        return [(Kind.VACCINATED, body)]
    if act == "other":
        shared["note"] = "; ".join(text for text in (said, shared["note"]) if text)
    dose, site = row.get("dose"), row.get("site")
    return [(Kind.TREATED, {"act": act, "active": active, "dose_ml": dose, "site": site, **shared})]


_MAKERS = {
    ResultKind.CALVINGS: _calving,
    ResultKind.WEIGHTS: _measures,
    ResultKind.CONDITION: _measures,
    ResultKind.SCANS: _scans,
    ResultKind.PREGNANCY: _pregnancy,
    ResultKind.TREATMENTS: _treatment,
}


def odd_values(row: Mapping[str, Any], limits: Limits) -> list[tuple[str, str]]:
    """Say which values of a row are not to be believed: (field, what is odd)."""
    odd = []
    weight, calf = row.get("weight"), row.get("calf_weight")
    if weight is not None and (text := weight_fault(weight, limits.weight_kg)):
        odd.append(("weight", text))
    if calf is not None and (text := weight_fault(calf, limits.born_kg)):
        odd.append(("calf_weight", text.replace("such a female", "a newborn calf")))
    return odd

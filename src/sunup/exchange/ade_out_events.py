"""Each kind of event as the fields of its ADE resource."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.exchange import ade_words as ade
from sunup.exchange.ade_times import ade_time, days_after
from sunup.exchange.table_out import DECIMALS
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from sunup.exchange.standing import Standing

    Fields = tuple[str, dict[str, Any]]

MOST_WITHDRAWAL_DAYS = 3650
_GIVEN = {
    "gnrh": "GnRH",
    "pgf": "prostaglandin F2alpha",
    "estradiol_benzoate": "estradiol benzoate",
    "estradiol_cypionate": "estradiol cypionate",
    "ecg": "equine chorionic gonadotropin",
    "other": "other",
}
INSERT = "progesterone insert"
PLACED, REMOVED, NONE_LEFT = "insert_placed", "insert_removed", "insert_not_found"
VACCINE = "vaccine"


def event_fields(one: Standing) -> Fields | None:
    """Return the resource's name and own fields for an event; None for a kind not written so.

    Absent values are left out: the standard has no null.
    """
    maker = _MAKERS.get(one.kind)
    if maker is None:
        return None
    name, fields = maker(one)
    return name, bare(fields)


def bare(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Drop what is absent or empty, also inside."""
    out = {}
    for key, value in fields.items():
        plain: Any = bare(value) if isinstance(value, dict) else value
        if isinstance(plain, list):
            plain = [bare(part) if isinstance(part, dict) else part for part in plain]
        if plain not in (None, "", [], {}):
            out[key] = plain
    return out


def _heat(one: Standing) -> Fields:
    sign = one.body.get("sign")
    signs = [ade.SIGNS[sign]] if sign in ade.SIGNS else None
    return ade.HEAT, {
        "heatDetectionMethod": "Visual",
        "certainty": "InHeat" if sign == "standing" else "Suspect",
        "visualDetection": {"heatSigns": signs},
        "remark": one.body.get("note"),
    }


def _aid(one: Standing) -> Fields:
    score = one.body.get("score")
    told = f"heat aid: {one.body.get('aid')}" + (f", score {score}" if score is not None else "")
    note = one.body.get("note")
    return ade.HEAT, {
        "heatDetectionMethod": "Other",
        "certainty": "InHeat",
        "remark": f"{told}; {note}" if note else told,
    }


def _insemination(one: Standing) -> Fields:
    body = one.body
    sire = body.get("sire")
    sires = None if sire in (None, "", "unknown") else [{"scheme": ade.SIRE_SCHEME, "id": sire}]
    semen = body.get("semen")
    straw = bare(
        {
            "batch": body.get("batch"),
            "sireIdentifiers": sires,
            "isSexedSemen": None if semen is None else semen == "sexed",
        }
    )
    places = (body.get("tank"), body.get("canister"))
    container = places[0] if places[1] is None else f"{places[0] or ''} canister {places[1]}"
    return ade.INSEMINATION, {
        "inseminationType": "Insemination",
        "sireIdentifiers": sires,
        "straw": {"resourceType": ade.STRAW, **straw} if straw else None,
        "farmContainer": container.strip() if container else None,
        "responsible": body.get("technician"),
        "remark": body.get("note"),
    }


def _check(one: Standing) -> Fields:
    body = one.body
    result, fetuses = body.get("result"), body.get("fetuses")
    words = {"not_pregnant": "Empty", "pregnant": "Pregnant", "unsure": "Unknown"}
    told = words.get(str(result), "Unknown")
    if result == "pregnant" and fetuses is not None and fetuses > 1:
        told = "Multiple"
    age, sex = body.get("fetal_age_days"), body.get("fetal_sex")
    return ade.CHECK, {
        "method": ade.METHODS.get(str(body.get("method")), "Other"),
        "result": told,
        "foetalAge": None if age is None else round(age),
        "foetusCount": fetuses,
        "foetusCountFemale": (fetuses or 1) if sex == "female" else None,
        "foetusCountMale": (fetuses or 1) if sex == "male" else None,
        "responsible": body.get("operator"),
        "remark": body.get("note"),
    }


def _calving(one: Standing) -> Fields:
    calves = [calf for calf in one.body.get("calves") or () if isinstance(calf, dict)]
    return ade.PARTURITION, calving_fields(
        one.body.get("ease"), calves=calves, note=one.body.get("note")
    )


def calving_fields(ease: Any, *, calves: list[Any], note: Any = None) -> dict[str, Any]:
    """Fields of a parturition."""
    known = all("alive" in calf for calf in calves)
    return {
        "calvingEase": ade.EASES[ease - 1] if ease in {1, 2, 3, 4, 5} else None,
        "totalProgeny": len(calves) or None,
        "liveProgeny": sum(bool(calf["alive"]) for calf in calves) if calves and known else None,
        "progenyDetails": [_progeny(calf) for calf in calves],
        "remark": note,
    }


def _progeny(calf: Mapping[str, Any]) -> dict[str, Any]:
    weight = calf.get("weight_kg")
    alive = calf.get("alive")
    return {
        "resourceType": ade.PROGENY,
        "specie": "Cattle",
        "gender": ade.SEXES.get(str(calf.get("sex")), "Unknown"),
        "managementTag": calf.get("tag"),
        "birthStatus": None if alive is None else ("Alive" if alive else "Stillborn"),
        "birthWeight": None
        if weight is None
        else {"measurement": round(weight, DECIMALS), "units": "KGM"},
    }


def _abortion(one: Standing) -> Fields:
    told = [text for key in ("found", "note") if (text := one.body.get(key))]
    return ade.ABORTION, {"remark": "; ".join(told)}


def _treatment(one: Standing) -> Fields:
    body = one.body
    act, active = str(body.get("act")), body.get("active")
    name = str(active).replace("_", " ") if active else _GIVEN.get(act, act)
    dose = body.get("dose_ml")
    return ade.TREATMENT, {
        "medicine": _medicine(name, f"{act}/{active}" if active else act),
        "dose": None if dose is None else {"doseQuantity": dose, "doseUnits": "MLT"},
        "site": body.get("site"),
        **_bottle(one),
    }


def _placed(one: Standing) -> Fields:
    return ade.TREATMENT, {
        "medicine": _medicine(INSERT, PLACED),
        "procedure": "insert placed",
        "dose": {"doseQuantity": 1, "doseUnits": "NA"},
        "comment": "dose: one insert",
        **_bottle(one),
    }


def _removed(one: Standing) -> Fields:
    found = bool(one.body.get("found", True))
    return ade.TREATMENT, {
        "medicine": _medicine(INSERT, REMOVED if found else NONE_LEFT),
        "procedure": "insert removed" if found else "insert to be removed was not found",
        "remark": one.body.get("note"),
    }


def _vaccine(one: Standing) -> Fields:
    return ade.TREATMENT, {
        "medicine": _medicine(
            f"vaccine against {one.body.get('against')}", VACCINE, family=ade.OTHER_PRODUCTS
        ),
        "batches": [{"identifier": one.body.get("lot")}] if one.body.get("lot") else None,
        "remark": one.body.get("note"),
    }


def _medicine(name: str, act: str, *, family: str = ade.REPRODUCTIVE) -> dict[str, Any]:
    return {
        "identifier": {"scheme": ade.ACT_SCHEME, "id": act},
        "name": name,
        "family": family,
    }


def _bottle(one: Standing) -> dict[str, Any]:
    """Lot, expiry, withdrawal and note of a treatment."""
    body = one.body
    expires, days = body.get("expires_on"), body.get("withdrawal_days")
    batch = bare({"identifier": body.get("lot"), "expiryDate": expires and f"{expires}T00:00:00Z"})
    end = None
    if isinstance(days, int | float) and 0 <= days <= MOST_WITHDRAWAL_DAYS:
        end = days_after(one.at, days)
    return {
        "batches": [batch] if batch else None,
        "withdrawals": [{"productType": "Meat", "endDate": ade_time(end)}] if end else None,
        "remark": body.get("note"),
    }


def _weight(one: Standing) -> Fields:
    kg = one.body.get("weight_kg")
    weight = {"measurement": None if kg is None else round(kg, DECIMALS), "units": "KGM"}
    return ade.WEIGHT, {"weight": weight, "remark": one.body.get("note")}


def _score(one: Standing) -> Fields:
    return ade.SCORE, {
        "traitGroup": "Linear",
        "traitScored": "BodyConditionScore",
        "score": one.body.get("score"),
        "remark": one.body.get("note"),
    }


def _left(one: Standing) -> Fields:
    why, note = str(one.body.get("why")), one.body.get("note")
    if why in {"died", "missing"}:
        reason = "Missing" if why == "missing" else "Unknown"
        return ade.DEATH, {"deathReason": reason, "remark": note}
    if why == "sold":
        return ade.DEPARTURE, {
            "departureKind": "Sale",
            "departureReason": "Sale",
            "remark": note,
        }
    told = f"left: {why}"
    return ade.DEPARTURE, {
        "departureKind": "Other",
        "departureReason": "Other",
        "remark": f"{told}; {note}" if note else told,
    }


def _hold(one: Standing) -> Fields:
    return ade.DO_NOT_BREED, {"doNotBreed": True, "remark": one.body.get("why")}


def _hold_lifted(one: Standing) -> Fields:
    return ade.DO_NOT_BREED, {"doNotBreed": False, "remark": one.body.get("note")}


_MAKERS: dict[Kind, Callable[[Standing], Fields]] = {
    Kind.HEAT_SEEN: _heat,
    Kind.HEAT_AID_READ: _aid,
    Kind.INSEMINATED: _insemination,
    Kind.PREGNANCY_CHECKED: _check,
    Kind.CALVED: _calving,
    Kind.ABORTED: _abortion,
    Kind.TREATED: _treatment,
    Kind.INSERT_PLACED: _placed,
    Kind.INSERT_REMOVED: _removed,
    Kind.VACCINATED: _vaccine,
    Kind.WEIGHED: _weight,
    Kind.CONDITION_SCORED: _score,
    Kind.LEFT_HERD: _left,
    Kind.HOLD_SET: _hold,
    Kind.HOLD_LIFTED: _hold_lifted,
}
GROUPWISE = frozenset({Kind.TREATED, Kind.INSERT_PLACED, Kind.INSERT_REMOVED, Kind.VACCINATED})

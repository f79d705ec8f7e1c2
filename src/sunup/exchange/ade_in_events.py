"""An ADE event as a fact of the ledger: kind, body, and the fields that were understood."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from sunup.exchange import ade_words as ade
from sunup.exchange.ade_out_bulls import NOT_NAMED
from sunup.exchange.ade_out_events import NONE_LEFT, PLACED, REMOVED, VACCINE, bare
from sunup.exchange.ade_times import read_ade_day, read_ade_time
from sunup.exchange.result_words import INSERT_IN, INSERT_OUT, MELENGESTROL, read_act
from sunup.exchange.result_words import VACCINE as VACCINE_WORD
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

_AID = re.compile(r"heat aid: (patch|chalk|collar|other)(?:, score ([0-9]))?(?:; (.*))?", re.DOTALL)
_LEFT = re.compile(r"left: (culled|other)(?:; (.*))?", re.DOTALL)
_PLACE = re.compile(r"(.*?)\s*\bcanister (\S.*)", re.DOTALL)
_AWAY = frozenset(
    [
        "InternalTransfer",
        "StudService",
        "StudServiceReturn",
        "Agistment",
        "AgistmentReturn",
        "Show",
        "ShowReturn",
        "SaleReturn",
        "Newborn",
    ]
)


_TEXTS = ("remark", "responsible", "site", "farmContainer", "procedure", "sireOfficialName")


class NotHeldError(ValueError):
    """An event the ledger has no kind for; says why it is put aside."""


@dataclass(slots=True)
class Understood:
    """What a resource says, and which of its fields said it.

    `until` is when bulls went out, as written, for a run with a bull.
    """

    kind: Kind
    body: dict[str, Any]
    used: set[str] = field(default_factory=set)
    until: str | None = None


@dataclass(frozen=True, slots=True)
class _How:
    at: datetime
    is_ours: bool


def understand(
    resource: Mapping[str, Any], *, name: str, at: datetime, is_ours: bool
) -> Understood:
    """Turn a checked event resource into a fact.

    Parameters
    ----------
    resource : mapping
    name : str
        Its type, as the standard's files are named.
    at : datetime
        When it happened, UTC.
    is_ours : bool
        Written by this program: remarks of its own making are read back.

    Raises
    ------
    NotHeldError
        If the ledger has no place for it.
    """
    no_text = {key for key in _TEXTS if not isinstance(resource.get(key, ""), str)}
    plain = {key: value for key, value in resource.items() if key not in no_text}
    understood = _READERS[name](plain, _How(at, is_ours))
    understood.body = bare(understood.body)
    understood.used -= no_text
    return understood


def _heat(one: Mapping[str, Any], how: _How) -> Understood:
    used = {"heatDetectionMethod", "certainty", "remark"}
    method, note = one.get("heatDetectionMethod"), one.get("remark")
    told = _AID.fullmatch(note) if how.is_ours and method == "Other" and note else None
    if told:
        score = int(told[2]) if told[2] else None
        body = {"aid": told[1], "score": score, "note": told[3]}
        return Understood(Kind.HEAT_AID_READ, body, used)
    if method in {"Pedometer", "Collar", "EarTag", "Bolus"} and one.get("certainty") != "Suspect":
        aid = "collar" if method == "Collar" else "other"
        words = _joined(f"device: {method}", note)
        return Understood(Kind.HEAT_AID_READ, {"aid": aid, "note": words}, used)
    visual = one.get("visualDetection")
    signs = visual.get("heatSigns") if isinstance(visual, dict) else None
    known = [ade.SIGNS_IN[sign] for sign in map(str, _list(signs)) if sign in ade.SIGNS_IN]
    best = min(known, key=list(ade.SIGNS).index, default="other")
    if isinstance(visual, dict) and set(visual) <= {"heatSigns"} and len(_list(signs)) <= 1:
        used.add("visualDetection")
    if best == "other" and not how.is_ours:
        keys = [key for key in ("heatDetectionMethod", "certainty") if key in one]
        note = _joined(" ".join(str(one[key]) for key in keys), note)
    return Understood(Kind.HEAT_SEEN, {"sign": best, "note": note}, used)


def _insemination(one: Mapping[str, Any], how: _How) -> Understood:
    kind = one["inseminationType"]
    if kind == "Implantation":
        message = "an embryo was implanted: the ledger holds no embryos"
        raise NotHeldError(message)
    straw = _dict(one.get("straw"))
    sires = _sires(one) or _sires(straw)
    if kind in {"NaturalService", "RunWithBull"}:
        used = {"inseminationType", "sireIdentifiers", "remark", "eventEndDateTime"}
        until = one.get("eventEndDateTime")
        if kind == "NaturalService" and until is None:
            until = one["eventDateTime"]
        body = {"bulls": sires or [NOT_NAMED], "note": one.get("remark")}
        return Understood(Kind.BULLS_IN, body, used, until)
    used = {"inseminationType", "sireIdentifiers", "responsible", "farmContainer", "remark"}
    sexed = straw.get("isSexedSemen")
    batch = straw.get("batch")
    container = one.get("farmContainer")
    place = _PLACE.fullmatch(str(container)) if container and how.is_ours else None
    body = {
        "sire": sires[0] if sires else "unknown",
        "batch": batch if isinstance(batch, str) else None,
        "semen": None if not isinstance(sexed, bool) else ("sexed" if sexed else "conventional"),
        "technician": one.get("responsible"),
        "tank": place[1] if place else container,
        "canister": place[2] if place else None,
        "note": one.get("remark"),
    }
    if set(straw) <= {"resourceType", "batch", "sireIdentifiers", "isSexedSemen"}:
        used.add("straw")
    return Understood(Kind.INSEMINATED, body, used)


def _sires(one: Mapping[str, Any]) -> list[str]:
    named = [part["id"] for part in _list(one.get("sireIdentifiers")) if _is_named(part)]
    official = one.get("sireOfficialName")
    return named or ([official] if isinstance(official, str) and official else [])


def _is_named(part: Any) -> bool:
    return isinstance(part, dict) and isinstance(part.get("id"), str) and bool(part["id"])


def _check(one: Mapping[str, Any], how: _How) -> Understood:
    result = one.get("result")
    if result is None:
        message = "the check has no result"
        raise NotHeldError(message)
    count = _whole(one.get("foetusCount"))
    females = _whole(one.get("foetusCountFemale")) or 0
    males = _whole(one.get("foetusCountMale")) or 0
    if result == "Multiple" and (count is None or count < 2):
        count = 2
    sex = "female" if females and not males else "male" if males and not females else None
    age = one.get("foetalAge")
    body = {
        "method": ade.METHODS_IN.get(str(one.get("method")), "other"),
        "result": ade.RESULTS_IN[result],
        "fetal_age_days": age if _is_number(age) else None,
        "fetuses": count,
        "fetal_sex": sex,
        "operator": one.get("responsible"),
        "note": one.get("remark"),
    }
    used = {"method", "result", "foetalAge", "foetusCount", "responsible", "remark"}
    if not (females and males):
        used |= {"foetusCountFemale", "foetusCountMale"}
    if one.get("method") in {"Milk", "Visual"} and not how.is_ours:
        body["note"] = _joined(f"method: {one['method']}", body["note"])
    return Understood(Kind.PREGNANCY_CHECKED, body, used)


def _calving(one: Mapping[str, Any], _: _How) -> Understood:
    calves = [_calf(part) for part in _list(one.get("progenyDetails")) if isinstance(part, dict)]
    ease = one.get("calvingEase")
    body = {
        "ease": ade.EASES.index(ease) + 1 if ease in ade.EASES else None,
        "note": one.get("remark"),
    }
    used = {"calvingEase", "progenyDetails", "remark"}
    if calves:
        body["calves"] = calves
        used |= {"totalProgeny", "liveProgeny"}
    return Understood(Kind.CALVED, body, used)


def _calf(part: Mapping[str, Any]) -> dict[str, Any]:
    status = part.get("birthStatus")
    return bare(
        {
            "sex": ade.SEXES_IN.get(str(part.get("gender"))),
            "alive": None if status is None else status == "Alive",
            "weight_kg": _kg(part.get("birthWeight")),
            "tag": part.get("managementTag"),
        }
    )


def _abortion(one: Mapping[str, Any], _: _How) -> Understood:
    return Understood(Kind.ABORTED, {"note": one.get("remark")}, {"remark"})


def _do_not_breed(one: Mapping[str, Any], _: _How) -> Understood:
    used = {"doNotBreed", "remark"}
    if one.get("doNotBreed", True):
        return Understood(Kind.HOLD_SET, {"why": one.get("remark") or "do not breed"}, used)
    return Understood(Kind.HOLD_LIFTED, {"note": one.get("remark")}, used)


def _treatment(one: Mapping[str, Any], how: _How) -> Understood:
    medicine = _dict(one.get("medicine"))
    act, active, said = _act(medicine, one.get("procedure"), is_ours=how.is_ours)
    used = {"medicine", "remark"}
    batches = [part for part in _list(one.get("batches")) if isinstance(part, dict)]
    lot, expires, days = None, None, None
    if len(batches) == 1:
        lot = batches[0].get("identifier")
        if batches[0].get("expiryDate"):
            expires = read_ade_day(batches[0]["expiryDate"]).isoformat()
        used.add("batches")
    meat = [
        part
        for part in _list(one.get("withdrawals"))
        if isinstance(part, dict) and part.get("productType") == "Meat" and part.get("endDate")
    ]
    if meat:
        ends = [read_ade_time(part["endDate"])[0] for part in meat]
        days = max((max(ends) - how.at) / timedelta(days=1), 0.0)
        days = round(days) if abs(days - round(days)) < 1e-9 else days
        if len(meat) == len(_list(one.get("withdrawals"))) == 1:
            used.add("withdrawals")
    bottle = {"lot": lot, "expires_on": expires, "withdrawal_days": days, "note": one.get("remark")}
    if act == INSERT_IN:
        if how.is_ours:
            used |= {"procedure", "dose", "comment"}
        return Understood(Kind.INSERT_PLACED, bottle, used)
    if act in {INSERT_OUT, NONE_LEFT}:
        used.add("procedure")
        body = {"found": act == INSERT_OUT, "note": bottle["note"]}
        return Understood(Kind.INSERT_REMOVED, body, used)
    if act == VACCINE_WORD:
        body = {"against": said, "lot": lot, "note": bottle["note"]}
        return Understood(Kind.VACCINATED, body, used)
    if act == MELENGESTROL:
        message = "melengestrol is fed to a group: record it there"
        raise NotHeldError(message)
    if act == "other" and said:
        bottle["note"] = _joined(said, bottle["note"])
    dose = _dict(one.get("dose"))
    ml = _ml(dose)
    if ml is not None and set(dose) <= {"doseQuantity", "doseUnits"}:
        used.add("dose")
    body = {"act": act, "active": active, "dose_ml": ml, "site": one.get("site"), **bottle}
    return Understood(Kind.TREATED, body, used | {"site"})


def _act(
    medicine: Mapping[str, Any], procedure: object, *, is_ours: bool
) -> tuple[str, str | None, str]:
    """Tell what was given: act, active, words."""
    name = medicine.get("name")
    name = name if isinstance(name, str) else ""
    coded = medicine.get("identifier")
    if is_ours and isinstance(coded, dict) and coded.get("scheme") == ade.ACT_SCHEME:
        act, _, active = str(coded.get("id")).partition("/")
        if act == VACCINE:
            return VACCINE_WORD, None, name.removeprefix("vaccine against ")
        plain = {PLACED: INSERT_IN, REMOVED: INSERT_OUT, NONE_LEFT: NONE_LEFT}.get(act, act)
        return plain, active or None, ""
    words = name or (procedure if isinstance(procedure, str) else "")
    whole = read_act(words) if words else None
    if isinstance(whole, tuple) and whole[0] != "other":
        return whole
    # a name such as "dinoprost 5 mg/mL": the one active in it, if it is one
    found = {}
    parts = re.findall(r"[A-Za-z]+", words)
    for start in range(len(parts)):
        for end in range(start + 1, min(start + 4, len(parts)) + 1):
            told = read_act(" ".join(parts[start:end]))
            if isinstance(told, tuple) and told[0] not in {"other", VACCINE_WORD}:
                found[told[0]] = (told[0], told[1], "")
    if len(found) == 1:
        return next(iter(found.values()))
    return "other", None, words


def _ml(dose: Mapping[str, Any]) -> float | None:
    amount = dose.get("doseQuantity")
    factor = {"MLT": 1.0, "LTR": 1000.0}.get(str(dose.get("doseUnits")))
    if factor is None or isinstance(amount, bool) or not isinstance(amount, int | float):
        return None
    return amount * factor


def _weight(one: Mapping[str, Any], _: _How) -> Understood:
    kg = _kg(one.get("weight"))
    if kg is None:
        message = "the weight has no number with a unit we know (KGM, LBR, GRM, TNE)"
        raise NotHeldError(message)
    used = {"remark"}
    if set(one["weight"]) <= {"measurement", "units"}:
        used.add("weight")
    return Understood(Kind.WEIGHED, {"weight_kg": kg, "note": one.get("remark")}, used)


def _kg(mass: Any) -> float | None:
    amount = _dict(mass).get("measurement")
    factor = ade.MASS_KG.get(str(_dict(mass).get("units")))
    if factor is None or isinstance(amount, bool) or not isinstance(amount, int | float):
        return None
    return float(amount) * factor


def _score(one: Mapping[str, Any], _: _How) -> Understood:
    if one["traitScored"] != "BodyConditionScore":
        message = f"trait {str(one['traitScored'])[:40]} is not held; only BodyConditionScore is"
        raise NotHeldError(message)
    score = one["score"]
    if not _is_number(score) or not 1 <= score <= 9 or (score * 2) % 1:
        message = f"score {score} is not on the scale of 1 to 9 in halves"
        raise NotHeldError(message)
    used = {"traitScored", "traitGroup", "score", "remark"}
    return Understood(Kind.CONDITION_SCORED, {"score": score, "note": one.get("remark")}, used)


def _departure(one: Mapping[str, Any], how: _How) -> Understood:
    kind, reason, note = one.get("departureKind"), one.get("departureReason"), one.get("remark")
    if str(kind) in _AWAY:
        message = f"departureKind {kind}: she may come back, and the ledger holds no absence"
        raise NotHeldError(message)
    used = {"departureKind", "departureReason", "remark"}
    told = _LEFT.fullmatch(note) if how.is_ours and note else None
    if told:
        return Understood(Kind.LEFT_HERD, {"why": told[1], "note": told[2]}, used)
    why = {"Sale": "sold", "Export": "sold", "Slaughter": "culled"}.get(str(kind), "other")
    if not how.is_ours and reason not in (None, "Sale", "Slaughter"):
        note = _joined(f"reason: {reason}", note)
    return Understood(Kind.LEFT_HERD, {"why": why, "note": note}, used)


def _death(one: Mapping[str, Any], how: _How) -> Understood:
    reason, note = one.get("deathReason"), one.get("remark")
    why = "missing" if reason == "Missing" else "died"
    if not how.is_ours and reason not in (None, "Missing", "Unknown"):
        note = _joined(f"reason: {reason}", note)
    return Understood(Kind.LEFT_HERD, {"why": why, "note": note}, {"deathReason", "remark"})


def _joined(*texts: Any) -> str:
    return "; ".join(str(text) for text in texts if text)


def _dict(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _whole(value: Any) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


_READERS: dict[str, Callable[[Mapping[str, Any], _How], Understood]] = {
    ade.HEAT: _heat,
    ade.INSEMINATION: _insemination,
    ade.CHECK: _check,
    ade.PARTURITION: _calving,
    ade.ABORTION: _abortion,
    ade.DO_NOT_BREED: _do_not_breed,
    ade.TREATMENT: _treatment,
    ade.WEIGHT: _weight,
    ade.SCORE: _score,
    ade.DEPARTURE: _departure,
    ade.DEATH: _death,
}

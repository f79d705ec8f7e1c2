"""The bodies of events: which fields each kind has, of what type, in which unit.

Every number carries its unit in its name. A field not listed is kept and ignored (a newer program
may have written it). Current version of every body: 1.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunup.records.event import Kind


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a body: its JSON type, whether it must be there, what it means."""

    type: str  # text | number | whole | flag | date | instant | texts | object | objects
    must: bool
    meaning: str
    choices: tuple[str, ...] = ()
    span: tuple[float, float] | None = None  # what may be entered; on file another is kept


ANY = float("inf")
Span = tuple[float, float] | None


def _must(type_: str, meaning: str, *choices: str, span: Span = None) -> Field:
    return Field(type_, must=True, meaning=meaning, choices=choices, span=span)


def _may(type_: str, meaning: str, *choices: str, span: Span = None) -> Field:
    return Field(type_, must=False, meaning=meaning, choices=choices, span=span)


_STEP = _may("text", "id of the plan's step this fulfils, e.g. pgf")
_LOT = _may("text", "lot as printed on the bottle or bag")
_NOTE = _may("text", "remark, as written")

BODIES: dict[Kind, dict[str, Field]] = {
    Kind.FEMALE_ADDED: {
        "tag": _must("text", "number read on her ear"),
        "listed": _must("flag", "false: met at the chute with a tag nobody had on file"),
        "class": _may("text", "class when added", "heifer", "first_calf_cow", "cow"),
        "rfid": _may("text", "15 digits"),
        "born_on": _may("date", "day of birth"),
        "breed_shares": _may("object", "share of each breed, 0 to 1"),
        "sire": _may("text", "her sire"),
        "dam": _may("text", "her dam's tag"),
        "calved_on": _may("date", "last calving before the ledger began"),
        "calving_ease": _may("whole", "1 unassisted to 5 caesarean or abnormal", span=(1, 5)),
        "mature_weight_kg": _may("number", "expected mature weight, kg", span=(1, ANY)),
        "ever_given_estradiol": _may("flag", "whether she ever had an estradiol ester"),
        "note": _NOTE,
    },
    Kind.IDENTIFIED: {
        "same_as": _must("text", "UUID of the female she really is; both histories are one"),
        "note": _NOTE,
    },
    Kind.TAG_CHANGED: {
        "tag": _may("text", "new tag"),
        "rfid": _may("text", "new electronic code, 15 digits"),
        "note": _NOTE,
    },
    Kind.CALVED: {
        "ease": _may("whole", "1 unassisted to 5 caesarean or abnormal", span=(1, 5)),
        "retained_membranes": _may("flag", "membranes not shed"),
        "calves": _may("objects", "each: sex (female|male), alive (flag), weight_kg, tag"),
        "note": _NOTE,
    },
    Kind.WEANED: {
        "calves": _may("whole", "calves weaned", span=(1, 3)),
        "weight_kg": _may("number", "weight weaned, all calves, kg", span=(1, ANY)),
        "note": _NOTE,
    },
    Kind.WEIGHED: {"weight_kg": _must("number", "body weight, kg", span=(1, ANY)), "note": _NOTE},
    Kind.CONDITION_SCORED: {
        "score": _must("number", "body condition, 1 to 9, halves allowed", span=(1, 9)),
        "note": _NOTE,
    },
    Kind.TRACT_SCORED: {
        "score": _must("whole", "reproductive tract score, 1 to 5", span=(1, 5)),
        "note": _NOTE,
    },
    Kind.PELVIS_MEASURED: {
        "area_cm2": _must("number", "pelvic area, cm2", span=(1, ANY)),
        "note": _NOTE,
    },
    Kind.OVARY_SCANNED: {
        "luteum": _may("flag", "a corpus luteum was seen"),
        "follicle_mm": _may("number", "largest follicle, mm", span=(1, ANY)),
        "cycling": _may("flag", "judged cycling"),
        "note": _NOTE,
    },
    Kind.VACCINATED: {
        "against": _must("text", "what against, in words"),
        "modified_live": _may("flag", "a modified-live product"),
        "lot": _LOT,
        "note": _NOTE,
    },
    Kind.FED: {
        "feed": _must("text", "what was fed", "melengestrol", "other"),
        "mg_per_head": _may("number", "milligrams of the active a head a day", span=(0, ANY)),
        "first_day": _may("flag", "first day of feeding"),
        "last_day": _may("flag", "last day of feeding"),
        "step": _STEP,
        "note": _NOTE,
    },
    Kind.TREATED: {
        "act": _must(
            "text",
            "what was given",
            "gnrh",
            "pgf",
            "estradiol_benzoate",
            "estradiol_cypionate",
            "ecg",
            "other",
        ),
        "active": _may("text", "key of the active, as in the library"),
        "dose_ml": _may("number", "millilitres given", span=(0, ANY)),
        "dose_share": _may(
            "number", "share of the full dose believed to have gone in, 0 to 1", span=(0, 1)
        ),
        "lot": _LOT,
        "expires_on": _may("date", "expiry printed on the bottle"),
        "withdrawal_days": _may(
            "number", "meat withdrawal as the label at hand states it, days", span=(0, ANY)
        ),
        "site": _may("text", "where it was given"),
        "step": _STEP,
        "note": _NOTE,
    },
    Kind.INSERT_PLACED: {
        "lot": _LOT,
        "expires_on": _may("date", "expiry printed on the bag"),
        "withdrawal_days": _may("number", "as the label at hand states it, days", span=(0, ANY)),
        "step": _STEP,
        "note": _NOTE,
    },
    Kind.INSERT_REMOVED: {
        "found": _must("flag", "false: she had none left to take out"),
        "step": _STEP,
        "note": _NOTE,
    },
    Kind.HEAT_AID_READ: {
        "aid": _must("text", "what was read", "patch", "chalk", "collar", "other"),
        "score": _may(
            "whole", "patch: 1 to 4 quarters rubbed off; chalk: 1 intact, 4 gone", span=(1, 4)
        ),
        "lost": _may("flag", "the aid is no longer on her: unknown, not no"),
        "note": _NOTE,
    },
    Kind.HEAT_SEEN: {
        "sign": _must("text", "what was seen", "standing", "mounting", "mucus", "blood", "other"),
        "note": _NOTE,
    },
    Kind.WATCHED: {
        "minutes": _must("number", "how long, minutes", span=(0, ANY)),
        "aid": _may("text", "what helped", "none", "patch", "chalk", "collar", "teaser"),
        "n_seen": _may("whole", "females seen in heat; 0 where nothing was seen", span=(0, ANY)),
        "note": _NOTE,
    },
    Kind.SIRE_ASSIGNED: {
        "sire": _must("text", "code of the sire"),
        "alternates": _may("texts", "codes to use when the first is out, in order"),
        "semen": _may("text", "what straw", "conventional", "sexed"),
        "note": _NOTE,
    },
    Kind.INSEMINATED: {
        "sire": _must("text", "code of the sire; 'unknown' where the straw was not read"),
        "batch": _may("text", "collection code on the straw"),
        "semen": _may("text", "what straw", "conventional", "sexed"),
        "technician": _may("text", "who inseminated"),
        "tank": _may("text", "tank the straw came from"),
        "canister": _may("text", "canister the straw came from"),
        "timed": _may("flag", "true at a fixed time, false on heat"),
        "in_heat": _may("flag", "in heat by then"),
        "straws": _may("whole", "straws used, 1 unless said", span=(1, ANY)),
        "step": _STEP,
        "note": _NOTE,
    },
    Kind.BULL_EXAMINED: {
        "bull": _must("text", "name or tag of the bull"),
        "result": _must("text", "finding", "satisfactory", "deferred", "unsatisfactory"),
        "scrotum_cm": _may("number", "circumference, cm", span=(1, ANY)),
        "note": _NOTE,
    },
    Kind.BULLS_IN: {
        "bulls": _must("texts", "names or tags of the bulls"),
        "n_females": _may(
            "whole", "females they run with, where not all of the group", span=(0, ANY)
        ),
        "note": _NOTE,
    },
    Kind.BULLS_OUT: {"bulls": _may("texts", "which; all where not said"), "note": _NOTE},
    Kind.PREGNANCY_CHECKED: {
        "method": _must("text", "how", "ultrasound", "palpation", "blood", "other"),
        "result": _must("text", "finding", "pregnant", "not_pregnant", "unsure"),
        "fetal_age_days": _may("number", "age of the fetus as judged, days", span=(1, 300)),
        "fetuses": _may("whole", "how many were seen", span=(1, ANY)),
        "fetal_sex": _may("text", "sex seen", "female", "male"),
        "operator": _may("text", "who checked"),
        "note": _NOTE,
    },
    Kind.ABORTED: {"found": _may("text", "what was found"), "note": _NOTE},
    Kind.MOVED: {
        "to": _must("text", "group she joins; empty: none"),
        "note": _NOTE,
    },
    Kind.LEFT_HERD: {
        "why": _must("text", "reason", "sold", "culled", "died", "missing", "other"),
        "note": _NOTE,
    },
    Kind.HOLD_SET: {
        "why": _must("text", "reason in words"),
        "until_on": _may("date", "day it ends by itself"),
    },
    Kind.HOLD_LIFTED: {"note": _NOTE},
    Kind.TALLIED: {
        "what": _must("text", "what was counted", "head", "inserts", "straws", "doses", "units"),
        "count": _must("number", "how many there were", span=(0, ANY)),
        "unit": _may("text", "of count, where a drug was counted", "ml"),
        "item": _may("text", "which drug, sire or supply"),
        "lot": _LOT,
        "place": _may("text", "pen, tank or canister"),
        "note": _NOTE,
    },
    Kind.STOCK_MOVED: {
        "item": _must("text", "key of the active, 'semen', 'insert' or name of the supply"),
        "unit": _must("text", "of amount", "ml", "doses", "straws", "inserts", "bottles", "units"),
        "amount": _must("number", "came in +, went out -"),
        "why": _must("text", "reason", "bought", "used", "broken", "expired", "returned", "moved"),
        "lot": _LOT,
        "expires_on": _may("date", "expiry as printed"),
        "bottle_ml": _may("number", "size of the bottle, ml", span=(0, ANY)),
        "sire": _may("text", "semen: code of the sire"),
        "batch": _may("text", "semen: collection code"),
        "semen": _may("text", "what straw", "conventional", "sexed"),
        "tank": _may("text", "tank"),
        "canister": _may("text", "canister"),
        "cost": _may("number", "what it cost, all of it"),
        "note": _NOTE,
    },
    Kind.NITROGEN_READ: {
        "tank": _must("text", "tank"),
        "level_cm": _must("number", "liquid on the measuring stick, cm", span=(0, ANY)),
        "filled": _may("flag", "read after a refill"),
        "note": _NOTE,
    },
    Kind.PLAN_ADOPTED: {
        "plan_id": _must("text", "UUID of the adoption"),
        "season": _must("text", "name of the season"),
        "plan": _must("object", "the plan file, whole"),
    },
    Kind.PLAN_CHANGED: {
        "plan_id": _must("text", "the plan changed"),
        "based_on": _must("text", "id of the event this change was made from"),
        "plan": _must("object", "the plan file as it now stands, whole"),
        "why": _may("text", "reason"),
    },
    Kind.FORECAST_KEPT: {
        "plan_id": _must("text", "the plan it belongs to"),
        "forecast": _must("object", "the forecast of the group, as its JSON form"),
        "library_version": _must("text", "library it was made with"),
        "kernel_version": _must("text", "simulator it was made with"),
        "seed": _must("whole", "seed"),
    },
    Kind.SETTING_CHANGED: {
        "key": _must("text", "which setting"),
        "value": _must("object", "{value: ...}"),
        "based_on": _may("text", "id of the event that set the value this was changed from"),
    },
    Kind.CORRECTED: {
        "taken_back": _must("flag", "true: it did not happen; false: it happened as stated here"),
        "body": _may("object", "the right body, whole"),
        "body_version": _may("whole", "version of the form the right body has; 1 if not said"),
        "occurred_at": _may("instant", "the right time, UTC"),
        "female": _may("text", "UUID of the right female"),
        "group": _may("text", "the right group"),
        "why": _may("text", "reason"),
    },
}

"""The lists of results that may come in, and the headers people give their columns."""

from __future__ import annotations

from enum import StrEnum

from sunup.exchange.fields import BY_KEY, Field, FieldSet, Stakes, field


class ResultKind(StrEnum):
    """What a list is about; the word a user says."""

    CALVINGS = "calvings"
    WEIGHTS = "weights"
    CONDITION = "condition"
    SCANS = "scans"
    PREGNANCY = "pregnancy"
    TREATMENTS = "treatments"


_DAY = "date, day, on, event date, record date, recorded on"


def _day(words: str, *names: str) -> Field:
    return field("on", words, *names, stakes=Stakes.SAFETY, is_date=True)


_TIME = field("time", "time of day", "time, time of day, clock, hour, at, clock time")
_BY = field(
    "by",
    "who did it",
    "by, done by, who, operator, technician, tech, person, given by, treated by, scanned by,"
    " scored by, weighed by, vet, veterinarian, examiner, checked by, palpated by",
)
_WHO = (BY_KEY["tag"], BY_KEY["rfid"])
_DAM = field(
    "tag",
    "dam's tag",
    "dam, dam tag, dam id, dam number, dam no, dam ear tag, mother, mother tag, mother id, cow tag,"
    " cow id, cow number, cow no, cow, heifer, heifer tag",
    "tag, tag number, tag no, tag id, ear tag, eartag, visual tag, visual id, animal id, id",
    stakes=Stakes.IDENTITY,
)
_DAM_RFID = field(
    "rfid",
    "dam's RFID",
    "dam rfid, dam eid, dam electronic id, dam 840, mother rfid, mother eid, cow rfid, cow eid",
    "rfid, eid, electronic id, 840 tag, official id, transponder",
)
_CALVINGS = (
    _DAM,
    _DAM_RFID,
    _day(
        "calving date",
        "calved, calved on, calving date, date calved, date of calving, calving, calve date,"
        " calf born, calf birth date, calf dob, birth date, birthdate, date of birth, dob, born,"
        " born on, date born",
        _DAY,
    ),
    _TIME,
    BY_KEY["calving_ease"],
    BY_KEY["retained_membranes"],
    field("sex", "sex of the calf", "sex, calf sex, gender, sex of calf, calf gender, bull heifer"),
    field(
        "alive",
        "whether the calf lived",
        "alive, calf alive, live, born alive, calf status, birth status, status, live dead,"
        " alive dead, calf live",
    ),
    field(
        "calf_weight",
        "birth weight",
        "birth weight, birth wt, calf weight, calf wt, bw, weight, wt, calf birth weight",
        is_weight=True,
    ),
    field(
        "calf_tag",
        "tag of the calf",
        "calf tag, calf id, calf number, calf no, calf ear tag, calf eartag, calf",
    ),
    BY_KEY["remarks"],
)
_MEASURES = (
    *_WHO,
    _day(
        "date",
        "weighed, weighed on, weigh date, weight date, date weighed, scored, scored on, score date,"
        " date scored, bcs date, condition date",
        _DAY,
    ),
    _TIME,
    BY_KEY["weight"],
    BY_KEY["condition"],
    _BY,
    BY_KEY["remarks"],
)
_SCANS = (
    *_WHO,
    _day("date", "scanned, scanned on, scan date, date scanned, exam date, examined on", _DAY),
    _TIME,
    BY_KEY["cycling"],
    field(
        "luteum",
        "corpus luteum seen",
        "luteum, corpus luteum, cl seen, cl yes no, luteum seen, cl found",
    ),
    field(
        "follicle",
        "largest follicle",
        "follicle, follicle mm, largest follicle, largest follicle mm, follicle size,"
        " follicle diameter, follicle diameter mm",
    ),
    BY_KEY["tract_score"],
    BY_KEY["pelvic_area"],
    _BY,
    BY_KEY["remarks"],
)
_PREGNANCY = (
    *_WHO,
    _day(
        "check date",
        *(", ".join(names) for names in BY_KEY["pregnancy_checked_on"].ranks),
        _DAY + ", scan date, scanned, scanned on, palpated, palpated on",
    ),
    _TIME,
    field(
        "pregnancy",
        "pregnancy finding",
        *(", ".join(names) for names in BY_KEY["pregnancy"].ranks),
        "result, finding, status, scan result, check result",
        stakes=Stakes.SAFETY,
    ),
    BY_KEY["pregnancy_method"],
    field(
        "fetal_age",
        "age of the fetus",
        "fetal age, foetal age, fetal age days, foetal age days, days pregnant, days bred,"
        " age of fetus, fetus age, days carried, days in calf, fetal days, days",
    ),
    field("fetuses", "number of fetuses", "fetuses, foetuses, number of fetuses, twins"),
    field("fetal_sex", "sex of the fetus", "fetal sex, foetal sex, sex of fetus, fetus sex, sex"),
    _BY,
    BY_KEY["remarks"],
)
_TREATMENTS = (
    *_WHO,
    _day("date", "treated, treated on, treatment date, date treated, given on, date given", _DAY),
    _TIME,
    field(
        "act",
        "what was given",
        "treatment, given, what, drug, active, active ingredient, medicine, product, act,"
        " what was given, treated with, injection, hormone",
        stakes=Stakes.SAFETY,
    ),
    field("dose", "dose", "dose, dose ml, ml, dosage, amount, amount ml, dose given, volume"),
    field("lot", "lot", "lot, lot number, lot no, batch, batch number, batch no, serial"),
    field(
        "expires",
        "expiry",
        "expires, expires on, expiry, expiry date, expiration, expiration date, exp, exp date,"
        " use by",
        is_date=True,
    ),
    field(
        "withdrawal",
        "withdrawal",
        "withdrawal, withdrawal days, withdrawal period, meat withdrawal, meat withdrawal days,"
        " withholding, withholding days, slaughter withdrawal",
    ),
    field("site", "where it was given", "site, injection site, where, place, location, route site"),
    _BY,
    BY_KEY["remarks"],
)

RESULT_FIELDS: dict[ResultKind, FieldSet] = {
    kind: FieldSet(fields, names_her=("tag", "rfid"))
    for kind, fields in {
        ResultKind.CALVINGS: _CALVINGS,
        ResultKind.WEIGHTS: _MEASURES,
        ResultKind.CONDITION: _MEASURES,
        ResultKind.SCANS: _SCANS,
        ResultKind.PREGNANCY: _PREGNANCY,
        ResultKind.TREATMENTS: _TREATMENTS,
    }.items()
}
# the columns without which a list says nothing: one of each set must be there
NEEDED: dict[ResultKind, tuple[str, ...]] = {
    ResultKind.CALVINGS: (),
    ResultKind.WEIGHTS: ("weight",),
    ResultKind.CONDITION: ("condition",),
    ResultKind.SCANS: ("cycling", "luteum", "follicle", "tract_score", "pelvic_area"),
    ResultKind.PREGNANCY: ("pregnancy",),
    ResultKind.TREATMENTS: ("act",),
}

"""ADE facts of another source against the ledger: what lists put aside is put aside here too."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from herds import LIMITS
from sunup.exchange.ade_file import read_ade_file
from sunup.exchange.ade_in import plan_ade
from sunup.records.event import Kind
from support.small_ledger import NOW, RANCH, ZONE, event, four, recorded

CODE = {"scheme": "usa.ain", "id": "840003123456789"}  # female a
OTHER = {"scheme": "usa.ain", "id": "840003123456780"}  # female c
NOON = datetime(2027, 9, 14, 18, tzinfo=UTC)  # at the ranch


def resource(name, at, *, animal=CODE, key=None, **told):
    text = at if isinstance(at, str) else f"{at:%Y-%m-%dT%H:%M:%S}.000Z"
    meta = {"meta": {"source": "co-op", "sourceId": key, "modified": text}} if key else {}
    return {"resourceType": name, "animal": animal, "eventDateTime": text, **told, **meta}


def check(at, result, **told):
    return resource("icarReproPregnancyCheckEventResource", at, result=result, **told)


def calving(at, **told):
    return resource("icarReproParturitionEventResource", at, **told)


def treatment(at, name="cloprostenol", ml=2, **told):
    dose = {"doseQuantity": ml, "doseUnits": "MLT"}
    given = {"medicine": {"name": name}, "dose": dose}
    return resource("icarTreatmentEventResource", at, **given, **told)


def insemination(at, sire, **told):
    sires = [{"scheme": "x", "id": sire}]
    told = {"inseminationType": "Insemination", "sireIdentifiers": sires, **told}
    return resource("icarReproInseminationEventResource", at, **told)


def take(resources, *on_file):
    file = read_ade_file(json.dumps(resources).encode(), "told.json")
    events = [*four(), *on_file]
    return plan_ade([file], events, [], ranch=RANCH, zone=ZONE, limits=LIMITS, now=NOW)


def said(intake):
    return [(one.kind, one.female) for one in intake.drafts]


ON_FILE = [
    event(Kind.CALVED, {"ease": 1}, female="a", at=NOON - timedelta(days=150)),
    event(Kind.TREATED, {"act": "pgf", "active": "cloprostenol"}, female="a", at=NOON),
    event(Kind.INSEMINATED, {"sire": "A31"}, female="a", at=NOON),
    event(
        Kind.PREGNANCY_CHECKED,
        {"method": "ultrasound", "result": "pregnant", "fetal_age_days": 85},
        female="a",
        at=NOON,
    ),
]


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (calving(NOON), "150 days from this one"),
        (treatment(NOON + timedelta(minutes=90)), "given twice"),
        (insemination(NOON + timedelta(hours=3), "H12"), "an insemination is on file"),
        (check(NOON + timedelta(hours=2), "Empty"), "pregnant 85 days; the file says open"),
    ],
)
@pytest.mark.parametrize("key", [None, "7"])
def test_what_contradicts_the_ledger_is_put_aside_as_from_a_list(told, why, key):
    if key:
        told = told | {"meta": {"source": "co-op", "sourceId": key}}
    intake = take([told], *ON_FILE)
    assert intake.drafts == []
    assert why in intake.aside[0].why
    assert intake.aside[0].source["eventDateTime"] == told["eventDateTime"]
    of_another = take([{**told, "animal": OTHER}], *ON_FILE)
    assert [female for _, female in said(of_another)] == ["c"], "of her nothing is on file"


@pytest.mark.parametrize(
    "told",
    [
        treatment(NOON),
        insemination(NOON, "A31"),
        check(NOON - timedelta(hours=1), "Pregnant", foetalAge=85),
    ],
)
def test_what_the_ledger_holds_from_elsewhere_is_not_recorded_twice(told):
    intake = take([told], *ON_FILE)
    assert (intake.drafts, intake.aside, intake.already) == ([], [], 1)


def test_a_newer_word_of_the_same_source_still_corrects():
    first = take([calving(NOON, key="1", calvingEase="EasyUnassisted")])
    later = calving(NOON, key="1", calvingEase="EasyAssisted")
    later["meta"]["modified"] = "2027-09-20T12:00:00.000Z"
    again = take([later], *recorded(first.drafts))
    assert [one.kind for one in again.drafts] == [Kind.CORRECTED]
    assert again.aside == []


def test_of_two_facts_of_the_files_that_cannot_both_be_neither_is_taken():
    intake = take(
        [
            check(NOON, "Pregnant", key="1"),
            check(NOON + timedelta(hours=1), "Empty", key="2"),
            calving(NOON, key="3"),
            calving(NOON - timedelta(days=100), key="4"),
            calving(NOON, animal=OTHER, key="5"),
        ]
    )
    assert said(intake) == [(Kind.CALVED, "c")]
    assert len(intake.aside) == 4
    assert len({one.what for one in intake.aside}) == 4


def test_a_calving_two_sources_tell_is_recorded_once():
    two = [calving(NOON, key="1"), calving(NOON, key="2")]
    assert len({json.dumps(one) for one in two}) == 2
    intake = take(two)
    assert (said(intake), intake.already) == ([(Kind.CALVED, "a")], 1)


@pytest.mark.parametrize("at", [NOW + timedelta(minutes=5), "2027-10-02T00:00:00Z"])
def test_what_is_still_to_come_is_put_aside(at):
    intake = take([check(at, "Pregnant", key="1")])
    assert intake.drafts == []
    assert "still to come" in intake.aside[0].why

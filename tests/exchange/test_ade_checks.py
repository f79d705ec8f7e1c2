"""What ADE files must pass and what must not, as the standard's schemas and text have it.

The accepted examples are minimal resources of the standard's released line 1.3, held against its
own models (package of the standard's editors, release 1.4); the refused are those its draft-7
schemas refuse; the caught are those its schemas and models let through though its text forbids
them (times without Z, no meta, a resourceType nobody knows).
"""

import copy
import json
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import icar.resources
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from herds import LIMITS
from sunup.base.problems import Severity
from sunup.exchange import ade_words as ade
from sunup.exchange.ade_checks import check_resource
from sunup.exchange.ade_file import read_ade_file
from sunup.exchange.ade_in import plan_ade
from sunup.exchange.ade_out import export_ade
from sunup.records.event import Event, Kind
from sunup.records.forms import has_form

COW = {"scheme": "usa.ain", "id": "840003123456789"}
META = {"source": "org.example", "sourceId": "1", "modified": "2026-06-01T00:00:01Z"}
STRAW = {"resourceType": "icarReproSemenStrawResource", "batch": "24123"}
CALF = {
    "resourceType": "icarProgenyDetailsResource",
    "specie": "Cattle",
    "gender": "Male",
    "birthStatus": "Alive",
}
MEDICINE = {"name": "dinoprost 5 mg/mL", "family": "Animal Reproductive Products"}


def event(name, at, **fields):
    return {"resourceType": name, "animal": COW, "eventDateTime": at, **fields}


ACCEPTED = [
    {
        "resourceType": "icarAnimalCoreResource",
        "identifier": COW,
        "specie": "Cattle",
        "gender": "Female",
    },
    event(
        "icarReproHeatEventResource",
        "2026-05-10T11:30:00Z",
        heatDetectionMethod="Visual",
        certainty="InHeat",
    ),
    event(
        "icarReproInseminationEventResource",
        "2026-05-10T23:30:00Z",
        inseminationType="Insemination",
        straw=STRAW,
    ),
    event(
        "icarReproPregnancyCheckEventResource",
        "2026-06-19T15:00:00Z",
        method="Echography",
        result="Pregnant",
    ),
    event(
        "icarReproParturitionEventResource",
        "2027-02-17T09:10:00Z",
        calvingEase="EasyUnassisted",
        progenyDetails=[CALF],
    ),
    event("icarReproAbortionEventResource", "2026-09-01T12:00:00Z"),
    event(
        "icarTreatmentEventResource",
        "2026-05-07T13:00:00Z",
        medicine=MEDICINE,
        procedure="IM",
        dose={"doseQuantity": 5, "doseUnits": "MLT"},
        batches=[{"identifier": "LOT-77"}],
    ),
    event(
        "icarWeightEventResource",
        "2026-05-07T13:00:00Z",
        weight={"measurement": 1200, "units": "LBR"},
    ),
    event(
        "icarConformationScoreEventResource",
        "2026-05-07T13:00:00Z",
        traitScored="BodyConditionScore",
        score=5.5,
    ),
    event("icarMovementDepartureEventResource", "2026-10-07T13:00:00Z", departureKind="Sale"),
    {"resourceType": "icarAnimalSetResource", "id": "A", "member": [COW]},
]


def model_of(resource):
    name = resource["resourceType"]
    return getattr(icar.resources, name[0].upper() + name[1:])


def with_meta(resource, number=0):
    return {**copy.deepcopy(resource), "meta": {**META, "sourceId": f"{number}"}}


def errors(resource):
    found = check_resource(resource, "here")
    return [one for one in found if one.severity is Severity.ERROR]


@pytest.mark.parametrize("resource", ACCEPTED, ids=lambda one: one["resourceType"])
def test_examples_of_the_standard_pass(resource):
    model_of(resource).model_validate(resource)
    assert check_resource(with_meta(resource), "here") == []


def changed(number, key, value=...):
    resource = with_meta(ACCEPTED[number])
    if value is ...:
        del resource[key]
    else:
        resource[key] = value
    return resource


REFUSED = {
    "no animal": changed(1, "animal"),
    "a word no list has": changed(3, "result", "Maybe"),
    "no inseminationType": changed(2, "inseminationType"),
    "blank instead of T": changed(1, "eventDateTime", "2026-05-10 11:30:00Z"),
    "no zone": changed(1, "eventDateTime", "2026-05-10T11:30:00"),
    "no identifier": changed(0, "identifier"),
    "set without members": changed(10, "member"),
    "score without trait": changed(8, "traitScored"),
}
CAUGHT = {
    "no time": changed(1, "eventDateTime"),
    "resourceType of nobody": changed(1, "resourceType", "icarReproHeathEventResource"),
    "blank and no zone": changed(1, "eventDateTime", "2026-05-10 08:30"),
    "day that is not": changed(1, "eventDateTime", "2026-02-30T08:30:00Z"),
    "zone-less inside": changed(2, "eventEndDateTime", "2026-05-10T08:30:00"),
}


@pytest.mark.parametrize("why", REFUSED)
def test_what_the_schemas_refuse_is_refused(why):
    assert errors(REFUSED[why])


@pytest.mark.parametrize("why", ["no animal", "a word no list has", "no inseminationType"])
def test_models_of_the_standard_refuse_the_same(why):
    with pytest.raises(ValidationError):
        model_of(REFUSED[why]).model_validate(REFUSED[why])


@pytest.mark.parametrize("why", CAUGHT)
def test_what_schemas_and_models_let_through_is_caught(why):
    if why not in {"resourceType of nobody", "day that is not"}:
        model_of(CAUGHT[why]).model_validate(CAUGHT[why])  # it does let it through
    assert errors(CAUGHT[why])


def test_offset_instead_of_z_is_warned_of_and_its_instant_taken():
    resource = changed(1, "eventDateTime", "2026-05-10T05:30:00-06:00")
    model_of(resource).model_validate(resource)
    assert [one.severity for one in check_resource(resource, "here")] == [Severity.WARNING]
    intake = take([with_meta(ACCEPTED[0], 9), resource])
    heat = next(one for one in intake.drafts if one.kind is Kind.HEAT_SEEN)
    assert heat.at == datetime(2026, 5, 10, 11, 30, tzinfo=UTC)


def test_missing_meta_is_warned_of():
    found = check_resource(ACCEPTED[1], "here")
    assert [(one.severity, "meta" in one.what) for one in found] == [(Severity.WARNING, True)]


@pytest.mark.parametrize(
    ("spelling", "name"),
    [
        ("icarReproHeatEventResource", ade.HEAT),
        ("ReproHeatEvent", ade.HEAT),
        ("icar:ReproHeatEvent", ade.HEAT),
        ("icar:ReproInsemonationEvent", ade.INSEMINATION),  # as the catalogue misspells it
        ("ReproInseminationEvent", ade.INSEMINATION),
        ("icarAnimalSetResource", ade.SET),
        ("Milking", None),
        (7, None),
    ],
)
def test_resource_types_are_known_in_all_their_spellings(spelling, name):
    assert ade.find_type(spelling) == name


def as_file(value, name="file.json"):
    return read_ade_file(json.dumps(value).encode(), name)


def take(value, events=()):
    exported = export_ade(events, ranch="R").resources
    zone = ZoneInfo("America/Denver")
    now = datetime(2028, 1, 1, tzinfo=UTC)
    return plan_ade(
        [as_file(value)], events, exported, ranch="R", zone=zone, limits=LIMITS, now=now
    )


def keep(drafts, zone="America/Denver"):
    now = datetime(2028, 1, 1, tzinfo=UTC)
    return [
        Event(
            one.id, "R", one.kind, 1, one.at, zone, one.entered_at or now, entered_by=one.by,
            female=one.female, body=one.body, corrects=one.corrects,
        )
        for one in drafts
    ]  # fmt: skip


WHOLE = [with_meta(one, number) for number, one in enumerate(ACCEPTED)]


@pytest.mark.parametrize(
    "form",
    [
        WHOLE,
        {"view": {"totalItems": 11}, "member": WHOLE},
        [{"id": "@context"}, *WHOLE],
    ],
    ids=["array", "collection", "push form"],
)
def test_all_examples_are_taken_from_every_form_of_file(form):
    intake = take(form)
    assert (intake.n, intake.aside) == (11, [])
    kinds = {one.kind for one in intake.drafts}
    assert kinds == {
        Kind.FEMALE_ADDED, Kind.HEAT_SEEN, Kind.INSEMINATED, Kind.PREGNANCY_CHECKED, Kind.CALVED,
        Kind.ABORTED, Kind.TREATED, Kind.WEIGHED, Kind.CONDITION_SCORED, Kind.LEFT_HERD, Kind.MOVED,
    }  # fmt: skip
    bodies = {one.kind: one.body for one in intake.drafts}
    assert bodies[Kind.TREATED]["act"] == "pgf"
    assert bodies[Kind.TREATED]["dose_ml"] == 5
    assert bodies[Kind.WEIGHED]["weight_kg"] == pytest.approx(544.31, abs=0.01)  # 1,200 lb
    assert bodies[Kind.INSEMINATED]["batch"] == "24123"


def test_one_a_line_is_read_and_a_bad_line_is_told():
    lines = [json.dumps(one) for one in WHOLE[:3]]
    data = "\n".join([lines[0], lines[1][:-5], lines[2]]).encode()
    file = read_ade_file(data, "f")
    assert len(file.found) == 2
    assert [one.where for one in file.problems] == ["f line 2"]


def test_taken_again_adds_nothing():
    first = keep(take(WHOLE).drafts)
    again = take(WHOLE, first)
    assert (again.drafts, again.aside) == ([], [])


def test_newer_corrects_older_does_not_and_deleted_takes_back():
    first = keep(take(WHOLE[:2]).drafts)
    newer = copy.deepcopy(WHOLE[1])
    newer["eventDateTime"] = "2026-05-10T12:00:00Z"
    older = copy.deepcopy(newer)
    stale = take([older], first)
    assert stale.drafts == []
    assert any("not newer" in one.what for one in stale.problems)
    newer["meta"]["modified"] = "2027-01-01T00:00:01Z"
    put_right = take([newer], first)
    assert [one.kind for one in put_right.drafts] == [Kind.CORRECTED]
    assert put_right.drafts[0].body["occurred_at"] == "2026-05-10T12:00:00+00:00"
    gone = copy.deepcopy(newer)
    gone["meta"] |= {"isDeleted": True, "modified": "2027-02-01T00:00:01Z"}
    second = first + keep(put_right.drafts)
    back = take([gone], second)
    assert back.drafts[0].body["taken_back"] is True
    assert take([gone], second + keep(back.drafts)).drafts == []


def test_unknown_animal_is_put_aside_and_nobody_is_guessed():
    stranger = copy.deepcopy(WHOLE[1])
    stranger["animal"] = {"scheme": "usa.ain", "id": "840003123456780"}
    intake = take([WHOLE[0], stranger])
    assert [one.kind for one in intake.drafts] == [Kind.FEMALE_ADDED]
    assert "nobody is known" in intake.aside[0].why
    assert intake.aside[0].source == {**stranger}


def test_day_without_an_hour_keeps_its_date():
    calved = copy.deepcopy(WHOLE[4])
    calved["eventDateTime"] = "2027-02-17T00:00:00Z"  # six in the evening of the 16th, if shifted
    intake = take([WHOLE[0], calved])
    calving = intake.drafts[-1]
    assert calving.body["day_only"] is True
    assert calving.at.astimezone(ZoneInfo("America/Denver")).date().isoformat() == "2027-02-17"
    born = {**copy.deepcopy(WHOLE[0]), "birthDate": "2021-03-01T00:00:00Z"}
    assert take([born]).drafts[0].body["born_on"] == "2021-03-01"


def test_fields_we_make_no_use_of_are_kept_told_and_go_out_again():
    weight = copy.deepcopy(WHOLE[7])
    weight |= {"timeOffFeed": 12, "device": {"manufacturer": {"id": "x"}}, "farCry": [1]}
    intake = take([WHOLE[0], weight])
    told = " ".join(one.what for one in intake.problems)
    assert all(name in told for name in ("timeOffFeed", "device", "farCry"))
    back = export_ade(keep(intake.drafts), ranch="R").resources[-1]
    assert back["farCry"] == [1]
    assert back["timeOffFeed"] == 12
    assert back["meta"]["source"] == "org.example"


def test_nulls_stand_for_nothing():
    nothing = {**WHOLE[1], "remark": None, "visualDetection": {"heatIntensity": None}}
    plain = take([WHOLE[0], WHOLE[1]]).drafts[-1].body
    assert {**take([WHOLE[0], nothing]).drafts[-1].body, "ade": 0} == {**plain, "ade": 0}


def test_animals_are_read_before_their_events_wherever_they_stand():
    assert take(list(reversed(WHOLE))).aside == []


def test_status_is_compared_and_not_taken():
    status = event(
        "icarReproStatusObservedEventResource",
        "2026-07-01T12:00:00Z",
        observedStatus="NotPregnant",
    )
    intake = take([*WHOLE, with_meta(status, 77)])
    assert any("her last check says pregnant" in one.what for one in intake.problems)
    assert len(intake.drafts) == len(take(WHOLE).drafts)


def test_female_on_file_with_the_same_rfid_is_not_added_again():
    at = datetime(2026, 1, 1, tzinfo=UTC)
    body = {"tag": "412", "listed": True, "rfid": COW["id"]}
    cow = Event("a" * 8, "R", Kind.FEMALE_ADDED, 1, at, "UTC", at, female="cow", body=body)
    intake = take(WHOLE[:2], [cow])
    assert [(one.kind, one.female) for one in intake.drafts] == [(Kind.HEAT_SEEN, "cow")]


def test_what_she_cannot_come_back_from_is_put_aside():
    show = {**copy.deepcopy(WHOLE[9]), "departureKind": "Show"}
    embryo = {**copy.deepcopy(WHOLE[2]), "inseminationType": "Implantation"}
    intake = take([WHOLE[0], show, embryo])
    assert [one.kind for one in intake.drafts] == [Kind.FEMALE_ADDED]
    assert len(intake.aside) == 2


leaves = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["Cattle", "Female", "2026-05-10T00:00:00Z", "usa.ain", "840003123456789"])
)  # fmt: skip
NAMES = sorted(
    {key for one in ACCEPTED for key in one}
    | {"meta", "source", "sourceId", "isDeleted", "modified", "scheme", "id", "member", "name"}
    | {"withdrawals", "endDate", "birthWeight", "measurement", "units", "visualDetection"}
    | {"heatSigns", "sireIdentifiers", "foetusCount", "departureKind", "parentage", "breed"}
    | {"breedFractions", "denominator", "fractions", "primaryBreed", "purpose", "doNotBreed"}
)
values = st.recursive(
    leaves,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(NAMES) | st.text(max_size=5), inner, max_size=4)
    ),
    max_leaves=8,
)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_no_resource_however_broken_stops_the_rest(data):
    broken = copy.deepcopy(data.draw(st.sampled_from(WHOLE)))
    broken["meta"]["sourceId"] = "broken"
    for _ in range(data.draw(st.integers(1, 3))):
        broken[data.draw(st.sampled_from(NAMES))] = data.draw(values)
    text = json.dumps([*WHOLE, broken])
    file = read_ade_file(text.encode(), "f")
    if not file.found:
        assert file.problems  # NaN and the like: the file is told to be no JSON
        return
    zone, now = ZoneInfo("America/Denver"), datetime(2028, 1, 1, tzinfo=UTC)
    intake = plan_ade([file], [], [], ranch="R", zone=zone, limits=LIMITS, now=now)
    kinds = {one.kind for one in intake.drafts if one.entered_at}
    assert Kind.HEAT_SEEN in kinds
    assert all(has_form(one.kind, one.body) for one in intake.drafts)
    export_ade(keep(intake.drafts), ranch="R")


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=300) | values.map(lambda one: json.dumps(one).encode()))
def test_no_bytes_however_odd_are_a_traceback(data):
    file = read_ade_file(data, "f")
    assert file.found or file.problems
    zone, now = ZoneInfo("America/Denver"), datetime(2028, 1, 1, tzinfo=UTC)
    plan_ade([file], [], [], ranch="R", zone=zone, limits=LIMITS, now=now)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"[]", "no resource"),
        (b"[" * 100_000, "deep"),
        (b'[{"a": NaN}]', "NaN"),
        (b'{"a": ' + b"9" * 9000 + b"}", "JSON"),
        (b"Tag,Class\n1,cow\n", "not JSON"),
        (b"\x7fELF\x00\x00\x00\x01", "not text"),
        (json.dumps([{"resourceType": "x", "remark": "a" * 10_000_000}]).encode(), "10,000,000"),
        (b'[{"resourceType": "x", "remark": "\\u0000"}]', "stored"),
        (b'[{"resourceType": "x", "remark": "\\ud800"}]', "stored"),
    ],
)
def test_what_is_no_ade_file_gets_a_clear_message(data, words):
    file = read_ade_file(data, "f.json")
    assert file.found == []
    assert words in " ".join(one.what for one in file.problems)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_every_common_encoding_of_json_is_read(encoding):
    assert len(read_ade_file(json.dumps(WHOLE).encode(encoding), "f").found) == 11

"""Events as lines of JSON: nothing lost, every fault told, older forms still read."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from ledger_events import event

from sunup.records.bodies import BODIES
from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.records.reading import check_event, read_event, write_event
from sunup.records.upcast import CURRENT, STEPS, upcast

VERSIONS = Path(__file__).parents[1] / "support" / "event_versions.jsonl"
LINES = VERSIONS.read_text(encoding="utf-8").splitlines()
GOOD = json.loads(next(line for line in LINES if '"HeatSeen","version":1' in line))


def _read(**changes):
    body = changes.pop("body", GOOD["body"])
    told = {**GOOD, "body": body, **changes}
    return read_event(json.dumps({k: v for k, v in told.items() if v is not None}), "a, line 1")


def test_every_version_of_every_kind_has_a_fixture_that_still_reads():
    told = [read_event(line, "versions") for line in LINES]
    assert [problems for _, problems in told if problems] == []
    events = [event for event, _ in told]
    oldest = {kind: min([v for k, v in STEPS if k is kind], default=1) for kind in Kind}
    wanted = {(kind, v) for kind in Kind for v in range(oldest[kind], CURRENT[kind] + 1)}
    assert {(e.kind, e.version) for e in events} == wanted
    state = fold(events)
    assert (state.unread, state.loose, dict(state.unplaced)) == ((), (), {})


def test_a_fixture_of_the_present_form_holds_every_field_of_its_body():
    # a new field without a line in the fixture would never be read in a test
    for line in LINES:
        told = json.loads(line)
        kind = Kind(told["kind"])
        if told["version"] == CURRENT[kind]:
            assert set(told["body"]) == set(BODIES[kind]), kind


def test_writing_what_was_read_gives_the_same_line():
    for line in LINES:
        event_, problems = read_event(line, "versions")
        assert problems == ()
        assert write_event(event_) == line


def test_an_older_form_is_kept_as_recorded_and_brought_up_when_asked():
    old, _ = read_event(next(x for x in LINES if '"version":0' in x), "versions")
    assert (old.version, old.body["sign"]) == (0, "stood")
    new = upcast(old)
    assert (new.version, new.body) == (1, {"sign": "standing", "note": "at the gate"})
    assert upcast(new) is new


def test_fields_nobody_knows_are_kept():
    told, problems = _read(body={"sign": "standing", "camera": {"clip": [1, 2.50, None]}})
    assert problems == ()
    assert json.loads(write_event(told))["body"]["camera"] == {"clip": [1, 2.5, None]}


def test_half_a_character_survives():
    told, _ = _read(body={"sign": "standing", "note": "\ud83d half"})
    line = write_event(told)
    assert line.encode()  # can be written to a file
    assert read_event(line, "x")[0] == told


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"id": "12"}, ["'id'", "UUID"]),
        ({"id": None}, ["'id' is missing"]),
        ({"kind": "HeatFelt"}, ["'HeatFelt'", "no kind of event", "update"]),
        ({"version": 2}, ["form 2", "knows 1", "Update"]),
        ({"version": True}, ["'version'"]),
        ({"version": -1}, ["'version'"]),
        ({"occurred_at": "2027-05-25T14:30:00"}, ["'occurred_at'", "zone"]),
        ({"occurred_at": "yesterday"}, ["'occurred_at'", "yesterday", "2027-05-25T14:30:00Z"]),
        ({"zone": "Ranch/Here"}, ["Ranch/Here", "IANA"]),
        ({"clock_offset_s": "5"}, ["clock_offset_s", "seconds"]),
        ({"female": 412}, ["'female'", "quotes"]),
        ({"female": None}, ["HeatSeen names no female"]),
        ({"colour": "red"}, ["'colour'"]),
        ({"corrects": "x"}, ["corrects", "only Corrected"]),
        ({"body": []}, ["'body'", "object"]),
        ({"body": {}}, ["'sign' is missing", "standing or mounting"]),
        ({"body": {"sign": 3}}, ["'sign' is 3", "text in quotes"]),
        ({"body": {"sign": "bellowing"}}, ["'bellowing'", "standing or mounting"]),
        ({"kind": "Weighed", "body": {"weight_kg": "548"}}, ["weight_kg", "a number"]),
        ({"kind": "Weighed", "body": {"weight_kg": True}}, ["weight_kg", "a number"]),
        ({"kind": "TractScored", "body": {"score": 3.5}}, ["score", "a whole number"]),
        ({"kind": "Corrected", "body": {"taken_back": True}}, ["Corrected names no event"]),
        (
            {"kind": "HoldSet", "body": {"why": "lame", "until_on": "5/25/2027"}},
            ["until_on", "2027-05-25"],
        ),
    ],
)
def test_a_fault_is_told_with_line_field_and_what_to_do(changes, words):
    told, problems = _read(**changes)
    assert told is None
    text = " ".join(map(str, problems))
    assert "a, line 1" in text
    for word in words:
        assert word in text


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b"\xff\xfe{", "UTF-8"),
        ("{", "not JSON"),
        ("[1]", "no event"),
        ('{"id": NaN}', "not JSON"),
        ('{"id": "1", "id": "2"}', "twice"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_line_that_is_no_event_is_told(line, words):
    told, problems = read_event(line, "a, line 1")
    assert told is None
    assert words in str(problems[0])


def test_a_group_may_be_vaccinated_as_a_whole_but_nobody_cannot():
    body = {"against": "blackleg"}
    assert check_event(event(Kind.VACCINATED, group="Cows", body=body), "x") == []
    (problem,) = check_event(event(Kind.VACCINATED, body=body), "x")
    assert "neither a female nor a group" in problem.what


def test_instants_are_written_in_utc_with_microseconds():
    at = datetime(2027, 5, 25, 6, 30, tzinfo=UTC)
    line = write_event(event(Kind.WATCHED, at=at, group="g", body={"minutes": 1}))
    assert '"occurred_at":"2027-05-25T06:30:00.000000Z"' in line

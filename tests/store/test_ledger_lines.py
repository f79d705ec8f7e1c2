"""JSON Lines out and in: lossless, in one transaction, and every bad line named."""

from __future__ import annotations

import io
import json
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ledger_events import START, event, made_id, season

from sunup.app import ledger_lines
from sunup.app.ledger_lines import export_lines, import_lines
from sunup.app.open import FileError, open_ledger
from sunup.base.problems import Problem
from sunup.records.event import Kind
from sunup.store.lines import read_line, write_line
from sunup.store.verify import verify_ledger

NASTY = event(
    Kind.TREATED,
    at=datetime(2027, 3, 14, 9, 59, 59, 999_999, tzinfo=UTC),
    female=made_id("nasty"),
    entered_by="Ana-Lucía 🐄",
    device='the "blue" phone\n',
    clock_offset_s=-86_400.25,
    body={
        "act": "pgf",
        "dose_ml": 5.0,
        "note": "half \ud83d, nul \0, line\u2028 end",
        "numbers": [1e16, 1e-7, -0.0, 0.1, 2**70, 1, 1.0],
        "z": {"a": None, "": []},
    },
)
EVENTS = [*season(6), NASTY]


def test_out_and_in_again_is_the_same_byte_for_byte(home, tmp_path):
    """From a file to PostgreSQL and back, or from file to file."""
    first, second = tmp_path / "first.jsonl", tmp_path / "second.jsonl"
    with open_ledger(tmp_path / "one.db", create=True) as one:
        one.append(EVENTS)
        assert export_lines(one, first) == len(EVENTS)
        with home.open(create=True) as two:
            result = import_lines(two, first)
            assert (result.new, result.known, result.refused) == (len(EVENTS), 0, ())
            assert two.events() == one.events()
            export_lines(two, second)
            assert verify_ledger(two).problems == ()
            assert two.females() == one.females()
    assert first.read_bytes() == second.read_bytes()


def test_a_plan_and_its_changes_go_out_and_in(tmp_path):
    """Bodies with a whole plan, a change, one taken back, and the next."""
    plan = [
        event(Kind.PLAN_ADOPTED, id_=made_id(0), body={"plan_id": "p", "season": "s", "plan": {}}),
        event(Kind.PLAN_CHANGED, id_=made_id(1), body={"plan_id": "p", "based_on": made_id(0)}),
        event(Kind.CORRECTED, id_=made_id(2), corrects=made_id(1), body={"taken_back": True}),
        event(Kind.PLAN_CHANGED, id_=made_id(3), body={"plan_id": "p", "based_on": made_id(0)}),
    ]
    with open_ledger(tmp_path / "one.db", create=True) as one:
        for change in plan:
            assert one.append([change]).new == 1
        export_lines(one, tmp_path / "out.jsonl")
    with open_ledger(tmp_path / "two.db", create=True) as two:
        assert import_lines(two, tmp_path / "out.jsonl").refused == ()
        assert two.events() == tuple(plan)


INSTANTS = st.datetimes(datetime(1900, 1, 2), datetime(2999, 1, 1), timezones=st.just(UTC))


@given(
    at=INSTANTS,
    who=st.text(st.characters(codec="utf-8", exclude_characters="\0")),
    note=st.text(),
    number=st.floats(allow_nan=False, allow_infinity=False) | st.integers(),
)
def test_a_line_reads_as_it_was_written(at, who, note, number):
    one = event(Kind.WEIGHED, at=at, entered_by=who, body={"note": note, "weight_kg": number})
    line = write_line(one)
    assert line.count("\n") == 1
    assert read_line(line.encode(), "x") == one


GOOD = write_line(event(Kind.WEIGHED, id_="g", female="f", body={"weight_kg": 1})).encode()


def changed(**change):
    return json.dumps(json.loads(GOOD) | change).encode()


BAD = {
    "no JSON": (b"tag,weight\n", "not JSON"),
    "half a line": (GOOD[:40], "not JSON"),
    "UTF-16": (GOOD.decode().strip().encode("utf-16"), "UTF-8"),
    "a list": (b"[1,2]", "holds no event"),
    "a number": (b"8.4E+14", "holds no event"),
    "NaN": (GOOD.replace(b":1}", b":NaN}"), "not JSON"),
    "deep": (b"[" * 100_000, "not JSON"),
    "kind of a newer program": (changed(kind="Telepathised"), "no kind of event"),
    "column of a newer program": (changed(mood="good"), "'mood', which this program"),
    "no id": (changed(id=""), "'id' is missing"),
    "number as id": (changed(id=12), "'id' is no text"),
    "local time": (changed(occurred_at="2027-05-25T14:30:00"), "has no zone"),
    "no time": (changed(occurred_at="yesterday"), "is no instant"),
    "before the calendar": (changed(occurred_at="0001-01-01T00:00:00+14:00"), "calendar"),
    "version none": (changed(version=None), "'version'"),
    "version true": (changed(version=True), "'version'"),
    "offset as text": (changed(clock_offset_s="1"), "'clock_offset_s'"),
    "offset without end": (GOOD.replace(b'"zone"', b'"clock_offset_s":1e999,"zone"'), "offset"),
    "body a list": (changed(body=[]), "'body'"),
    "group a number": (changed(group=3), "'group'"),
    "NUL in a name": (changed(entered_by="a\0"), "NUL"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_line_is_named_and_the_good_ones_are_taken(tmp_path, name):
    line, words = BAD[name]
    path = tmp_path / "in.jsonl"
    good = write_line(season(1)[0]).encode()
    path.write_bytes(b"\xef\xbb\xbf" + good + b"\n" + line.strip(b"\n") + b"\n" + GOOD.strip())
    with open_ledger(tmp_path / "sunup.db", create=True) as ledger:
        ledger_ranch = season(1)[0].ranch
        result = import_lines(ledger, path)
        assert ledger.ranch == ledger_ranch
        assert (result.new, result.known) == (2, 0)
        (refused,) = result.refused
        assert refused.line == 3
        assert "in.jsonl line 3" in refused.problem.where
        assert words in f"{refused.problem}"
        assert verify_ledger(ledger).problems == ()


def test_a_body_that_nobody_can_use_is_kept_and_told(ledger, tmp_path):
    """It was recorded; a ledger that would not take it back in would lose it."""
    path = tmp_path / "in.jsonl"
    heavy = event(Kind.WEIGHED, id_=made_id("heavy"), female="f", body={"weight_kg": "heavy"})
    path.write_text(write_line(NASTY) + write_line(heavy), "utf-8")
    result = import_lines(ledger, path)
    assert (result.new, result.refused) == (2, ())
    (told,) = result.odd
    assert "in.jsonl line 2" in told.where
    assert "'weight_kg' is 'heavy'" in told.what
    assert ledger.events() == (NASTY, heavy)


@given(st.binary(max_size=200))
def test_no_line_brings_the_program_down(line):
    found = read_line(line, "x")
    assert isinstance(found, Problem) or found.id


def test_the_same_file_again_brings_nothing_new(ledger, tmp_path):
    path = tmp_path / "in.jsonl"
    path.write_text("".join(map(write_line, EVENTS)), "utf-8")
    import_lines(ledger, path)
    again = import_lines(ledger, path)
    assert (again.new, again.known, again.refused) == (0, len(EVENTS), ())


def test_two_ledgers_merge_to_the_same_in_either_order(home, tmp_path):
    """Union: what is on both counts once. The order taken differs, the events and index do not."""
    paths = [tmp_path / "a.jsonl", tmp_path / "b.jsonl"]
    everything = season(20)
    for path, events in zip(paths, (everything[:90], everything[50:]), strict=True):
        path.write_text("".join(map(write_line, events)), "utf-8")
    with home.open(create=True) as one, open_ledger(tmp_path / "x.db", create=True) as two:
        for path in paths:
            import_lines(one, path)
        for path in reversed(paths):
            import_lines(two, path)
        assert sorted(e.id for e in one.events()) == sorted(e.id for e in everything)
        assert {e.id: e for e in one.events()} == {e.id: e for e in two.events()}
        assert one.females() == two.females()


def test_an_import_that_is_stopped_on_the_way_took_nothing(ledger, tmp_path, monkeypatch):
    path = tmp_path / "in.jsonl"
    path.write_text("".join(map(write_line, season(20))), "utf-8")
    ledger.append([NASTY])
    monkeypatch.setattr(ledger_lines, "_PORTION", 10)

    def stop(line, where, n=[0]):  # noqa: B006  counts its calls
        n[0] += 1
        if n[0] > 75:
            raise KeyboardInterrupt
        return read_line(line, where)

    monkeypatch.setattr(ledger_lines, "read_line", stop)
    with pytest.raises(KeyboardInterrupt):
        import_lines(ledger, path)
    assert ledger.events() == (NASTY,)
    assert verify_ledger(ledger).problems == ()


def test_files_that_cannot_be_read_or_written_are_told(ledger, tmp_path):
    ledger.append([NASTY])
    with pytest.raises(FileError, match="cannot be read"):
        import_lines(ledger, tmp_path / "none.jsonl")
    there = tmp_path / "there.jsonl"
    there.write_text("mine", "utf-8")
    with pytest.raises(FileError, match="already"):
        export_lines(ledger, there)
    assert there.read_text("utf-8") == "mine"
    with pytest.raises(FileError, match="cannot be written"):
        export_lines(ledger, tmp_path / "no folder" / "out.jsonl")
    assert sorted(p.suffix for p in tmp_path.iterdir() if "jsonl" in p.name) == [".jsonl"]


def test_lines_go_through_a_pipe(ledger, tmp_path, monkeypatch, capfdbinary):
    ledger.append(EVENTS)
    export_lines(ledger, Path("-"))
    sys.stdout.flush()
    out = capfdbinary.readouterr().out
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(out)))
    with open_ledger(tmp_path / "other.db", create=True) as other:
        assert import_lines(other, Path("-")).new == len(EVENTS)
        assert other.events() == ledger.events()


def test_an_event_recorded_before_its_time_zone_changed_stays_as_it_was(ledger):
    """The instant is kept in UTC to the microsecond; the zone is a name beside it."""
    at = datetime(2027, 11, 7, 7, 30, 0, 1, tzinfo=UTC)
    one = event(Kind.WEIGHED, at=at, entered_at=START)
    ledger.append([one])
    assert ledger.find_event(one.id).occurred_at.isoformat() == "2027-11-07T07:30:00.000001+00:00"

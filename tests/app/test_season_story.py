"""A season from a herd file to the packet, and again: the whole task, on real files."""

from __future__ import annotations

import errno
import json
import os
from datetime import date, datetime
from io import BytesIO
from pathlib import Path

import pytest
from icalendar import Calendar

from herd_csv import rows, write_herd
from herds import AI_ON, LIBRARY, request
from sunup.app import plan_season as module
from sunup.app.open import FileError
from sunup.app.plan_season import plan_season, write_packet
from sunup.base.hours import find_zone
from sunup.exchange.plan_file import plan_to_json, read_plan_file
from sunup.reports.packet import packet_values

TODAY = date(2027, 4, 20)
SEVEN = {"cows": "co_synch_insert7_cow", "heifers": "co_synch_insert7_heifer"}


def sequences(calendar):
    """The SEQUENCE of each event of work of a calendar, by its UID."""
    events = Calendar.from_ical(calendar.read_bytes()).walk("VEVENT")
    return {str(e["UID"]): e["SEQUENCE"] for e in events if isinstance(e["DTSTART"].dt, datetime)}


@pytest.fixture
def herd(tmp_path):
    return write_herd(tmp_path / "north_ranch.csv")


def make(herd, **wishes):
    wishes = {"ranch": "", "today": TODAY} | wishes
    previous = wishes.pop("previous", None)
    overlay = wishes.pop("overlay", None)
    return plan_season(
        herd, request(**wishes), previous=previous, overlay=overlay, as_of_given=True
    )


def test_a_season_is_planned_written_moved_and_written_again(herd, tmp_path):
    out = tmp_path / "packet"
    first = write_packet(make(herd, protocols=SEVEN), out)
    assert {p.name for p in first.files} == {
        "plan.json",
        "calendar.ics",
        "workbook.xlsx",
        "packet.pdf",
    }
    assert all(p.stat().st_size > 500 for p in first.files)
    assert first.plan.ranch == "north ranch"

    kept = read_plan_file((out / "plan.json").read_text("utf-8"), "plan.json")
    assert first.plan == kept

    before = sequences(out / "calendar.ics")
    moved = make(herd, protocols=SEVEN, first_ai_on=date(2027, 5, 27), previous=out / "plan.json")
    second = write_packet(moved, out)
    uids = [{s.uid for g in o.plan.groups for s in g.schedule} for o in (first, second)]
    assert uids[0] == uids[1]
    after = sequences(out / "calendar.ics")
    assert before.keys() == after.keys()
    assert all(before[uid] < after[uid] for uid in before)
    assert second.plan.changes


def test_the_json_has_every_field_that_others_rely_on(herd):
    """The list of section 8 of the design; names are a promise to other programs."""
    outcome = make(herd, protocols=SEVEN, prescriber="Dr Example")
    data = plan_to_json(outcome.plan)
    assert data["schema_version"] == 1
    for key in ("problems", "females", "groups", "clashes", "shopping", "run_up"):
        assert isinstance(data[key], list), key
    female = data["females"][0]
    assert {"tag", "group", "state", "reasons"} <= female.keys()
    for group in data["groups"]:
        assert {"name", "n", "ready", "fits", "rejected", "chosen", "schedule"} <= group.keys()
        for fit in group["fits"]:
            assert {"protocol", "cost_per_female", "passes", "days", "published"} <= fit.keys()
        for rejected in group["rejected"]:
            assert {"protocol", "reason"} <= rejected.keys()
            assert rejected["reason"]
        for step in group["schedule"]:
            assert {
                "id",
                "do",
                "at_utc",
                "at_local",
                "window_utc",
                "head",
                "doses",
                "ml",
                "label_note",
            } <= step.keys()
            assert len(step["window_utc"]) == 2
            assert datetime.fromisoformat(step["at_utc"]) == datetime.fromisoformat(
                step["at_local"]
            )
    assert json.loads(json.dumps(data)) == data


def test_every_protocol_is_either_a_fit_or_rejected_with_a_reason(herd):
    for group in make(herd).plan.groups:
        named = [f.protocol for f in group.fits] + [r.protocol for r in group.rejected]
        assert sorted(named) == sorted(LIBRARY.protocols)


def test_melengestrol_asked_for_cows_is_refused_and_nothing_is_laid_out(herd):
    outcome = make(herd, protocols={"cows": "mga_pg_ftai"})
    cows = next(g for g in outcome.plan.groups if g.name == "cows")
    assert cows.schedule == ()
    assert cows.chosen is None
    assert any("refused" in p.what and "heifers only" in p.what for p in outcome.problems)
    assert not any(s.kind == "feed" for s in outcome.plan.shopping)


@pytest.mark.parametrize(("region", "is_refused"), [("US", True), ("UK", True), ("BR", False)])
def test_estradiol_asked_for_follows_the_rule_pack(herd, region, is_refused):
    outcome = make(herd, protocols={"cows": "eb8_ecp"}, region=region)
    cows = next(g for g in outcome.plan.groups if g.name == "cows")
    assert is_refused == (not cows.schedule)
    assert is_refused == any("refused" in p.what for p in outcome.problems)


def test_a_mismatch_asked_for_is_laid_out_with_a_word(herd):
    """A heifer protocol for cows is no harm, only not what was published."""
    outcome = make(herd, protocols={"cows": "co_synch_insert7_heifer"})
    cows = next(g for g in outcome.plan.groups if g.name == "cows")
    assert cows.schedule
    assert any("does not fit: not for cows" in p.what for p in outcome.problems)


def test_good_rows_load_and_bad_cells_are_named(tmp_path):
    lines = rows()
    lines[3] = lines[3].replace("cow,cows", "cow,cows", 1).replace("2021-03-01", "2021-13-01")
    outcome = make(write_herd(tmp_path / "herd.csv", lines))
    assert len(outcome.plan.females) == len(lines) - 1
    (problem,) = [p for p in outcome.problems if p.row == 4]
    assert problem.column == "birth date"


def test_what_was_wrong_in_the_herd_list_reaches_the_plan_file_and_the_packet(tmp_path):
    """A tag on two rows, a condition of 55: on paper the chute crew must find both."""
    lines = rows()
    twice, odd = lines[1].split(",")[0], lines[3].split(",")[0]
    lines[2] = lines[2].replace(lines[2].split(",")[0], twice, 1)
    lines[3] = lines[3].replace(",6,", ",55,", 1)
    plan = make(write_herd(tmp_path / "herd.csv", lines)).plan
    assert twice not in {f.tag for f in plan.females}
    kept = read_plan_file(json.dumps(plan_to_json(plan)), "plan.json")
    assert [p.row for p in kept.problems if p.row] == [2, 3, 4]
    values = packet_values(plan, find_zone(plan.zone))
    told = [what for _, what, _ in values["problems"]]
    assert sum(f"The tag {twice} is on row" in what for what in told) == 2
    (cows,) = [g for g in values["readiness"] if g["name"] == "cows"]
    assert odd not in cows["plain"]
    (row,) = [r for r in cows["rows"] if odd in {tag for tag, _ in r["tags"]}]
    assert "condition 55" in row["reasons"]
    assert row["n"] == 1


def test_a_file_without_a_female_makes_an_empty_plan_and_says_so(tmp_path):
    outcome = make(write_herd(tmp_path / "empty.csv", rows()[:1]))
    assert outcome.plan.females == ()
    assert outcome.plan.groups == ()
    assert any("No female" in p.what for p in outcome.problems)
    assert write_packet(outcome, tmp_path / "out").files


@pytest.mark.parametrize("missing", ["nope.csv", "."])
def test_a_herd_file_that_is_not_there_is_said_in_words(tmp_path, missing):
    with pytest.raises(FileError, match=r"no file|folder"):
        make(tmp_path / missing)


def fail_with(monkeypatch, code):
    def fail(_descriptor):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(module.os, "fsync", fail)


def test_a_full_disk_leaves_the_former_packet_whole(herd, tmp_path, monkeypatch):
    out = tmp_path / "packet"
    write_packet(make(herd, protocols=SEVEN), out, pdf=False)
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    fail_with(monkeypatch, errno.ENOSPC)
    moved = make(herd, protocols=SEVEN, first_ai_on=date(2027, 5, 27))
    with pytest.raises(FileError, match=r"plan\.json.*No space left.*as it was"):
        write_packet(moved, out, pdf=False)
    assert before == {p.name: p.read_bytes() for p in out.iterdir()}, "no .part file either"


def test_a_folder_that_may_not_be_written_is_said_in_words(herd, tmp_path, monkeypatch):
    """Folder rights do not bind root, so the system's answer is given for it."""
    out = tmp_path / "packet"
    out.mkdir()

    opened = Path.open

    def refuse(self, *args, **kwargs):
        if self.parent == out:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self))
        return opened(self, *args, **kwargs)

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(FileError, match="Permission denied"):
        write_packet(make(herd), out, pdf=False)
    assert list(out.iterdir()) == []


def test_a_folder_whose_name_is_a_file_is_said_in_words(herd, tmp_path):
    taken = tmp_path / "packet"
    taken.write_text("a file", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be made"):
        write_packet(make(herd), taken, pdf=False)
    assert taken.read_text("utf-8") == "a file"


def test_a_renderer_that_fails_leaves_no_half_packet(herd, tmp_path):
    out = tmp_path / "packet"
    with pytest.raises(Exception, match="paper"):
        write_packet(make(herd), out, paper="a5")
    assert not out.exists() or list(out.iterdir()) == []


def test_a_plan_of_another_ranch_lends_no_ids(herd, tmp_path):
    out = tmp_path / "packet"
    first = write_packet(make(herd, ranch="South"), out, pdf=False)
    second = make(herd, ranch="North", previous=out / "plan.json")
    ids = [{s.uid for g in o.plan.groups for s in g.schedule} for o in (first, second)]
    assert not ids[0] & ids[1]
    assert any("'South', not of 'North'" in p.what for p in second.problems)


def test_an_overlay_changes_the_figure_and_the_plan_says_it_is_yours(herd, tmp_path):
    overlay = tmp_path / "ranch.toml"
    overlay.write_text(
        '["readiness.days_since_calving_at_ai"]\nvalue = 55\nunit = "d"\nnote = "Ours."\n',
        encoding="utf-8",
    )
    plain, ours = make(herd), make(herd, overlay=overlay)
    ready = [next(g for g in o.plan.groups if g.name == "cows").ready for o in (plain, ours)]
    assert ready == [21, 16]  # cows 40, 42 ... 86 days calved: from 46 on, and from 56 on
    reasons = [r for f in ours.plan.females for r in f.reasons if r.rule == "days_since_calving"]
    assert all(r.yours for r in reasons)


def test_a_workbook_of_the_same_herd_gives_the_same_plan(tmp_path):
    import xlsxwriter

    lines = [line.split(",") for line in rows()]
    content = BytesIO()
    with xlsxwriter.Workbook(content, {"in_memory": True}) as book:
        sheet = book.add_worksheet("herd")
        for i, line in enumerate(lines):
            sheet.write_row(i, 0, line)
    (tmp_path / "herd.xlsx").write_bytes(content.getvalue())
    write_herd(tmp_path / "herd.csv")
    plans = [make(tmp_path / f"herd.{kind}", protocols=SEVEN).plan for kind in ("csv", "xlsx")]
    assert [f.state for f in plans[0].females] == [f.state for f in plans[1].females]
    assert [(s.id, s.at_utc) for g in plans[0].groups for s in g.schedule] == [
        (s.id, s.at_utc) for g in plans[1].groups for s in g.schedule
    ]


def test_planning_forward_from_a_first_treatment_starts_on_that_day(herd):
    start = date(2027, 5, 10)
    plan = make(herd, first_treatment_on=start, protocols=SEVEN).plan
    for group in plan.groups:
        first = min(s.at_utc for s in group.schedule)
        assert start == first.date()
    assert AI_ON.year == int(plan.season)

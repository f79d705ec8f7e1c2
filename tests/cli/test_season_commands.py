"""The thin season from the command line: a ledger on disk, a clock that is set, plain answers."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from herd_csv import write_herd
from sunup.base.problems import UsageError
from sunup.cli.main import app

RUN = CliRunner()
PROTOCOLS = ("cows=co_synch_insert7_cow", "heifers=co_synch_insert7_heifer")


@pytest.fixture
def ranch(tmp_path, monkeypatch):
    """A folder with an adopted plan; `at` sets the clock."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("SUNUP_LEDGER", raising=False)
    herd = write_herd(tmp_path / "herd.csv")
    at(monkeypatch, "2027-05-14T18:00:00Z")
    run(
        *("plan", str(herd), "--first-ai", "2027-05-25", "--zone", "America/Denver"),
        *("--as-of", "2027-04-20", "--out", "packet", "--no-pdf", "--sire", "cows=A31"),
        *(word for protocol in PROTOCOLS for word in ("--protocol", protocol)),
    )
    run("season", "adopt", "packet/plan.json", "--herd", "herd.csv")
    return monkeypatch


def at(monkeypatch, instant):
    monkeypatch.setenv("SUNUP_NOW", instant)


def run(*words, stdin=None, ok=(0,)):
    done = RUN.invoke(app, list(words), input=stdin)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code in {*ok, 1 if words[0] == "plan" else 0}, done.output
    return done.output


def asked(*words):
    return json.loads(RUN.invoke(app, [*words, "--json"]).stdout)


def schedule(group="cows"):
    plan = json.loads(Path("packet/plan.json").read_text("utf-8"))
    return next(g for g in plan["groups"] if g["name"] == group)


def planned(step, group="cows"):
    return next(s for s in schedule(group)["schedule"] if s["id"] == step)["at_utc"]


@pytest.mark.usefixtures("ranch")
def test_a_herd_list_of_which_nobody_can_be_read_is_not_adopted_in_silence():
    Path("other.csv").write_text("Tag\n", encoding="utf-8")
    with pytest.raises(UsageError, match="No female could be read"):
        run("season", "adopt", "packet/plan.json", "--herd", "other.csv")


def test_the_thin_season_runs_from_the_command_line(ranch):
    """Adopt, record a visit, see Today, record a heat, get her insemination time."""
    tags = schedule()["order"]
    at(ranch, planned("gnrh_1"))
    told = run("record", "visit", "cows", "gnrh_1", "--all", "--by", "Ana", "--withdrawal", "0")
    assert f"{len(tags)} recorded" in told
    assert "America/Denver" in told
    at(ranch, planned("pgf"))
    run("record", "visit", "cows", "pgf", *tags[:-1], "--by", "Ben")
    today = asked("today")
    assert [(v["visit"], v["to_go"]) for v in today["now"] if v["group"] == "cows"] == [("pgf", 1)]
    assert {(d["do"], d["n"], d["by"]) for d in today["done"]} >= {("pgf", len(tags) - 1, "Ben")}
    at(ranch, "2027-05-24T12:30:00Z")
    answer = run("heats", "seen", tags[0], "--at", "06:20")
    assert "inseminate Mon 24 May 18:00" in answer
    assert "A31" in answer
    assert tags[0] in run("heats", "list")


def test_tags_come_piped_from_a_file_and_at_the_chute(ranch, tmp_path):
    a, b, c, d = schedule()["order"][:4]
    at(ranch, planned("gnrh_1"))
    piped = run("record", "visit", "cows", "gnrh_1", "-", stdin=f"{a}, {b}\n{a}\n")
    assert "2 recorded" in piped
    assert "read more than once" in piped
    (tmp_path / "scan.txt").write_text(f"\ufeff{c}\n", encoding="utf-8")
    assert "1 recorded" in run("record", "visit", "cows", "gnrh_1", "--file", "scan.txt")
    chute = run("record", "visit", "cows", "gnrh_1", stdin=f"{d}\n5555\nu\n?\nq\n")
    assert f"kept: {d}" in chute
    assert max(map(len, chute.splitlines())) <= 80
    assert "5555 (unlisted)" in chute
    assert "taken back: 5555" in chute
    assert "1 recorded." in chute


def test_a_reader_file_gives_codes_and_never_its_dates_as_tags(ranch, tmp_path):
    plan = json.loads(Path("packet/plan.json").read_text("utf-8"))
    coded = [f for f in plan["females"] if f["rfid"] and f["group"] == "cows"][:2]
    if not coded:
        run("season", "retag", schedule()["order"][0], "--rfid", "840003000000001")
    codes = [f["rfid"] for f in coded] or ["840003000000001"]
    lines = "".join(f"{code},2027-05-15,14:5{i}:10\n" for i, code in enumerate(codes))
    (tmp_path / "reader.csv").write_text(lines, encoding="utf-8")
    at(ranch, planned("gnrh_1"))
    told = run("record", "visit", "cows", "gnrh_1", "--file", "reader.csv")
    assert f"{len(codes)} recorded" in told
    assert "unlisted" not in told


def test_flags_say_what_to_do_now_and_look_keeps_nothing(ranch):
    tag = schedule()["order"][0]
    at(ranch, planned("gnrh_1"))
    before = run("record", "visit", "heifers", "gnrh_1", tag, "--look")
    assert "nothing recorded" in before
    assert "Nothing recorded yet" in run("record", "last")
    after = run("record", "visit", "heifers", "gnrh_1", tag)
    assert "she is in cows, not in heifers" in " ".join(after.split())
    assert "now: Read the tag again" in after


@pytest.mark.usefixtures("ranch")
def test_what_is_done_beside_the_plan_is_recorded_and_flagged(tmp_path):
    a, b = schedule()["order"][:2]
    (tmp_path / "list.txt").write_text(f"{a}\n{b}\n", encoding="utf-8")
    assert "nothing recorded" in run("record", "abortion", a, "--look")
    assert "Nothing recorded yet" in run("record", "last")
    told = run("record", "drug", "oxytetracycline", a, "--ml", "20", "--withdrawal", "28")
    assert "oxytetracycline, 1 recorded" in told
    assert "withdrawal not written down" in run("record", "drug", "gnrh", b)
    told = run("record", "vaccine", "--file", "list.txt", "--against", "IBR", "--modified-live")
    assert "2 recorded" in told
    assert "30 days or more" in " ".join(told.split())
    assert "call the veterinarian" in " ".join(
        run("record", "abortion", "--file", "list.txt").split()
    )
    assert "2 recorded" in run("record", "weaning", "--file", "list.txt", "--calf-kg", "240")
    told = run("record", "measure", "--file", "list.txt", "--no-luteum", "--condition", "5")
    assert "ovaries: no corpus luteum, 2 recorded" in told
    assert "B7 (38.5 cm), B9: satisfactory" in run(
        "record", "bull-exam", "B7=38.5", "B9", "--result", "satisfactory"
    )
    assert "B8: no breeding soundness exam" in " ".join(
        run("record", "bulls-in", "cows", "B7", "B8").split()
    )
    told = run("record", "bull-exam", "B8", "--result", "unsatisfactory")
    assert "B8 runs with cows" in told


def test_undo_and_correct_leave_both_to_be_seen(ranch):
    tag = schedule()["order"][0]
    at(ranch, planned("gnrh_1"))
    run("record", "visit", "cows", "gnrh_1", tag)
    entry = asked("record", "last")["entries"][0]
    gnrh = next(e for e in entry if e["kind"] == "Treated")
    run("record", "correct", gnrh["id"], "--set", "dose_ml=0.5", "--why", "leak")
    (given,) = [e for e in asked("record", "last")["entries"][0] if e["kind"] == "Treated"]
    assert given["body"]["dose_ml"] == 0.5
    assert "Taken back" in run("record", "undo", "--why", "wrong cow")
    assert "Nothing recorded yet" in run("record", "last")
    lines = run("ledger", "export", "-").splitlines()
    assert sum('"Corrected"' in line for line in lines) == 3


def test_stock_and_the_lists_to_hand_over(ranch, tmp_path):
    tags = schedule()["order"][:3]
    run("stock", "buy", "inserts", "10", "--lot", "P1", "--at", "2027-05-10T10:00")
    at(ranch, planned("gnrh_1"))
    run(
        *("record", "visit", "cows", "gnrh_1", *tags, "--lot", "gnrh=G7", "--lot", "insert=P1"),
        *("--withdrawal", "gnrh=2", "--by", "Ana"),
    )
    shelf = asked("stock", "show")
    insert = next(line for line in shelf["stock"] if line["kind"] == "insert")
    assert (insert["on_hand"], insert["used"]) == (7, 3)
    assert [(i["placed"], i["out"], len(i["still_in"])) for i in shelf["inserts"]] == [(3, 0, 3)]
    run("stock", "treatments", "--csv", "t.csv")
    with (tmp_path / "t.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 6
    assert {(r["lot"], r["withdrawal days"]) for r in rows} == {
        ("G7", "2"),
        ("P1", "not written down"),
    }


@pytest.mark.usefixtures("ranch")
def test_cautions_are_shown_and_only_that_they_were_read_is_kept():
    told = run("stock", "cautions", "--by", "Ana", "--read")
    assert "Pregnant women should not give it" in told
    assert all(line["read_by"] == ["Ana"] for line in asked("stock", "cautions")["drugs"])
    kept = [line for line in run("ledger", "export", "-").splitlines() if "caution_read" in line]
    assert kept
    assert all('"value":{"value":true}' in line.replace(" ", "") for line in kept)


def test_the_scan_sheet_says_what_to_expect_with_clean_up_bulls(ranch):
    """64 days of AI, at most 53 of a bull turned in 11 days later: a day's count."""
    tags = schedule()["order"][:2]
    run("record", "ai", *tags, "--sire", "A31", "--at", "2027-05-25T08:00")
    run("record", "bulls-in", "cows", "B7", "--at", "2027-06-05T09:00")
    at(ranch, "2027-07-28T18:00:00Z")
    females = {f["tag"]: f for f in asked("scan", "sheet")["females"]}
    assert females[tags[0]]["expect"] == "64 days, or at most 53"
    told = run("scan", "result", tags[0], "--result", "pregnant", "--age", "64")
    assert "pregnant to AI" in told
    assert tags[0] not in {f["tag"] for f in asked("scan", "sheet")["females"]}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("record", "visit", "goats", "pgf", "1"), "no group 'goats'"),
        (("record", "visit", "cows", "day9", "1"), "has no 'day9'"),
        (("record", "visit", "cows", "pgf", "1", "--at", "tomorrow"), "not a time we can read"),
        (("record", "visit", "cows", "pgf", "1", "--at", "23:59"), "still to come"),
        (("record", "undo"), "no entry made on this computer"),
        (("heats", "read", "1=7"), "rubbed off"),
        (("season", "move", "77777", "--to", "cows"), "No female on file wears"),
        (("stock", "buy", "gonadorelin", "5"), "Say which"),
        (("scan", "result", "1", "--result", "maybe"), "write pregnant"),
        (("scan", "sheet", "--method", "guess"), "Choose one of"),
    ],
)
def test_what_cannot_be_done_is_said_in_words(ranch, words, said):
    at(ranch, "2027-05-22T20:45:00Z")
    with pytest.raises(UsageError, match=said):
        run(*words)


def test_nothing_goes_on_without_a_ledger(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SUNUP_LEDGER", raising=False)
    with pytest.raises(UsageError, match="no ledger"):
        run("today")


def test_who_is_left_out_is_known_by_tag_or_code_and_a_slip_is_refused(ranch):
    first, second, *rest = schedule()["order"]
    run("season", "retag", second, "--rfid", "840003000000009")
    at(ranch, planned("gnrh_1"))
    with pytest.raises(UsageError, match="No female on file wears '2O45'"):
        run("record", "visit", "cows", "gnrh_1", "--all", "--except", "2O45")
    with pytest.raises(UsageError, match="--except goes with --all"):
        run("record", "visit", "cows", "gnrh_1", first, "--except", second)
    assert "GnRH" not in run("record", "last", "-n", "1")
    but = (
        "--except",
        first,
        "--except",
        "840003000000009",
        "--except",
        schedule("heifers")["order"][0],
    )
    told = run("record", "visit", "cows", "gnrh_1", "--all", *but)
    assert f"{len(rest)} recorded" in told
    assert "not due there" in told


def test_who_lost_her_insert_is_known_by_tag_or_code_and_a_slip_is_refused(ranch):
    first, second, *_ = schedule()["order"]
    run("season", "retag", second, "--rfid", "840003000000009")
    at(ranch, planned("gnrh_1"))
    run("record", "visit", "cows", "gnrh_1", "--all")
    at(ranch, planned("pgf"))
    with pytest.raises(UsageError, match="No female on file wears '2O45'"):
        run("record", "visit", "cows", "pgf", "--all", "--lost", "2O45")
    told = run("record", "visit", "cows", "pgf", "840003000000009", first, "--lost", second)
    assert told.count("her insert was lost") == 1
    assert "insert lost" in run("record", "last", "-n", "1")


def test_one_weight_of_a_batch_is_put_right_by_her_tag(ranch):
    first, second, third, *_ = schedule()["order"]
    at(ranch, planned("gnrh_1"))
    run("record", "measure", first, second, third, "--weight-lb", "1200")
    assert "sunup record last --tag TAG" in run("record", "last")
    told = run("record", "last", "--tag", second)
    (number,) = {e[0]["id"] for e in asked("record", "last", "--tag", second)["entries"][:1]}
    assert number[:8] in told
    told = " ".join(run("record", "correct", "--tag", second, "--set", "weight_kg=500").split())
    assert f"Put right: weighed 500 kg of {second}" in told
    assert "entered by" in run("record", "undo", "--tag", third)

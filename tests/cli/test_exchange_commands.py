"""Files in and out from the command line: looked at first, taken whole, told what was left."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from sunup.base.problems import UsageError
from sunup.cli.main import app

HERD = "Tag,RFID,Class,Group,BCS\n101,840003123456789,cow,cows,5\n102,,cow,cows,5.5\n"
DAY = ["--as-of", "2027-05-09"]
ZONE = ["--zone", "America/Denver"]


@pytest.fixture
def ranch(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SUNUP_LEDGER", raising=False)
    (tmp_path / "herd.csv").write_text(HERD)
    done = sunup("read", "herd", "herd.csv", "--as-of", "2027-05-01", *ZONE, "--yes")
    assert done.exit_code == 0, done.output
    return tmp_path


def sunup(*words):
    return CliRunner().invoke(app, ["exchange", *words])


def n_events(folder):
    done = sunup("write", "events", str(folder / "n.csv"), "--over", "--json")
    return json.loads(done.stdout)["files"][0]["n"]


def test_nothing_is_taken_without_a_yes(ranch):
    before = n_events(ranch)
    (ranch / "w.csv").write_text("Tag,Date,BCS\n101,2027-05-02,6\n")
    looked = sunup("read", "condition", "w.csv", *DAY)
    assert looked.exit_code == 0
    assert "Nothing was recorded" in looked.stdout
    assert n_events(ranch) == before
    assert sunup("read", "condition", "w.csv", *DAY, "--yes").exit_code == 0
    assert n_events(ranch) == before + 1
    assert "nothing new" in sunup("read", "condition", "w.csv", *DAY, "--yes").stdout
    assert n_events(ranch) == before + 1


def test_partial_import_is_announced_and_gives_exit_1(ranch):
    (ranch / "w.csv").write_text("Tag,Date,BCS\n101,2027-05-02,6\n102,2027-05-02,77\n,,\n,2027,5\n")
    done = sunup("read", "condition", "w.csv", *DAY, "--yes")
    assert done.exit_code == 1
    assert "recorded: 1 entry" in done.stdout
    assert "rows with something that cannot be read: 2" in done.stdout
    assert "row 3, column 'BCS'" in done.stderr


def test_what_is_put_aside_is_written_where_asked(ranch):
    (ranch / "w.csv").write_text("Tag,Date,BCS\n999,2027-05-02,6\n")
    done = sunup("read", "condition", "w.csv", *DAY, "--no-unlisted", "--aside", "aside.json")
    assert done.exit_code == 1
    [kept] = json.loads((ranch / "aside.json").read_text())
    assert kept["what"] == "999"


def test_ade_out_in_and_out_again_from_the_command_line(ranch):
    told = sunup("write", "ade", "out.json")
    assert "never held" in told.stdout
    assert sunup("read", "ade", "out.json", "--ledger", "b.db", *ZONE, "--yes").exit_code == 0
    assert sunup("write", "ade", "again.json", "--ledger", "b.db").exit_code == 0
    assert (ranch / "again.json").read_text() == (ranch / "out.json").read_text()
    assert sunup("write", "ade", "folder").exit_code == 0
    parts = sorted((ranch / "folder").iterdir())
    assert sunup("read", "ade", *map(str, parts), "--json").exit_code == 0


@pytest.mark.usefixtures("ranch")
def test_a_ledger_begun_with_an_ade_file_is_of_the_ranch_the_file_names():
    """The herd's groups have ids drawn from the ranch: another name would make them others."""
    there = ("--ledger", "there.db")
    herd = ("read", "herd", "herd.csv", "--as-of", "2027-05-01", *ZONE, "--yes")
    assert sunup(*herd, *there, "--ranch", "Two Springs").exit_code == 0
    assert sunup("write", "ade", "out.json", *there).exit_code == 0
    text = Path("out.json").read_text("utf-8")
    assert "Two Springs" in text
    for ledger, ranch, same in (("b.db", (), True), ("c.db", ("--ranch", "Other"), False)):
        read = ("read", "ade", "out.json", "--ledger", ledger, *ranch, *ZONE, "--yes")
        assert sunup(*read).exit_code == 0
        assert sunup("write", "ade", f"{ledger}.json", "--ledger", ledger).exit_code == 0
        assert (Path(f"{ledger}.json").read_text("utf-8") == text) is same


def test_reader_with_a_clock_in_doubt_is_not_taken_until_somebody_says(ranch):
    line = "A 00000 0 840 003123456789, 890,LB,$,GR,9/27/2099,10:15, \n"
    (ranch / "reads.txt").write_text(line)
    before = n_events(ranch)
    looked = sunup("read", "reader", "reads.txt", "--yes")
    assert looked.exit_code != 0
    assert isinstance(looked.exception, UsageError | SystemExit)
    assert "--clock-ahead" in looked.stdout
    assert n_events(ranch) == before
    still = sunup("read", "reader", "reads.txt", "--yes", "--clock-ahead", "6h")
    assert "still to come" in still.stdout
    assert n_events(ranch) == before
    taken = sunup("read", "reader", "reads.txt", "--yes", "--clock-ahead", "26700d")
    assert taken.exit_code == 0, taken.output
    assert n_events(ranch) == before + 1


def test_tags_of_a_reader_go_to_the_recorder(ranch):
    (ranch / "reads.txt").write_text("LA 840 003123456789\nLA 840 003123456789\n")
    done = sunup("read", "reader", "reads.txt", "--tags-out", "tags.txt")
    assert done.exit_code == 0, done.output
    assert (ranch / "tags.txt").read_text().split() == ["840003123456789"]


@pytest.mark.parametrize(
    "words",
    [
        ("read", "cows", "herd.csv"),
        ("read", "herd", "no.csv"),
        ("read", "weights", "herd.csv", "--on", "soon"),
        ("read", "reader", "herd.csv", "--clock-ahead", "six"),
        ("write", "everything", "x.csv"),
        ("write", "herd", "x.doc"),
        ("write", "ade", "x.txt"),
    ],
)
def test_wrong_usage_is_told_in_words(ranch, words):
    done = sunup(*words)
    assert ranch
    assert isinstance(done.exception, UsageError)
    assert str(done.exception)


def test_file_that_is_there_is_not_written_over_unasked(ranch):
    target = ranch / "h.csv"
    assert sunup("write", "herd", str(target)).exit_code == 0
    assert isinstance(sunup("write", "herd", str(target)).exception, UsageError)
    assert sunup("write", "herd", str(target), "--over").exit_code == 0


@pytest.mark.parametrize("kind", ["herd", "weights", "calvings", "treatments", "reader", "ade"])
@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"PK\x03\x04", b"%PDF", b"\x00" * 99, b"{}"])
def test_no_file_is_a_traceback_or_taken_in_silence(ranch, kind, data):
    (ranch / "odd").write_bytes(data)
    before = n_events(ranch)
    done = sunup("read", kind, "odd", "--yes")
    assert done.exit_code == 1
    assert done.exception is None or isinstance(done.exception, SystemExit)
    assert done.stderr or "put aside" in done.stdout
    assert n_events(ranch) == before

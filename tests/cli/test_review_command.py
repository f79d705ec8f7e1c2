"""``sunup review`` on a ledger: what is printed, written, and refused."""

from __future__ import annotations

import json
import sys

import pytest
from season_events import RANCH, make_events

from sunup.app.open import open_ledger
from sunup.cli.main import main


@pytest.fixture(scope="module")
def ledger(tmp_path_factory):
    path = tmp_path_factory.mktemp("ranch") / "sunup.db"
    with open_ledger(path, ranch=RANCH, create=True) as opened:
        opened.append(make_events())
    return path


@pytest.fixture
def sunup(monkeypatch, capsys):
    def run(*arguments):
        monkeypatch.setenv("COLUMNS", "80")
        monkeypatch.setattr(sys, "argv", ["sunup", *arguments])
        code = 0
        try:
            main()
        except SystemExit as ended:
            code = ended.code or 0
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return run


def test_review_reads_compliance_first_and_fits_eighty_columns(sunup, ledger):
    code, out, err = sunup("review", "--ledger", str(ledger), "--as-of", "2028-11-01")
    assert (code, err) == (0, "")
    heads = ["WAS THE PLAN KEPT?", "WHAT DID WE GET?", "IS IT LUCK?", "WHAT TO CHANGE"]
    places = [out.index(head) for head in heads]
    assert places == sorted(places)
    assert "as of 2028-11-01" in out  # the day asked for, on the ranch's clock
    assert "22 of 40" in out
    assert "%" not in out
    assert max(map(len, out.splitlines())) <= 80
    assert "No forecast with a range was kept" in out


def test_json_holds_every_row_and_the_shares_unrounded(sunup, ledger):
    code, out, _ = sunup("review", "--ledger", str(ledger), "--as-of", "2028-11-01", "--json")
    told = json.loads(out)
    assert code == 0
    assert told["schema_version"] == 1
    assert len(told["results"]) == 64
    cows = next(m for m in told["measures"] if m["group"] == "cows")
    assert cows["shares"]["weaning"] == pytest.approx(35 / 39)
    assert {row["outcome"] for row in told["results"]} == {"pregnant to AI", "not pregnant to AI"}


def test_out_writes_paper_json_and_pictures(sunup, ledger, tmp_path):
    folder = tmp_path / "review"
    code, out, _ = sunup(
        "review", "--ledger", str(ledger), "--as-of", "2028-11-01", "--out", str(folder),
        "--paper", "a4",
    )  # fmt: skip
    assert code == 0
    made = {path.name for path in folder.iterdir()}
    assert {"review.pdf", "review.json", "review_sire.svg", "review_technician.svg"} <= made
    assert all(f"written: {folder / name}" in out.replace("\n", "") for name in made)
    assert (folder / "review.pdf").read_bytes().startswith(b"%PDF")


def test_next_adds_what_another_way_would_have_brought(sunup, ledger):
    code, out, _ = sunup(
        "review", "--ledger", str(ledger), "--as-of", "2028-11-01", "--next", "--replicates", "20",
    )  # fmt: skip
    assert code == 0
    assert "ANOTHER WAY" in out
    assert "of 50" in out


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--season", "autumn"), "There is no season 'autumn'"),
        (("--group", "bulls"), "Groups: cows, heifers"),
        (("--windows-from", "tuesday"), "third_mature_cow or breeding_start"),
        (("--as-of", "soon"), "Write it as"),
        (("--out", "{folder}", "--paper", "napkin"), "not a paper size"),
    ],
)
def test_what_cannot_be_done_is_said_in_words(sunup, ledger, tmp_path, more, words):
    told = [part.format(folder=tmp_path / "out") for part in more]
    code, _, err = sunup("review", "--ledger", str(ledger), "--as-of", "2028-11-01", *told)
    assert code == 2
    assert words in err
    assert "Traceback" not in err


def test_windows_can_be_counted_from_the_start_of_breeding(sunup, ledger):
    _, out, _ = sunup(
        "review", "--ledger", str(ledger), "--as-of", "2028-11-01", "--windows-from",
        "breeding_start",
    )  # fmt: skip
    assert "285 days after breeding began" in " ".join(out.split())

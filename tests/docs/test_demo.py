"""The demo: the herd list is what its builder writes, and the main job runs on it."""

import csv
import importlib.util
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.docs


def _builder():
    spec = importlib.util.spec_from_file_location("demo_herd", ROOT / "builders" / "demo_herd.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _rows():
    with (ROOT / "demo" / "herd.csv").open(encoding="utf-8") as file:
        next(file)
        return list(csv.DictReader(file))


def test_the_demo_herd_is_what_its_builder_writes():
    assert _builder().build() == (ROOT / "demo" / "herd.csv").read_text(encoding="utf-8")


def test_the_demo_herd_says_of_which_day_it_is():
    first = (ROOT / "demo" / "herd.csv").read_text(encoding="utf-8").splitlines()[0]
    assert first == "Quiet Gravel Ranch herd list as of 2027-04-19"


def test_the_demo_herd_holds_the_mess_of_real_lists():
    rows = _rows()
    tags = [row["Visual Tag"] for row in rows]
    faults = {
        "one tag written twice": len(tags) - len(set(tags)) == 1,
        "an RFID shortened by a spreadsheet": any("E+" in row["RFID"] for row in rows),
        "a date in another order": any("/" in row["Last Calving"] for row in rows),
        "a condition of 55": any(row["Body Condition"] == "55" for row in rows),
        "retained membranes": any(row["Retained Membranes"] == "yes" for row in rows),
        "a weight in kg in the pounds column": any("kg" in row["Weight (lb)"] for row in rows),
        "two on hold": sum(bool(row["Hold"]) for row in rows) == 2,
        "one found pregnant": any(row["Pregnancy Finding"] == "pregnant" for row in rows),
        "exposed and not checked": any(
            row["Bull In"] and not row["Pregnancy Finding"] for row in rows
        ),
        "an infantile tract": any(row["Tract Score"] == "1" for row in rows),
        "cows calved in April": any("2027-04-1" in row["Last Calving"] for row in rows),
        "no calving date": any(row["Class"] == "cow" and not row["Last Calving"] for row in rows),
    }
    assert [name for name, there in faults.items() if not there] == []


def test_the_two_seasons_are_what_their_builder_writes():
    done = subprocess.run(
        [sys.executable, str(ROOT / "builders" / "demo_seasons.py"), "--check"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_season_under_way_was_typed_as_it_came():
    """A line above one of an earlier hour would be entered before it: entries out of order."""
    script = (ROOT / "demo" / "season_2027.txt").read_text(encoding="utf-8")
    told = re.findall(r"--at (\S+)", script)
    assert len(told) > 20
    assert told == sorted(told)


def test_the_demo_runs_and_leaves_a_packet_and_a_ledger_with_two_seasons():
    env = {k: v for k, v in os.environ.items() if not k.startswith("SUNUP_")}
    done = subprocess.run(
        [sys.executable, str(ROOT / "demo" / "run.py")],
        cwd=ROOT,
        env=env | {"SERVE": "0"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr
    assert "Traceback" not in done.stderr
    for name in ("plan.json", "calendar.ics", "workbook.xlsx", "packet.pdf"):
        assert (ROOT / "demo" / "out" / name).stat().st_size > 1000
        assert name in done.stdout.partition("The packet:")[2]
    assert "sunup plan ended with 1" in done.stdout  # the list has faults, and they are named
    assert "row 60, column 'Visual Tag'" in done.stderr
    assert "What each would do to heifers, simulated" in done.stdout
    assert "INSEMINATE THIS EVENING (Tue 25 May)" in done.stdout
    assert "4044" in done.stdout.partition("BEYOND THEIR WINDOW")[2]  # got no PGF
    assert "Review of 2026, Quiet Gravel Ranch" in done.stdout
    # the double tap was taken back, every insert is accounted for
    assert "\nsound\n" in done.stdout.partition("Is everything sound?")[2].partition("ledger")[2]

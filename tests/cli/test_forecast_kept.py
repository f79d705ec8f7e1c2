"""A forecast kept with the plan, from the command to the line Today sets beside the heats seen."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from herd_csv import write_herd
from sunup.cli.main import app

RUN = CliRunner()


def run(*words, ok=(0, 1)):
    done = RUN.invoke(app, list(words))
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code in ok, done.output
    return done.output


@pytest.fixture
def pgf_at(tmp_path, monkeypatch):
    """A ranch whose plan watches for heat, its forecast of 20 seasons kept; the hour of PGF."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("SUNUP_LEDGER", raising=False)
    monkeypatch.setenv("SUNUP_NOW", "2027-05-10T18:00:00Z")
    write_herd(tmp_path / "herd.csv")
    run(
        *("plan", "herd.csv", "--first-ai", "2027-05-25", "--zone", "America/Denver"),
        *("--as-of", "2027-04-20", "--out", "packet", "--no-pdf"),
        *("--protocol", "cows=select_synch_insert_tai_cow"),
    )
    told = run(
        *("season", "adopt", "packet/plan.json", "--herd", "herd.csv", "--forecast"),
        *("--replicates", "20", "--seed", "3"),
    )
    assert "forecast kept for cows" in told
    plan = json.loads(Path("packet/plan.json").read_text("utf-8"))
    cows = next(g for g in plan["groups"] if g["name"] == "cows")
    return monkeypatch, datetime.fromisoformat(
        next(s for s in cows["schedule"] if s["do"] == "pgf")["at_utc"]
    )


def at(monkeypatch, instant):
    monkeypatch.setenv("SUNUP_NOW", instant.isoformat())


def heats():
    (line,) = [h for h in json.loads(run("today", "--json"))["heats"] if h["group"] == "cows"]
    return line


def test_heats_expected_by_now_come_from_the_forecast_kept_at_adoption(pgf_at):
    monkeypatch, pgf = pgf_at
    at(monkeypatch, pgf - timedelta(days=7))
    run("record", "visit", "cows", "gnrh_1", "--all", "--withdrawal", "0")
    at(monkeypatch, pgf)
    run("record", "visit", "cows", "pgf", "--all", "--withdrawal", "0")
    at(monkeypatch, pgf + timedelta(hours=2))
    assert heats()["expected"] < 1, "nobody shows heat two hours after PGF"
    at(monkeypatch, pgf + timedelta(hours=54))
    run("heats", "watch", "cows", "--minutes", "30")
    none = heats()
    assert 0 < none["low"] <= none["expected"] <= none["high"] <= none["females"]
    assert "Low response: 0 seen" in none["call"]
    told = " ".join(run("today").split())
    assert f"HEATS, cows: 0 of {none['females']} seen" in told
    assert f"expected by now {none['expected']:.0f}" in told
    at(monkeypatch, pgf + timedelta(hours=80))
    later = heats()
    assert later["expected"] > none["expected"], "more have come by then"


@pytest.mark.usefixtures("pgf_at")
def test_the_kept_forecast_is_one_event_with_its_seed_and_versions():
    kept = [
        json.loads(line)
        for line in run("ledger", "export", "-").splitlines()
        if '"ForecastKept"' in line
    ]
    cows = next(e["body"] for e in kept if e["body"]["forecast"]["group"] == "cows")
    assert cows["seed"] == 3
    assert cows["library_version"]
    assert cows["kernel_version"]
    assert sum(h["seen_mean"] for h in cows["forecast"]["heats"]) <= cows["forecast"]["n"]

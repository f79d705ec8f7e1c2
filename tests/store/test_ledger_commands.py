"""The commands of the ledger, as a user runs them."""

from __future__ import annotations

import json
import sys
from datetime import timedelta

import pytest
from ledger_events import START, event, made_id, season

from sunup.app.ledger import backup_ledger, restore_ledger
from sunup.app.open import open_ledger
from sunup.cli.main import main
from sunup.records.event import Kind
from sunup.store.lines import write_line
from sunup.store.verify import verify_ledger

EVENTS = season(4)


@pytest.fixture
def sunup(tmp_path, monkeypatch, capsys):
    """Run the program in an empty folder: (exit code, output, errors)."""
    monkeypatch.chdir(tmp_path)
    for name in ("SUNUP_LEDGER", "SUNUP_RANCH"):
        monkeypatch.delenv(name, raising=False)

    def run(*words):
        monkeypatch.setenv("COLUMNS", "200")
        monkeypatch.setattr(sys, "argv", ["sunup", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        shown = capsys.readouterr()
        return ended.value.code or 0, shown.out, shown.err

    return run


@pytest.fixture
def phone(tmp_path):
    path = tmp_path / "phone.jsonl"
    path.write_text("".join(map(write_line, EVENTS)), "utf-8")
    return path


def test_a_ledger_begins_with_what_is_brought_in_and_counts_are_told(sunup, phone, home):
    with phone.open("a") as file:
        file.write("oops\n" + write_line(EVENTS[0]))
    code, out, err = sunup("ledger", "import", phone, "--ledger", home.text)
    assert code == 1
    assert f"{len(EVENTS)} new, 1 already there, 1 lines refused" in out
    assert "The good lines were taken." in out
    assert f"phone.jsonl line {len(EVENTS) + 1}: It is not JSON." in err
    code, out, _ = sunup("ledger", "import", phone, "--ledger", home.text, "--json")
    told = json.loads(out)
    assert (told["new"], told["already_there"]) == (0, len(EVENTS) + 1)
    assert [r["line"] for r in told["refused"]] == [len(EVENTS) + 1]
    code, out, _ = sunup("ledger", "verify", "--ledger", home.text)
    assert (code, f"{len(EVENTS)} events, 4 females" in out) == (0, True)


def test_both_changes_of_a_plan_are_told_when_one_is_refused(sunup, tmp_path):
    plan = event(Kind.PLAN_ADOPTED, id_=made_id(1), body={"plan_id": "p", "plan": {}})
    body = {"plan_id": "p", "based_on": plan.id, "plan": {}}
    first = event(Kind.PLAN_CHANGED, entered_by="Ana", body=body)
    second = event(Kind.PLAN_CHANGED, entered_by="Ben", body=body)
    path = tmp_path / "in.jsonl"
    path.write_text("".join(map(write_line, [plan, first, second])), "utf-8")
    code, _, err = sunup("ledger", "import", path)
    assert code == 1
    assert "changed in between, Ana" in err
    assert "older version (Ben" in err


def test_a_backup_is_put_back_and_the_former_ledger_is_kept(sunup, phone, tmp_path):
    sunup("ledger", "import", phone)
    code, out, _ = sunup("ledger", "backup", "may.db")
    assert (code, out) == (0, "kept: may.db\n")
    later = event(Kind.WEIGHED, female=made_id("later"), body={"weight_kg": 1})
    with open_ledger() as ledger:
        ledger.append([later])
    code, out, _ = sunup("ledger", "restore", "may.db")
    assert code == 0
    (kept,) = tmp_path.glob("sunup-*-before-restore.db")
    with open_ledger() as ledger, open_ledger(kept) as former:
        assert ledger.events() == tuple(EVENTS)
        assert former.events() == (*EVENTS, later)
    # what the command says brings the later one over
    (line,) = [line for line in out.splitlines() if "sunup ledger export" in line]
    for command in line.partition("over: ")[2].split("; "):
        sunup(*command.removeprefix("sunup ").split())
    with open_ledger() as ledger:
        assert ledger.events() == (*EVENTS, later)


def test_a_backup_is_never_written_over(sunup, phone):
    sunup("ledger", "import", phone)
    sunup("ledger", "backup", "may.db")
    code, _, err = sunup("ledger", "backup", "may.db")
    assert code == 2
    assert "already" in err


def test_a_damaged_ledger_is_set_aside_when_a_backup_is_put_back(sunup, phone, tmp_path):
    sunup("ledger", "import", phone)
    sunup("ledger", "backup", "may.db")
    (tmp_path / "sunup.db").write_bytes(b"spilt coffee" * 1000)
    code, _, _ = sunup("ledger", "restore", "may.db")
    assert code == 0
    with open_ledger() as ledger:
        assert ledger.events() == tuple(EVENTS)
    (kept,) = tmp_path.glob("sunup-*-before-restore.db")
    assert kept.read_bytes().startswith(b"spilt coffee")


def test_a_backup_is_put_where_no_ledger_is(sunup, phone, tmp_path):
    sunup("ledger", "import", phone)
    sunup("ledger", "backup", "may.db")
    result = restore_ledger(tmp_path / "may.db", tmp_path / "new.db")
    assert (result.kept, result.n_events) == (None, len(EVENTS))


def test_what_is_no_backup_or_no_place_for_one_is_refused(sunup, phone, cluster):
    sunup("ledger", "import", phone)
    for words in (
        ("none.db",),
        ("phone.jsonl",),
        ("sunup.db",),
        ("sunup.db", "--ledger", cluster.url("postgres")),
    ):
        code, _, err = sunup("ledger", "restore", *words)
        assert code == 2, words
        assert err.startswith("sunup: ")
    with open_ledger() as ledger:
        assert verify_ledger(ledger).events == tuple(EVENTS)


def test_a_backup_of_a_server_is_json_lines_of_all_ranches(cluster, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    url = cluster.new_database()
    with open_ledger(url, create=True, ranch="A") as one:
        one.append(season(1, ranch="A", seed="a"))
        with open_ledger(url, ranch="B") as two:
            two.append(season(2, ranch="B", seed="b"))
        path = backup_ledger(one)
    assert path.parent.resolve() == tmp_path
    ranches = [json.loads(line)["ranch"] for line in path.read_text("utf-8").splitlines()]
    assert set(ranches) == {"A", "B"}
    assert len(ranches) == len(season(1)) + len(season(2))
    cluster.drop(url)


def test_check_looks_at_the_ledger_where_one_is(sunup, phone):
    without, out, _ = sunup("check", "--json")
    assert json.loads(out)["ledger"] is None
    sunup("ledger", "import", phone)
    code, out, _ = sunup("check")
    assert code == without
    assert "ledger sunup.db, ranch Test ranch" in out
    with open_ledger() as ledger, ledger.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM female_index")
    code, _, err = sunup("check")
    assert code == 1
    assert "sunup ledger rebuild" in err
    assert sunup("ledger", "rebuild")[0] == 0
    assert sunup("check")[0] == without


def test_check_says_in_plain_words_what_is_odd(sunup):
    """The four that the ledger's brief names, and nothing of a female without fault."""

    def her(female, kind, days, **body):
        at = START + timedelta(days=days)
        return event(kind, at=at, female=made_id(female), body=body)

    events = [her(i, Kind.FEMALE_ADDED, 0, tag=f"T{i}", listed=True) for i in range(4)]
    events += [
        her(0, Kind.INSERT_REMOVED, 7, found=True),  # never went in; so more out than in, too
        her(1, Kind.INSEMINATED, 20, sire="S1"),
        her(1, Kind.TREATED, 29, act="pgf"),
        her(2, Kind.INSEMINATED, 20, sire="S1"),
        her(2, Kind.CALVED, 220),
        her(3, Kind.INSERT_PLACED, 0),
        her(3, Kind.INSERT_REMOVED, 7, found=True),
        her(3, Kind.TREATED, 7, act="pgf"),
        her(3, Kind.INSEMINATED, 10, sire="S1"),
        her(3, Kind.CALVED, 293),
    ]
    with open_ledger(create=True) as ledger:
        ledger.append(events)
    _, out, _ = sunup("check", "--json")
    odd = json.loads(out)["ledger"]["odd"]
    for words, tag in (("insert", "T0"), ("9 days", "T1"), ("200 days", "T2")):
        assert [p for p in odd if tag in p["where"] and words in p["what"]], (words, odd)
    assert [p for p in odd if "out" in p["what"] and "T0" not in p["where"]], odd
    assert not [p for p in odd if "T3" in p["where"]], odd
    _, out, err = sunup("check")
    assert f"sound; {len(odd)} odd" in out
    assert "look: " in err


def test_nothing_is_made_by_only_looking(sunup, tmp_path):
    for verb in ("verify", "rebuild", "backup", "upgrade"):
        code, _, err = sunup("ledger", verb)
        assert (code, "There is no ledger" in err) == (2, True), verb
    assert list(tmp_path.iterdir()) == []

"""Slips of date, tag and bull are said as they are typed, and kept."""

from __future__ import annotations

import shlex
from dataclasses import replace
from datetime import timedelta

import pytest
import typer
from running_season import local, running

from herds import cows
from sunup.app.odd_at_entry import odd_bulls
from sunup.app.record import Details, record_ai, record_visit
from sunup.app.record_facts import record_group
from sunup.app.scan import find_sheet
from sunup.app.season import also_wearing, find_female, identify
from sunup.app.undo import undo
from sunup.app.when import tell_ahead
from sunup.base.problems import UsageError
from sunup.cli.main import app
from sunup.records.event import Kind

COMMAND = typer.main.get_command(app)


@pytest.fixture
def typed(tmp_path, monkeypatch, capsys):
    """Types commands with the clock at noon of 27 November 2026 in Denver."""
    monkeypatch.setenv("SUNUP_LEDGER", str(tmp_path / "sunup.db"))
    monkeypatch.setenv("SUNUP_NOW", "2026-11-27T19:00:00Z")
    herd = tmp_path / "herd.csv"
    herd.write_text(
        "tag,class,group,calved,sire\n101,cow,cows,2025-03-01,B7\n102,cow,cows,2026-03-01,\n"
    )

    def run(words):
        capsys.readouterr()
        COMMAND.main(shlex.split(words), "sunup", standalone_mode=False)
        told = capsys.readouterr()
        return " ".join((told.out + told.err).split())

    run(f"exchange read herd {herd} --zone America/Denver --yes")
    return run


@pytest.mark.parametrize(
    "words",
    [
        "record calving 101 --at 2028-03-03T05:00",
        "record ai 101 --sire A31 --at 2028-03-03T05:00",
        "record drug oxytetracycline 101 --ml 20 --withdrawal 28 --at 2028-03-03T05:00",
        "heats seen 101 --at 2028-03-03T05:00",
        "scan result 101 --result not_pregnant --at 2028-03-03T05:00",
    ],
)
def test_a_date_to_come_is_said_with_its_year_and_kept(typed, words):
    told = typed(words)
    assert "Fri 3 Mar 2028 05:00 is 462 days ahead of the clock (Fri 27 Nov 2026 12:00)" in told
    assert "sunup record undo" in told
    assert "3 Mar 2028" in typed("record last")


def test_a_date_of_another_year_is_answered_with_its_year_and_one_of_this_without(typed):
    assert "Fri 5 Dec 2025 06:00" in typed("record ai 101 --sire A31 --at 2025-12-05T06:00")
    told = typed("record ai 102 --sire A31 --at 2026-11-26T06:00")
    assert "Thu 26 Nov 06:00" in told
    assert "ahead of the clock" not in told


def test_an_entry_put_right_into_the_future_or_off_its_service_is_said(typed):
    typed("record ai 101 --sire A31 --at 2026-01-10T06:00")
    typed("record calving 101 --at 2026-10-19T06:00")
    told = typed("record correct last --at 2026-04-01T05:00")
    assert "fits (250 to 300 days)" in told
    told = typed("record correct last --at 2028-03-03T05:00")
    assert "462 days ahead of the clock" in told


def test_an_act_a_few_minutes_ahead_is_no_matter():
    now = local("2027-05-22T14:00")
    ahead = now + timedelta(minutes=50)
    assert tell_ahead(ahead, "--at", zone="America/Denver", now=now, within_h=1.0) == ()


def test_a_bull_turned_in_twice_is_said_at_entry():
    ranch, _ = running(2)
    body = {"bulls": ["B7"]}
    first = record_group(ranch.desk(), Kind.BULLS_IN, "cows", body, at=ranch.now)
    assert odd_bulls(ranch.desk(), first) == ()
    ranch.now += timedelta(days=1)
    again = record_group(ranch.desk(), Kind.BULLS_IN, "cows", body, at=ranch.now)
    (flag,) = odd_bulls(ranch.desk(), again)
    assert "turned in with cows again; by the records he is with them since" in flag.text
    ranch.now += timedelta(days=1)
    record_group(ranch.desk(), Kind.BULLS_OUT, "cows", {}, at=ranch.now)
    ranch.now += timedelta(days=1)
    last = record_group(ranch.desk(), Kind.BULLS_IN, "cows", body, at=ranch.now)
    assert odd_bulls(ranch.desk(), last) == ()


def test_a_bull_put_to_his_own_daughters_is_said_at_entry():
    # common practice, no source: no sire serves his own daughters
    females = [replace(f, sire="b7 ") if f.tag != "2002" else f for f in cows(3)]
    ranch, _ = running(females=females)
    event = record_group(ranch.desk(), Kind.BULLS_IN, "cows", {"bulls": ["B9", "B7"]}, at=ranch.now)
    (flag,) = odd_bulls(ranch.desk(), event)
    assert flag.text == "B7 is the own sire of 2001, 2003 in cows"


def test_the_command_that_turns_in_her_own_sire_says_so(typed):
    assert "look: B7 is the own sire of 101 in cows now: Put him" in typed(
        "record bulls-in cows B7"
    )
    assert "own sire" not in typed("record bulls-in cows B9")


def test_a_tag_another_wears_is_said_when_it_is_given():
    ranch, _ = running(3)
    assert [f.tag for f in also_wearing(ranch.desk(), "2001", new="2003")] == ["2003"]
    assert also_wearing(ranch.desk(), "2001", new="3001") == ()


def test_the_command_that_gives_a_worn_tag_says_so(typed):
    assert "another female of cows wears 102 too" in typed("season retag 101 --new 102")


def test_a_tag_identified_before_says_as_whom_and_how_to_take_it_back():
    ranch, _ = running(3)
    at = ranch.now + timedelta(days=1)
    ranch.now = at
    record_visit(ranch.desk(), "cows", "gnrh_1", ["777"], at=at)
    told = identify(ranch.desk(), "777", "2003")
    ranch.now += timedelta(hours=1)
    with pytest.raises(UsageError, match="'777' was identified as 2003 on") as error:
        identify(ranch.desk(), "777", "2001")
    assert f"sunup record undo {told.id[:8]}" in str(error.value)
    undo(ranch.desk(), event=told.id)
    ranch.now += timedelta(hours=1)
    identify(ranch.desk(), "777", "2001")
    assert find_female(ranch.desk(), "2001").acts


def test_a_return_inseminated_among_the_bulls_is_no_last_ai():
    # AI 25 May, bulls in 8 June (14 days by hand), one return inseminated 16 June
    ranch, _ = running(3)
    ranch.now = local("2027-05-25T18:00")
    sire = Details(sire="A31")
    record_ai(ranch.desk(), ["2001", "2002", "2003"], at=ranch.now, details=sire)
    ranch.now = local("2027-06-08T12:00")
    record_group(ranch.desk(), Kind.BULLS_IN, "cows", {"bulls": ["B7"]}, at=ranch.now)
    ranch.now = local("2027-06-16T12:00")
    record_ai(ranch.desk(), ["2003"], at=ranch.now, details=sire)
    ranch.now = local("2027-07-28T12:00")
    ((_, advice),) = find_sheet(ranch.desk()).advice
    assert "the bulls' calves are at least 14 days younger" in advice.text
    assert "2003: inseminated with the bulls in" in advice.text
    # 55 to 90 days after AI (trade press account), from 28 days after the bulls on
    assert f"{advice.from_on:%d %b}" == "19 Jul"

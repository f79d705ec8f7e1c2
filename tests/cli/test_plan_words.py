"""What ``sunup plan`` says of wishes that cannot be, or that were taken in another way."""

from __future__ import annotations

from datetime import date

import pytest

from herd_csv import AS_OF, write_herd
from herds import LIBRARY, clashes_of, cow, cows, heifers, season
from sunup.base.problems import UsageError
from sunup.cli.main import app
from sunup.cli.plan_view import print_plan
from sunup.planning.alternative import find_bulls_alone
from sunup.planning.request import Sire

DENVER = ("--zone", "America/Denver")
MAY = ("--first-ai", "2027-05-25", *DENVER, "--as-of", AS_OF)


@pytest.fixture
def sunup(capsys, monkeypatch, tmp_path):
    """Run ``sunup plan`` on a herd of 24 cows and 16 heifers: what it prints, or raises."""
    monkeypatch.setenv("COLUMNS", "200")
    herd = str(write_herd(tmp_path / "herd.csv"))

    def run(*words):
        code = app(["plan", herd, *words], standalone_mode=False)
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


def told(plan, where):
    return [p.what for p in plan.problems if p.where == where]


@pytest.mark.parametrize("protocol", [(), ("--protocol", "cows=co_synch_insert7_cow")])
def test_a_first_insemination_that_is_past_is_refused_as_past(sunup, protocol):
    with pytest.raises(UsageError, match=r"--first-ai 2020-05-25 is past .*--as-of"):
        sunup("--first-ai", "2020-05-25", *DENVER, "--as-of", AS_OF, *protocol)


def test_a_season_gone_by_is_planned_as_of_an_earlier_day(sunup):
    _, out, _ = sunup("--first-ai", "2020-05-25", *DENVER, "--as-of", "2020-01-02")
    assert "season 2020" in out


def test_cows_that_will_have_calved_again_are_not_taken_as_known():
    """Calved March 2027, planned for May 2030: three calvings lie between."""
    calved = date(2027, 3, 10)
    herd = [cow(str(i), calved_on=calved) for i in range(5)]
    late = season(herd, first_ai_on=date(2030, 5, 25), today=date(2027, 4, 20))
    assert any("they will have calved again" in text for text in told(late, "cows"))
    this = season(herd, first_ai_on=date(2027, 5, 25), today=date(2027, 4, 20))
    assert not any("calved again" in text for text in told(this, "cows"))


def test_the_season_after_the_calving_needs_no_word():
    """A cow open since last year's calving may be bred; one due before the day counts as calved."""
    herd = [cow("1", calved_on=date(2026, 3, 1), due_on=date(2027, 3, 5))]
    plan = season(herd, first_ai_on=date(2027, 5, 25))
    assert not any("calved again" in text for text in told(plan, "cows"))


@pytest.mark.parametrize(("region", "held"), [("us", "US"), ("Br", "BR"), ("OTHER", "other")])
def test_a_region_is_known_in_any_case(sunup, region, held):
    _, out, _ = sunup(*MAY, "--region", region)
    assert f"rule pack {held}" in out


def test_bulls_alone_is_said_to_be_no_protocol(sunup):
    with pytest.raises(UsageError, match=r"no protocol: every plan shows bulls alone.*--against"):
        sunup(*MAY, "--protocol", "cows=bulls_alone")


@pytest.mark.parametrize("days", ["-5", "500"])
def test_days_that_no_calf_comes_earlier_are_refused(sunup, days):
    with pytest.raises(UsageError, match=rf"--earlier-days {days}"):
        sunup(*MAY, "--earlier-days", days)


def test_a_sheet_of_a_text_file_is_refused(sunup):
    code, _, err = sunup(*MAY, "--sheet", "cows")
    assert code == 1
    assert "no workbook" in err


@pytest.mark.parametrize(
    ("shares", "words"),
    [
        ((0.7, 0.7), "add up to 1.4, not to 1: taken as B0 0.5, B1 0.5"),
        ((0.4,), "add up to 0.4, not to 1: taken as B0 1"),
        ((0.6, 0.4), None),
        ((0.33, 0.33, 0.34), None),
        ((1.0, 1.0), None),  # no share was given: halves
    ],
)
def test_shares_that_do_not_add_up_are_said(shares, words):
    sires = tuple(Sire("cows", f"B{i}", share=share) for i, share in enumerate(shares))
    plan = season(cows(10), sires=sires)
    found = [text for text in told(plan, "cows") if "shares of its sires" in text]
    assert bool(found) == bool(words)
    assert not words or words in found[0]


def test_a_calf_is_weighed_in_the_unit_of_the_region():
    """2.4 lb are 1.1 kg; a dollar figure a lb is 2.2 times that a kg (0.45359237 kg a lb)."""
    pounds, kilos = (find_bulls_alone(20, library=LIBRARY, unit=u).note for u in ("lb", "kg"))
    assert "2.4 lb less" in pounds
    assert "1.1 kg less" in kilos
    assert " lb " not in kilos
    assert "lb" not in season(cows(5), region="BR").groups[0].bulls_alone.note.split()


def test_runs_of_days_and_ways_out_are_printed_once(capsys, monkeypatch):
    from sunup.app.plan_season import Outcome

    monkeypatch.setenv("COLUMNS", "200")
    plan = season(cows(3000), protocols={"cows": "co_synch_insert7_cow"})
    print_plan(Outcome(plan, (), 3000), show_all=False)
    out = capsys.readouterr().out
    assert "Sat 15 May 06:00 to Tue 18 May 09:00" in out
    assert out.count("What gets all 3,000") == 1
    assert clashes_of(plan, "capacity")


def test_a_published_range_with_an_end_from_memory_is_starred(capsys, monkeypatch):
    """47.9 was read (one herd over three years); 66.7 is from memory, and so is the range."""
    from sunup.app.plan_season import Outcome

    monkeypatch.setenv("COLUMNS", "200")
    print_plan(Outcome(season([*cows(9), *heifers(9)]), (), 18), show_all=False)
    assert "47.9-66.7*" in capsys.readouterr().out


def test_a_clash_of_two_groups_on_one_day_says_whose_it_is(capsys, monkeypatch):
    from sunup.app.plan_season import Outcome

    monkeypatch.setenv("COLUMNS", "200")
    plan = season([*cows(9), *heifers(9)])
    weekend = clashes_of(plan, "weekend")
    assert {clash.group for clash in weekend} == {"cows", "heifers"}
    print_plan(Outcome(plan, (), 18), show_all=False)
    rows = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert {row[1] for row in rows if row[:1] == ["weekend"]} == {"cows", "heifers"}


def test_a_watched_group_is_told_when_those_seen_in_heat_are_inseminated(sunup):
    """PGF and insert out on Sunday 23 May; seen in the morning, inseminated that evening."""
    _, out, _ = sunup(*MAY, "--protocol", "cows=select_synch_insert_tai_cow")
    assert "in heat are inseminated at 06:00 and 18:00, Mon 24 May 18:00 to Wed 26 May 06:00" in out

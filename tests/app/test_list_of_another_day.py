"""A herd list of one day, a plan made on another: what goes by which."""

from __future__ import annotations

from datetime import date, timedelta
from io import BytesIO

import pytest
from openpyxl import load_workbook

from herd_csv import rows, write_herd
from herds import AI_ON, request
from sunup.app import plan_season as module
from sunup.app.plan_season import plan_season
from sunup.base.hours import find_zone
from sunup.exchange.plan_file import plan_to_json
from sunup.planning.request import Request
from sunup.reports.packet import packet_values
from sunup.reports.words import day
from sunup.reports.workbook import render_workbook

LISTED = AI_ON - timedelta(days=36)
SEVEN = {"cows": "co_synch_insert7_cow", "heifers": "co_synch_insert7_heifer"}


@pytest.fixture
def herd(tmp_path):
    return write_herd(tmp_path / "herd.csv", [f"North herd as of {LISTED}", *rows()])


def plan_on(herd, on, *, as_of_given=False, **wishes):
    found = plan_season(herd, request(today=on, **wishes), as_of_given=as_of_given)
    return found.plan


@pytest.mark.parametrize("as_of_given", [False, True])
def test_no_start_is_laid_on_a_day_that_is_past(herd, as_of_given):
    """Ten days of treatment cannot begin two days before: the list's day does not make them."""
    late = AI_ON - timedelta(days=2)
    plan = plan_on(herd, late, as_of_given=as_of_given)
    treated = [s.at_utc.date() for g in plan.groups for s in g.schedule]
    assert all(on >= late for on in treated)
    for group in plan.groups:
        seven = next(r for r in group.rejected if r.protocol == SEVEN[group.name])
        assert seven.reason.startswith("would have had to start")
        assert "10 days before the first insemination" in seven.reason


def test_orders_and_the_run_up_are_late_by_the_day_of_the_plan(herd):
    early, late = (plan_on(herd, on) for on in (LISTED, AI_ON - timedelta(days=12)))
    counts = [sum(item.overdue for item in plan.run_up) for plan in (early, late)]
    assert counts[1] > counts[0]
    today = Request.from_json(late.settings).today
    assert today == AI_ON - timedelta(days=12)
    assert [i.overdue for i in late.run_up if i.group is None] == [
        i.to_on < today for i in late.run_up if i.group is None
    ]


def test_what_should_have_been_ordered_is_marked_on_paper(herd):
    """Orders of drugs count 30 days back from the first treatment: all past on the day itself."""
    plan = plan_on(herd, AI_ON - timedelta(days=12))
    for section in packet_values(plan, find_zone(plan.zone))["shopping"]["sections"]:
        for row in section["rows"]:
            (line,) = [s for s in plan.shopping if s.item == row["item"]]
            assert row["overdue"] == (line.order_by < AI_ON - timedelta(days=12)), row["item"]
    assert sum(line.order_by < AI_ON - timedelta(days=12) for line in plan.shopping) > 3


def test_females_are_judged_by_the_day_of_the_list(tmp_path):
    """Due the day after the list was drawn up: then to come, and not 'was due' on the day after."""
    due = LISTED + timedelta(days=1)
    path = write_herd(
        tmp_path / "due.csv",
        [
            f"North herd as of {LISTED}",
            "tag,class,group,due,calved",
            f"1,cow,cows,{due},",
            f"2,cow,cows,,{LISTED - timedelta(days=40)}",
        ],
    )
    plan = plan_on(path, LISTED + timedelta(days=10), first_ai_on=AI_ON + timedelta(days=30))
    (line,) = [f for f in plan.females if f.tag == "1"]
    assert [r.text.partition(":")[0] for r in line.reasons if r.rule == "due"] == [
        f"due {due.day} {due:%b}"
    ]


def test_paper_and_workbook_say_both_days(herd):
    plan = plan_on(herd, LISTED + timedelta(days=9))
    both = {("Herd list of", LISTED), ("Planned as of", LISTED + timedelta(days=9))}
    facts = packet_values(plan, find_zone(plan.zone))["season"]["facts"]
    assert {(name, day(on)) for name, on in both} <= {tuple(pair) for pair in facts}
    sheet = load_workbook(BytesIO(render_workbook(plan)))["Summary"]
    assert both <= {(r[0].value, r[1].value.date()) for r in sheet if hasattr(r[1].value, "date")}


def warned(plan):
    return [p for p in plan.problems if p.where == "herd list"]


def test_an_old_list_is_warned_of_and_a_fresh_one_is_not(herd, library):
    limit = int(library.number("practice.list_old_days"))
    assert not warned(plan_on(herd, LISTED + timedelta(days=limit)))
    (told,) = warned(plan_on(herd, LISTED + timedelta(days=limit + 1)))
    assert str(LISTED) in told.what
    assert f"{limit + 1} days" in told.what


def test_a_list_of_a_later_day_is_planned_on_its_day(herd):
    """A sample played in another year: the computer's clock is behind the list's."""
    plan = plan_on(herd, date(2026, 11, 26))
    assert plan.settings["today"] == plan.settings["list_on"] == LISTED.isoformat()


def test_as_of_goes_before_a_list_of_a_later_day(tmp_path):
    """What is written after the day it is read as of has not happened."""
    calved = LISTED - timedelta(days=3)
    path = write_herd(
        tmp_path / "herd.csv",
        [
            f"North herd as of {LISTED}",
            "tag,class,group,calved",
            f"1,cow,cows,{calved}",
            f"2,cow,cows,{calved - timedelta(days=40)}",
        ],
    )
    before = request(today=calved - timedelta(days=1))
    told = plan_season(path, before, as_of_given=True)
    assert told.plan.settings["list_on"] is None
    assert any(f"{calved} is after {before.today}" in p.what for p in told.problems)


def test_the_clock_of_a_replay_is_the_day_of_a_plan(monkeypatch):
    monkeypatch.setenv("SUNUP_NOW", "2027-05-15T18:00:00+00:00")
    assert module.find_today() in {date(2027, 5, 15), date(2027, 5, 16)}  # by the local zone


def test_a_plan_file_of_before_says_no_day_of_the_list(herd):
    """Then its one day stood for both."""
    settings = dict(plan_to_json(plan_on(herd, LISTED))["settings"])
    del settings["list_on"]
    assert Request.from_json(settings).judged_on == LISTED

"""Every paper names the same start for all, apart from the first female's own window."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar
from openpyxl import load_workbook

from herds import cows, season
from sunup.cli.plan_view import print_plan
from sunup.reports.calendar_file import render_calendar
from sunup.reports.day_sheets import Kind, day_sheets, time_words
from sunup.reports.workbook import render_workbook

DENVER = ZoneInfo("America/Denver")


@pytest.fixture(scope="module")
def long_line():
    """174 cows: PGF at 40 an hour, AI at 25, so the last stands 2 h 37 further behind at AI.

    Published 60 to 66 h; planned 63.25 h, Tuesday 06:00; for all 06:00 + 2:45 - 2:37.
    """
    return season(cows(174), protocols={"cows": "co_synch_insert7_cow"})


def test_the_day_sheet_names_the_start_that_suits_all(long_line):
    sheets = [s for s in day_sheets(long_line, DENVER) if s.kind is Kind.TREATMENT]
    told = {time_words(s, DENVER) for s in sheets if s.title.startswith("Inseminate")}
    assert len(told) == 1
    assert "may start 06:00 to 06:08 for all" in next(iter(told))
    assert "the first female's window 02:45 to 08:45" in next(iter(told))


def test_the_calendar_does(long_line):
    events = Calendar.from_ical(render_calendar(long_line)).walk("VEVENT")
    told = [str(e["DESCRIPTION"]) for e in events if "inseminate" in str(e["SUMMARY"])]
    assert any("May start 06:00 to 06:08 for all." in text for text in told)


def test_the_workbook_does(long_line):
    sheet = load_workbook(BytesIO(render_workbook(long_line)))["Schedule"]
    heads = [cell.value for cell in sheet[1]]
    rows = [dict(zip(heads, [c.value for c in row], strict=True)) for row in sheet.iter_rows(2)]
    row = next(r for r in rows if r["Step"] == "inseminate")
    assert row["May start from"] == datetime(2027, 5, 25, 6, 0)
    assert row["May start to"] == datetime(2027, 5, 25, 6, 8)
    assert row["First female's window to"] == datetime(2027, 5, 25, 8, 45)


def test_the_terminal_does(long_line, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "200")
    print_plan(SimpleNamespace(plan=long_line, rows=174, files=()), show_all=False)
    out = capsys.readouterr().out
    assert "(may start 06:00-06:08 for all; the first female's window: 02:45-08:45)" in out

"""The lists of a herd after insemination, from the state a ledger yields."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from sunup.app.open import shipped_texts
from sunup.library import build_library
from sunup.library.library import Library
from sunup.planning.after_ai import (
    herd_book,
    herd_females,
    herd_returns,
    herd_scan_sheet,
    herd_states,
)
from sunup.planning.calving_book import CalvingFigures, Outcome
from sunup.planning.parentage import ParentageFigures
from sunup.planning.returns import ReturnFigures
from sunup.planning.scan_sheet import ScanFigures
from sunup.records import observations as o
from sunup.records.state import FemaleRecord, GroupRecord, HerdState, Stay, TagWorn

DENVER = ZoneInfo("America/Denver")
AI_AT = datetime(2026, 6, 1, 18, tzinfo=UTC)
AI_ON = date(2026, 6, 1)
END = datetime(2028, 1, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def library() -> Library:
    return build_library(shipped_texts())[0]


def day(n):
    return AI_ON + timedelta(days=n)


def seen(type_, days, **more):
    at = AI_AT + timedelta(days=days)
    event = f"{type_.__name__}-{days}"
    return type_(event=event, at=at, entered_at=at, zone="America/Denver", **more)


def record(tag, *log, joined=-30):
    added = seen(o.Added, -30, tag=tag, class_="cow", breed_shares=(("Angus", 1.0),))
    start = AI_AT + timedelta(days=joined)
    return FemaleRecord(
        id=f"id-{tag}",
        ids=(f"id-{tag}",),
        log=(added, *log),
        added=added,
        tags=(TagWorn(tag, None, start, added.event),),
        stays=(Stay("cows", start, None, added.event),),
    )


AI = seen(o.Inseminated, 0, sire="OAK 1", timed=True)
FOUND = seen(o.PregnancyChecked, 64, method="ultrasound", result="pregnant", fetal_age_days=64)
OPEN = seen(o.PregnancyChecked, 64, method="ultrasound", result="not_pregnant")
BORN = seen(o.Calved, 281, ease=1, calves=(o.CalfBorn(sex="female", alive=True),))
BULLS = GroupRecord(
    "cows", (seen(o.BullsIn, 14, bulls=("Ash",)), seen(o.BullsOut, 60, bulls=("Ash",)))
)


def herd(*records, until=END):
    state = HerdState(females={r.id: r for r in records}, groups={"cows": BULLS})
    return herd_females(state, zone=DENVER, until=until)


def test_bulls_of_her_group_are_hers_while_she_is_in_it():
    early, late = herd(record("1", AI), record("2", AI, joined=30))
    assert [(b.from_on, b.until_on) for b in early.now.bulls] == [(day(14), day(60))]
    assert [(b.from_on, b.until_on) for b in late.now.bulls] == [(day(30), day(60))]


def test_scan_sheet_lists_those_not_settled_by_tag(library):
    females = herd(record("2", AI), record("1", AI), record("3", AI, FOUND), record("4"))
    figures = ScanFigures.of(library)
    sheet = herd_scan_sheet(females, on=day(70), figures=figures)
    # tag 4 was not inseminated but ran with the bull
    assert [(line.exposed.tag, line.text) for line in sheet] == [
        ("1", "70 days, or at most 56"),
        ("2", "70 days, or at most 56"),
        ("4", "at most 56 days"),
    ]
    everybody = herd_scan_sheet(females, on=day(70), all_of_them=True, figures=figures)
    assert len(everybody) == 4


def test_returns_are_looked_for_in_those_inseminated_and_not_settled(library):
    until = AI_AT + timedelta(days=20)
    females = herd(record("1", AI), record("2"), until=until)
    due = herd_returns(females, on=day(20), figures=ReturnFigures.of(library))
    assert [one.tag for one in due] == ["1"]


def test_book_holds_running_and_ended_pregnancies_and_leaves_out_open_females(library):
    females = herd(record("1", AI, FOUND), record("2", AI, FOUND, BORN), record("3", AI, OPEN))
    book = herd_book(
        females,
        today=day(285),
        parents=ParentageFigures.of(library),
        figures=CalvingFigures.of(library),
    )
    assert {line.pregnancy.tag: line.outcome for line in book} == {
        "1": Outcome.DUE,
        "2": Outcome.CALVED,
    }
    later = herd_book(
        females,
        today=day(300),
        since=day(290),
        parents=ParentageFigures.of(library),
        figures=CalvingFigures.of(library),
    )
    assert [line.pregnancy.tag for line in later] == ["1"]
    assert later[0].outcome is Outcome.OVERDUE


def test_angus_calf_of_an_angus_cow_is_due_281_or_282_days_after_ai(library):
    # 281.7 d, abstract on three breeds; the sire's breed is not known, hers stands for both
    (female,) = herd(record("1", AI, FOUND))
    (line,) = herd_book(
        [female],
        today=day(70),
        parents=ParentageFigures.of(library),
        figures=CalvingFigures.of(library),
    )
    assert (line.pregnancy.due.likely_on - AI_ON).days in {281, 282}


def test_each_female_stands_where_her_record_says(library):
    sold = seen(o.LeftHerd, 70, why="sold")
    females = herd(
        record("1", AI, FOUND),
        record("2", AI, OPEN),
        record("3", AI, FOUND, BORN),
        record("4", sold),
    )
    said = herd_states(females, today=day(285), parents=ParentageFigures.of(library))
    assert said == {
        "id-1": "pregnant to AI",
        "id-2": "not pregnant",
        "id-3": "calved",
        "id-4": "left herd",
    }

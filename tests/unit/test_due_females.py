"""Planning half a year ahead: females that are due before the season."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from herds import LIMITS
from sunup.app.open import open_library
from sunup.exchange.herd_file import read_herd
from sunup.planning.exposure import ExposureFigures, find_doubt
from sunup.planning.plan import State
from sunup.planning.readiness import Dates, ReadinessFigures, assess
from sunup.records.female import (
    Exposure,
    ExposureKind,
    Female,
    FemaleClass,
    PregnancyFinding,
)

TODAY = date(2026, 11, 25)
AI = date(2027, 5, 25)
COW = Female(
    tag="1",
    class_=FemaleClass.COW,
    group="cows",
    calved_on=date(2026, 3, 10),
    exposure=Exposure(ExposureKind.BULL, date(2026, 5, 25), date(2026, 8, 1)),
    pregnancy=PregnancyFinding.PREGNANT,
    pregnancy_checked_on=date(2026, 10, 1),
)


@pytest.fixture(scope="module")
def library():
    found, problems = open_library()
    assert problems == []
    return found


def judge(female, library, today=TODAY):
    dates = Dates(AI - timedelta(days=10), AI, today=today)
    return assess(female, dates, ReadinessFigures(library))


def test_pregnant_cow_without_due_date_is_held(library):
    assert judge(COW, library).state is State.HOLD


def test_cow_due_in_march_is_judged_as_if_she_calves_then(library):
    line = judge(replace(COW, due_on=date(2027, 3, 7)), library)
    assert line.state is State.EXPECT_LESS
    assert [r.rule for r in line.reasons] == ["due"]
    assert "due 7 Mar" in line.reasons[0].text


def test_cow_due_too_late_is_ready_on_her_due_date_and_45_days(library):
    # 45 days since calving at insemination: common practice, no source
    line = judge(replace(COW, due_on=date(2027, 4, 20)), library)
    assert line.state is State.READY_ON
    assert line.ready_on == date(2027, 4, 20) + timedelta(days=45)


def test_cow_past_her_due_date_is_held_until_her_calving_is_recorded(library):
    line = judge(replace(COW, due_on=date(2026, 11, 1)), library)
    assert line.state is State.HOLD
    assert "was due 1 Nov" in line.reasons[0].text


def test_cow_that_calved_some_days_before_her_due_date_has_calved(library):
    # calves come 12 d either side of the mean (Torell); 2 and 12 d early, and on the day itself
    due = date(2026, 11, 20)
    for early in (0, 2, 12):
        cow = replace(COW, calved_on=due - timedelta(days=early), due_on=due, pregnancy=None)
        assert "due" not in {r.rule for r in judge(cow, library).reasons}
    # half a year before it she calved another calf, and the one that is due is not recorded
    cow = replace(COW, calved_on=due - timedelta(days=180), due_on=due)
    assert "due" in {r.rule for r in judge(cow, library).reasons}


def test_cow_due_after_the_insemination_day_is_held_as_pregnant(library):
    line = judge(replace(COW, due_on=date(2027, 6, 10)), library)
    assert line.state is State.HOLD
    assert line.reasons[0].text == "found pregnant"


def test_pgf_before_her_due_date_is_still_refused(library):
    cow = replace(COW, due_on=date(2027, 3, 7))
    figures = ExposureFigures.of(library)
    assert find_doubt(cow, pgf_on=date(2027, 3, 6), figures=figures) is not None
    assert find_doubt(cow, pgf_on=date(2027, 5, 22), figures=figures) is None


def test_finding_older_than_her_calving_is_no_doubt(library):
    cow = replace(COW, calved_on=date(2027, 3, 7))
    assert find_doubt(cow, pgf_on=AI, figures=ExposureFigures.of(library)) is None


def test_due_date_may_lie_ahead_but_not_beyond_a_gestation():
    text = "tag,class,due date\n1,cow,2027-03-07\n2,cow,2028-03-07\n"
    herd = read_herd(text.encode(), "h.csv", on=TODAY, limits=LIMITS)
    assert [f.due_on for f in herd.females] == [date(2027, 3, 7), None]
    assert [(p.row, p.column) for p in herd.problems] == [(3, "due date")]

"""What ends an exposure or a pregnancy on file: a calving after it, and no calving before it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from herds import LIBRARY, cow, heifer
from sunup.planning.exposure import ExposureFigures, as_calved, find_doubt, is_found_pregnant
from sunup.records.female import CheckMethod, Exposure, ExposureKind, PregnancyFinding

FIGURES = ExposureFigures.of(LIBRARY)
PGF_ON = date(2027, 5, 20)
CALVED_ON = date(2027, 3, 1)
DAY = timedelta(days=1)
FOUND = {"pregnancy": PregnancyFinding.PREGNANT}
BULL, AI = ExposureKind.BULL, ExposureKind.AI


def doubt(female):
    return find_doubt(female, pgf_on=PGF_ON, figures=FIGURES)


@pytest.mark.parametrize(
    ("female", "is_pregnant"),
    [
        (heifer(calved_on=None, pregnancy_checked_on=CALVED_ON, **FOUND), True),
        (cow(calved_on=CALVED_ON, pregnancy_checked_on=None, **FOUND), True),
        (cow(calved_on=CALVED_ON, pregnancy_checked_on=CALVED_ON - DAY, **FOUND), False),
        (cow(calved_on=CALVED_ON, pregnancy_checked_on=CALVED_ON, **FOUND), True),
        (cow(calved_on=CALVED_ON, pregnancy=PregnancyFinding.NOT_PREGNANT), False),
        (cow(calved_on=CALVED_ON), False),
    ],
    ids=["never calved", "day not on file", "before she calved", "that day", "open", "unchecked"],
)
def test_she_is_found_pregnant_until_a_calving_after_the_finding(female, is_pregnant):
    assert is_found_pregnant(female) is is_pregnant
    assert (doubt(female) is not None) is is_pregnant


def test_the_day_of_a_finding_is_asked_for_only_where_a_calving_may_have_ended_it():
    asks = "give the day if that was before she calved"
    assert asks in doubt(cow(calved_on=CALVED_ON, **FOUND)).text
    assert asks not in doubt(heifer(calved_on=None, **FOUND)).text
    assert asks not in doubt(cow(calved_on=CALVED_ON, pregnancy_checked_on=PGF_ON, **FOUND)).text


def test_the_later_of_insemination_and_bull_settles_when_a_scan_is_sure():
    """Scan from day 28 on (as held): inseminated 60 days ago, the bull taken out 20 days ago."""
    exposure = Exposure(
        AI,
        PGF_ON - 60 * DAY,
        PGF_ON - 20 * DAY,
        ai_days=(PGF_ON - 60 * DAY, PGF_ON - 60 * DAY),
        bull_days=(PGF_ON - 50 * DAY, PGF_ON - 20 * DAY),
    )
    found = doubt(
        cow(
            calved_on=CALVED_ON,
            exposure=exposure,
            pregnancy=PregnancyFinding.NOT_PREGNANT,
            pregnancy_checked_on=PGF_ON - DAY,
            pregnancy_method=CheckMethod.ULTRASOUND,
        )
    )
    assert found is not None
    assert found.text.endswith("check again on or after 28 May 2027")


@pytest.mark.parametrize(
    ("exposure", "is_doubt"),
    [
        (Exposure(BULL, CALVED_ON - 30 * DAY, CALVED_ON - DAY), False),
        (Exposure(BULL, CALVED_ON - 30 * DAY, CALVED_ON), True),  # the bull was there that day
        (Exposure(BULL, CALVED_ON - 30 * DAY), True),  # and never taken out
        (Exposure(AI, CALVED_ON - 280 * DAY), False),
        (Exposure(AI, CALVED_ON + 40 * DAY), True),
    ],
)
def test_what_was_over_when_she_calved_makes_no_doubt(exposure, is_doubt):
    assert (doubt(cow(calved_on=CALVED_ON, exposure=exposure)) is not None) is is_doubt


def test_a_cow_due_is_taken_as_calved_from_her_due_date_on():
    due = cow(calved_on=CALVED_ON - 365 * DAY, due_on=CALVED_ON, **FOUND)
    assert as_calved(due, CALVED_ON - DAY) is due
    assert as_calved(due, CALVED_ON).calved_on == CALVED_ON
    assert as_calved(due, CALVED_ON).pregnancy is None


@pytest.mark.parametrize("days_late", [0, 6])
def test_a_due_date_left_on_the_list_ends_nothing_after_the_calving_it_foretold(days_late):
    bred = Exposure(AI, CALVED_ON + 40 * DAY)
    her = cow(calved_on=CALVED_ON, due_on=CALVED_ON - days_late * DAY, exposure=bred)
    assert as_calved(her, PGF_ON) is her
    assert doubt(her) is not None

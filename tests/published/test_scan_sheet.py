"""When to check and what to expect, as the trade's texts say it."""

from datetime import date, timedelta

import pytest

from sunup.app.open import open_library
from sunup.planning.scan_sheet import Exposed, ScanFigures, advise_check, expect_in, scan_sheet

AI_ON = date(2026, 6, 1)


@pytest.fixture(scope="module")
def figures():
    library, problems = open_library()
    assert problems == []
    return ScanFigures.of(library)


def day(n):
    return AI_ON + timedelta(days=n)


def cow(**more):
    return Exposed(female="id-41", tag="41", **more)


def test_one_scan_says_64_days_or_at_most_50(figures):
    # issue's own wording: bulls in 14 days after AI, scan on day 64
    line = expect_in(cow(ai_on=(AI_ON,), bulls_in_on=day(14)), on=day(64), figures=figures)
    assert line.text == "64 days, or at most 50"
    assert (line.since_ai, line.since_bulls_in) == (64, 50)


def test_ai_at_64_days_against_bulls_of_34_to_54_days(figures):
    # trade press account of pregnancy diagnosis: bulls in on day 10 and out on day 30
    line = expect_in(
        cow(ai_on=(AI_ON,), bulls_in_on=day(10), bulls_out_on=day(30)),
        on=day(64),
        figures=figures,
    )
    assert line.text == "64 days, or 34 to 54"
    assert line.ages == ((64, 64), (34, 54))
    assert line.remarks == ()


@pytest.mark.parametrize(
    ("method", "first"),
    [
        ("ultrasound", 28),  # Nebraska 2021; 25 to 30 by skilled people (Texas 2021)
        ("palpation", 45),  # Nebraska 2021; 35 to 45 by skilled people (Texas 2021)
        ("blood", 28),  # trade press 2012: protein from 25 days, directions say 28 to 29
    ],
)
def test_earliest_reliable_day_by_method(figures, method, first):
    early = expect_in(cow(ai_on=(AI_ON,)), on=day(first - 1), method=method, figures=figures)
    fit = expect_in(cow(ai_on=(AI_ON,)), on=day(first), method=method, figures=figures)
    assert (early.is_too_soon, fit.is_too_soon) == (True, False)


@pytest.mark.parametrize(("since_calving", "said"), [(59, True), (60, False)])
def test_blood_is_not_read_under_60_days_since_calving(figures, since_calving, said):
    # trade press 2012: 60 days, some tests 90
    line = expect_in(
        cow(ai_on=(AI_ON,), calved_on=day(30 - since_calving)),
        on=day(30),
        method="blood",
        figures=figures,
    )
    assert any("since calving" in remark for remark in line.remarks) is said


def test_bulls_still_with_her_leave_open_unsure_and_say_when_to_look_again(figures):
    there = expect_in(cow(ai_on=(AI_ON,), bulls_in_on=day(14)), on=day(64), figures=figures)
    assert "check again after the bulls are out" in there.remarks[0]
    out = expect_in(
        cow(ai_on=(AI_ON,), bulls_in_on=day(14), bulls_out_on=day(50)), on=day(64), figures=figures
    )
    assert "check again from 18 Aug" in out.remarks[0]  # 21 July and 28 days


def test_bulls_in_too_lately_to_be_seen_add_nothing_to_expect(figures):
    line = expect_in(cow(ai_on=(AI_ON,), bulls_in_on=day(14)), on=day(35), figures=figures)
    assert line.text == "35 days"


def test_second_insemination_comes_first_and_the_earlier_is_named(figures):
    line = expect_in(cow(ai_on=(AI_ON, day(21))), on=day(85), figures=figures)
    assert line.text == "64 days (or 85 of an earlier AI)"


def test_female_with_bulls_only_and_female_without_service(figures):
    bulls, none = scan_sheet([cow(bulls_in_on=day(0)), cow()], on=day(64), figures=figures)
    assert bulls.text == "at most 64 days"
    assert none.text == "no service on file"


def test_with_bulls_one_scan_55_to_90_days_after_ai_is_advised(figures):
    # trade press account of pregnancy diagnosis; before day 40 to 50 checks carry extra loss
    advice = advise_check(first_ai_on=AI_ON, last_ai_on=AI_ON, bulls_in_on=day(14), figures=figures)
    assert (advice.from_on, advice.until_on) == (day(55), day(90))
    assert "14 days younger" in advice.text


def test_bulls_in_late_move_the_one_scan_to_where_they_can_be_seen(figures):
    advice = advise_check(
        first_ai_on=AI_ON, last_ai_on=day(5), bulls_in_on=day(40), figures=figures
    )
    assert advice.from_on == day(68)


def test_bulls_at_once_are_said_to_blur_ai_and_bull(figures):
    advice = advise_check(first_ai_on=AI_ON, last_ai_on=AI_ON, bulls_in_on=day(3), figures=figures)
    assert "DNA" in advice.text


def test_without_bulls_the_first_reliable_day_is_advised(figures):
    advice = advise_check(first_ai_on=AI_ON, last_ai_on=day(4), figures=figures)
    assert advice.from_on == day(32)

"""When to check and what to expect, as the trade's texts say it."""

from datetime import date, timedelta

import pytest

from sunup.app.open import open_library
from sunup.planning.scan_sheet import Exposed, ScanFigures, advise_check, expect_in

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
    if said:
        assert "not before 2 Jul" in line.remarks[-1]  # 3 May and 60 days


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
    bulls = expect_in(cow(bulls_in_on=day(0)), on=day(64), figures=figures)
    none = expect_in(cow(), on=day(64), figures=figures)
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


def told(figures, on, **facts):
    return expect_in(cow(**facts), on=day(on), figures=figures)


def test_a_check_too_soon_says_how_old_and_from_when(figures):
    assert told(figures, 27, ai_on=(AI_ON,)).remarks == (
        "27 days at most: too soon for ultrasound (from 28 days)",
    )
    assert told(figures, 28, ai_on=(AI_ON,)).remarks == ()
    # the older of two services is what a check can see
    assert told(figures, 40, ai_on=(AI_ON, day(21))).is_too_soon is False
    assert told(figures, 64).remarks == ()  # no service on file: nothing is too young


def test_past_110_days_a_calfs_age_is_told_to_blur(figures):
    # trade press: by ultrasound judged well from day 32 to 110
    blur = "past the age at which a calf's age is judged well"
    for n, is_told in ((110, False), (111, True)):
        assert any(blur in text for text in told(figures, n, ai_on=(AI_ON,)).remarks) is is_told


def test_what_was_found_before_stands_beside_what_to_expect(figures):
    line = told(figures, 64, ai_on=(AI_ON,), last_found="unsure on 1 Jul")
    assert line.remarks == ("last check: unsure on 1 Jul",)


def test_a_service_after_the_day_of_the_check_is_not_looked_for(figures):
    line = told(figures, 64, ai_on=(AI_ON, day(70)), bulls_in_on=day(80))
    assert (line.text, line.ages, line.since_bulls_in) == ("64 days", ((64, 64),), None)
    same = told(figures, 64, ai_on=(day(64),), bulls_in_on=day(64))
    assert (same.since_ai, same.since_bulls_in) == (0, 0)


@pytest.mark.parametrize(
    ("bulls_in", "bulls_out", "text"),
    [
        (39, None, "64 days, or at most 25"),  # a skilled scanner finds 25 days
        (40, None, "64 days"),
        (10, 39, "64 days, or 25 to 54"),
        (10, 40, "64 days, or at most 54"),
        (10, 70, "64 days, or at most 54"),  # they go out after the check
    ],
)
def test_bull_calves_are_expected_from_the_youngest_age_that_is_seen(
    figures, bulls_in, bulls_out, text
):
    out = None if bulls_out is None else day(bulls_out)
    line = told(figures, 64, ai_on=(AI_ON,), bulls_in_on=day(bulls_in), bulls_out_on=out)
    assert line.text == text


def test_bulls_alone_too_lately_leave_nothing_to_see(figures):
    assert told(figures, 24, bulls_in_on=day(0)).text == "at most 24 days: nothing to see yet"
    assert told(figures, 25, bulls_in_on=day(0)).text == "at most 25 days"


def test_open_may_be_a_young_one_until_the_last_bull_day_is_28_days_back(figures):
    for out, is_told in ((36, False), (37, True)):
        line = told(figures, 64, ai_on=(AI_ON,), bulls_in_on=day(14), bulls_out_on=day(out))
        assert any("'open' may be a young one" in text for text in line.remarks) is is_told


def advised(figures, **how):
    return advise_check(first_ai_on=AI_ON, last_ai_on=day(5), figures=figures, **how)


def test_one_scan_is_from_55_days_after_the_last_ai_to_90_after_the_first(figures):
    advice = advised(figures, bulls_in_on=day(19))
    assert (advice.from_on, advice.until_on) == (day(60), day(90))
    assert "(55 to 90 days after AI)" in advice.text
    none = advised(figures)
    assert (none.from_on, none.until_on) == (day(5 + 28), day(90))
    assert "28 days after the last insemination by ultrasound" in none.text
    late = advised(figures, bulls_in_on=day(80))
    assert (late.from_on, late.until_on) == (day(108), day(108))


def test_ai_and_bull_blur_where_bulls_followed_within_half_the_error_of_ageing(figures):
    # ages are judged to within 15 days, trade press: seven days apart cannot be told, eight can
    for gap, blurs in ((7, True), (8, False)):
        text = advised(figures, bulls_in_on=day(5 + gap)).text
        assert ("cannot be told" in text) is blurs
        assert (f"at least {gap} days younger" in text) is not blurs
    assert "bulls went in 1 day after" in advised(figures, bulls_in_on=day(6)).text


def test_late_bull_calves_are_told_where_one_scan_comes_before_they_show(figures):
    late = "Late bull calves can be seen from"
    for out, is_told in ((32, False), (33, True)):
        text = advised(figures, bulls_in_on=day(19), bulls_out_on=day(out)).text
        assert (late in text) is is_told
    text = advised(figures, bulls_in_on=day(19), bulls_out_on=day(64)).text
    assert text.endswith(f"{late} 1 Sep.")  # 4 August and 28 days


def test_who_was_inseminated_with_the_bulls_in_is_named(figures):
    text = advised(figures, bulls_in_on=day(19), inseminated_with_bulls=("7", "9")).text
    assert "7, 9: inseminated with the bulls in" in text
    assert "inseminated with" not in advised(figures, bulls_in_on=day(19)).text

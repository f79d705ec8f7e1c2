"""Return watch, clean-up bulls, their ages and exams."""

from datetime import date, timedelta

import pytest

from sunup.app.open import open_library
from sunup.planning.returns import (
    Bull,
    ReturnFigures,
    bull_dates,
    bull_power,
    return_due,
    watch_list,
)

AI_ON = date(2026, 6, 1)


@pytest.fixture(scope="module")
def figures():
    library, problems = open_library()
    assert problems == []
    return ReturnFigures.of(library)


def day(n):
    return AI_ON + timedelta(days=n)


def due(figures, tag="41", on=AI_ON):
    return return_due(f"id-{tag}", tag, inseminated_on=on, figures=figures)


@pytest.mark.parametrize(
    ("n", "watched"), [(17, False), (18, True), (24, True), (25, False), (36, True), (49, False)]
)
def test_returns_are_watched_18_to_24_and_36_to_48_days_after(figures, n, watched):
    # common practice, no source
    assert due(figures).is_on(day(n)) is watched


def test_words_follow_the_days(figures):
    line = due(figures)
    said = [line.words(day(n)) for n in (5, 20, 30, 40, 60)]
    words = ("from 19 Jun", "watch her until 25 Jun", "not surely", "second return", "have her")
    for text, word in zip(said, words, strict=True):
        assert word in text


def test_watch_list_has_only_those_due_longest_first(figures):
    lines = [due(figures, "1", day(0)), due(figures, "2", day(-4)), due(figures, "3", day(-12))]
    assert [one.tag for one in watch_list(lines, day(18))] == ["2", "1"]


def test_bulls_go_in_ten_to_fourteen_days_after_the_last_insemination(figures):
    # 10 to 14 days: Kentucky 2011 and a trade press account; trials used 7 to 14
    dates = bull_dates(first_ai_on=day(0), last_ai_on=day(5), figures=figures)
    assert (dates.in_from_on, dates.in_until_on) == (day(15), day(19))


def test_bulls_are_examined_45_to_60_days_before_they_go_in(figures):
    # Purdue Extension 2013: 45 to 60 days
    dates = bull_dates(first_ai_on=day(0), last_ai_on=day(0), figures=figures)
    assert (dates.exam_from_on, dates.exam_until_on) == (day(10 - 60), day(10 - 45))


EXAMINED = {"examined_on": day(-40), "exam": "satisfactory"}


def power(figures, *bulls, n=20, **more):
    return bull_power(bulls, n_females=n, bulls_in_on=day(10), figures=figures, **more)


@pytest.mark.parametrize(
    ("age", "least", "most"),
    [(13, 10, 12), (15, 12, 18), (18, 18, 25), (30, 25, 35), (None, 25, 35)],
)
def test_females_a_bull_by_his_age_are_those_of_the_table(figures, age, least, most):
    # Cornell table by age
    found = power(figures, Bull("Oak", age, **EXAMINED))
    assert (found.least, found.most) == (least, most)


@pytest.mark.parametrize("age", [12, 15, 18, 20])
def test_one_cow_for_each_month_of_age_lies_inside_the_table(figures, age):
    # the rule of thumb (memory) against the Cornell table: the table's own limits may touch it
    found = power(figures, Bull("Oak", age, **EXAMINED))
    assert found.least <= age * figures.per_month.number <= found.most


def test_too_many_females_are_said_and_synchronised_heats_need_more_bulls(figures):
    bulls = [Bull("Oak", 30, **EXAMINED)]
    assert power(figures, *bulls, n=35).is_enough
    crowded = power(figures, *bulls, n=36)
    assert not crowded.is_enough
    assert "add a bull" in crowded.remarks[-1]
    assert not power(figures, *bulls, n=35, is_synchronised=True).is_enough


def test_failed_bull_does_not_count(figures):
    found = power(figures, Bull("Oak", 30, examined_on=day(-40), exam="unsatisfactory"), n=0)
    assert (found.most, found.lines) == (0, ())
    assert "failed" in found.remarks[0]


@pytest.mark.parametrize(
    ("examined_on", "exam", "word"),
    [
        (None, None, "no breeding soundness exam"),
        (day(-500), "satisfactory", "not of this season"),
        (day(-40), "deferred", "deferred"),
        (day(-40), "satisfactory", None),
    ],
)
def test_exam_due_is_said(figures, examined_on, exam, word):
    found = power(figures, Bull("Oak", 30, examined_on=examined_on, exam=exam))
    assert (word is None and found.remarks == ()) or word in found.remarks[0]

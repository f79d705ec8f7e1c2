"""Return watch, bulls turned in, their ages and exams."""

from datetime import date, timedelta

import pytest

from sunup.app.open import open_library
from sunup.planning.returns import (
    Bull,
    ReturnFigures,
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
    ("n", "watched"),
    [
        (17, False), (18, True), (24, True), (25, False),
        (35, False), (36, True), (48, True), (49, False),
    ],
)  # fmt: skip
def test_returns_are_watched_18_to_24_and_36_to_48_days_after(figures, n, watched):
    # common practice, no source
    assert due(figures).is_on(day(n)) is watched


@pytest.mark.parametrize(
    ("days", "word"),
    [
        ((5, 17), "a return would come from 19 Jun"),
        ((18, 20, 24), "watch her until 25 Jun"),
        ((25, 30, 35), "no return seen: likely but not surely pregnant"),
        ((36, 40, 48), "second return, until 19 Jul"),
        ((49, 60), "no return seen: have her checked"),
    ],
)
def test_words_follow_the_days_to_the_first_and_last_of_each_watch(figures, days, word):
    for n in days:
        text = due(figures).words(day(n))
        assert text.startswith(f"{n} days since insemination")
        assert word in text


def test_watch_list_has_only_those_due_longest_first(figures):
    lines = [due(figures, "1", day(0)), due(figures, "2", day(-4)), due(figures, "3", day(-12))]
    assert [one.tag for one in watch_list(lines, day(18))] == ["2", "1"]


EXAMINED = {"examined_on": day(-40), "exam": "satisfactory"}


def power(figures, *bulls, n=20, **more):
    return bull_power(bulls, n_females=n, bulls_in_on=day(10), figures=figures, **more)


@pytest.mark.parametrize(
    ("age", "least", "most"),
    [
        (13, 10, 12),
        (14, 10, 12),
        (15, 12, 18),
        (17, 12, 18),
        (18, 18, 25),
        (23, 18, 25),
        (24, 25, 35),
        (30, 25, 35),
        (None, 25, 35),
    ],
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


def test_a_bull_whose_age_nobody_wrote_is_told_to_be_taken_as_mature(figures):
    assert power(figures, Bull("Oak", 30, **EXAMINED)).remarks == ()
    (said,) = power(figures, Bull("Oak", None, **EXAMINED)).remarks
    assert said == "Oak: age not on file, taken as two years or more"


def test_too_many_females_for_the_bulls_are_said_from_the_first_too_many_on(figures):
    bulls = [Bull("Oak", 30, **EXAMINED), Bull("Ash", 13, **EXAMINED)]
    assert power(figures, *bulls, n=35 + 12).remarks == ()
    crowded = power(figures, *bulls, n=35 + 12 + 1)
    (said,) = crowded.remarks
    assert said.startswith("48 females for bulls that serve 35 to 47: add a bull")
    # how bulls did after synchronised AI, where only returns are left, is told beside it
    assert figures.ratio_cleanup in crowded.figures


def test_heats_that_come_together_leave_each_bull_fewer_females(figures):
    # natural service of a synchronised group: 15 to 25 a bull (trade press; Day 1999); a young
    # bull's own limit stays where it is the lower
    bulls = [Bull("Oak", 30, **EXAMINED), Bull("Ash", 13, **EXAMINED)]
    found = power(figures, *bulls, n=37, is_synchronised=True)
    assert [line[1:3] for line in found.lines] == [(15, 25), (10, 12)]
    assert (found.least, found.most, found.remarks) == (25, 37, ())
    assert figures.ratio_after_sync in found.figures
    crowded = power(figures, *bulls, n=38, is_synchronised=True)
    assert "38 females for bulls that serve 25 to 37" in crowded.remarks[-1]
    assert figures.ratio_cleanup not in crowded.figures
    assert figures.ratio_after_sync not in power(figures, *bulls).figures


def test_failed_bull_does_not_count(figures):
    found = power(figures, Bull("Oak", 30, examined_on=day(-40), exam="unsatisfactory"), n=0)
    assert (found.most, found.lines) == (0, ())
    assert "failed" in found.remarks[0]


@pytest.mark.parametrize(
    ("examined_on", "exam", "word"),
    [
        (None, None, "no breeding soundness exam"),
        (day(-500), "satisfactory", "not of this season"),
        (day(10 - 366), "satisfactory", "not of this season"),
        (day(10 - 365), "satisfactory", "365 days before he goes in; 60 at most is usual"),
        (day(10 - 121), "satisfactory", "121 days before he goes in; 60 at most is usual"),
        (day(10 - 120), "satisfactory", None),
        (day(10), "satisfactory", None),
        (day(11), "satisfactory", "not of this season"),
        (day(-40), "deferred", "deferred"),
        (day(-40), "satisfactory", None),
    ],
)
def test_exam_due_is_said(figures, examined_on, exam, word):
    found = power(figures, Bull("Oak", 30, examined_on=examined_on, exam=exam))
    if word is None:
        assert found.remarks == ()
    else:
        (said,) = found.remarks
        assert word in said

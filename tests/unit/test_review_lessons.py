from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from herds import LIBRARY
from sunup.planning.review_breakdown import break_down
from sunup.planning.review_compliance import Compliance, Slip
from sunup.planning.review_lessons import LessonFigures, find_lessons
from sunup.planning.review_luck import Predicted, set_against
from sunup.planning.review_rows import FemaleResult, Service

CALLED = LIBRARY.number("practice.sire_called_from_chance")

SHARES = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)


def seen(measure, count, *, middle=50.0):
    """A count of 100 cows, where 10 more or fewer than the middle is one season in 40."""
    at = tuple(
        (q, middle + d) for q, d in zip(SHARES, (-10, -6.4, -3.4, 0, 3.4, 6.4, 10), strict=True)
    )
    return set_against("cows", Predicted(measure, 100, at), seen=count, of=100)


def told(*against):
    lessons = find_lessons(
        Compliance(steps=(), watches=(), slips=(), on_time={}),
        against,
        (),
        breakdowns=(),
        results=(),
        words="",
        figures=LessonFigures(many_slips=0.1, sure=0.95, lean=0.8),
    )
    return [f"{one.words} {one.why}" for one in lessons if one.kind == "forecast"]


def test_fewer_inseminated_by_the_clock_is_no_fault_where_more_were_seen_in_heat():
    """Whoever is inseminated on a heat is not inseminated by the clock: one fact, told once."""
    (lesson,) = told(seen("on_heat", 70), seen("on_time", 30))
    assert "inseminated after a heat seen" in lesson
    assert "Better than foreseen" in lesson


def test_more_inseminated_by_the_clock_is_not_praised():
    (lesson,) = told(seen("on_heat", 30), seen("on_time", 70))
    assert "how often somebody watched" in lesson


def test_few_by_the_clock_without_more_heats_asks_who_was_left_out():
    (lesson,) = told(seen("on_heat", 50), seen("on_time", 30))
    assert "who was not inseminated" in lesson


@pytest.mark.parametrize("measure", ["pregnant_to_ai", "pregnant_in_season"])
def test_few_pregnant_asks_for_people_straws_and_condition(measure):
    (lesson,) = told(seen(measure, 30))
    assert "who inseminated, which straws, condition" in lesson


def female(tag, *, treated):
    return FemaleResult(
        female=tag,
        tag=tag,
        group="cows",
        class_="cow",
        protocol="",
        treated=treated,
        seen_in_heat=None,
        condition=None,
        days_since_calving=None,
        services=(),
        chance=0.0,
        called_from=CALLED,
        pregnant=False,
    )


def test_who_was_never_treated_is_counted_among_those_the_plan_was_for():
    """Two of ten cows late and four heifers never treated: six of fourteen, not of ten."""
    results = [female(str(i), treated=True) for i in range(10)]
    results += [female(str(i), treated=False) for i in range(10, 14)]
    slips = (
        *(Slip("late", "cows", str(i), "pgf", "PGF", hours=3.0) for i in range(2)),
        *(Slip("missed", "heifers", str(i), "pgf", "PGF") for i in range(10, 14)),
    )
    lessons = find_lessons(
        Compliance(steps=(), watches=(), slips=slips, on_time={}),
        (),
        (),
        breakdowns=(),
        results=results,
        words="",
        figures=LessonFigures(many_slips=0.1, sure=0.95, lean=0.8),
    )
    (said,) = [one.words for one in lessons if one.kind == "plan kept"]
    assert said.startswith("6 of 14 females")


def test_a_count_that_could_not_be_otherwise_is_certain():
    """No watch, no heat seen: foreseen 0 in every season, and 0 came."""
    flat = Predicted("on_heat", 100, tuple((q, 0.0) for q in SHARES))
    assert set_against("cows", flat, seen=0, of=100).is_certain
    assert not set_against("cows", flat, seen=1, of=100).is_certain
    assert not seen("on_heat", 50).is_certain


def served(tag, pregnant, **facts):
    service = Service(
        female=tag, group="cows", class_="cow", protocol="p", number=1,
        at=datetime(2028, 6, 1, tzinfo=UTC), half="morning", timed=True, chance=float(pregnant),
        called_from=CALLED,
    )  # fmt: skip
    return FemaleResult(
        female=tag, tag=tag, group="cows", class_="cow", protocol="p", treated=True,
        seen_in_heat=None, services=(service,), chance=float(pregnant),
        called_from=CALLED, pregnant=bool(pregnant),
        **facts,
    )  # fmt: skip


def parted(thin, others):
    """Lessons of results: `thin` and `others` are (pregnant, of); days calved go by turns."""
    results = [
        served(f"{kind}{i}", i < pregnant, condition=condition, days_since_calving=(75, 95)[i % 2])
        for kind, condition, (pregnant, of) in (("t", 4.5, thin), ("o", 5.0, others))
        for i in range(of)
    ]
    lessons = find_lessons(
        Compliance(steps=(), watches=(), slips=(), on_time={}),
        (),
        (),
        breakdowns=break_down(results),
        results=results,
        words="",
        figures=LessonFigures(many_slips=0.1, sure=0.95, lean=0.8),
    )
    return [f"{one.words} {one.why}" for one in lessons if one.kind == "results"]


def test_a_difference_beyond_luck_is_told_as_a_finding_and_not_as_a_cause():
    """13 of 46 against 89 of 126: one in a million by luck (Fisher's exact test, scipy)."""
    (lesson,) = parted((13, 46), (89, 126))
    assert "By body condition, under 5: 13 of 46 pregnant to AI (28 of 100)" in lesson
    assert "the others 89 of 126 (71 of 100)" in lesson
    assert "A finding, not yet a cause" in lesson


def test_a_difference_that_luck_makes_in_one_season_of_fifty_is_no_lesson_among_several():
    """12 of 30 against 78 of 126 has p = 0.04 by itself (scipy); two subjects were looked at."""
    assert parted((12, 30), (78, 126)) == []


def test_a_handful_of_females_makes_no_lesson():
    assert parted((0, 9), (120, 126)) == []


def test_herds_without_a_difference_get_a_lesson_in_few_seasons():
    """Nothing differs: by its rule at most 1 season in 20 may tell of a difference."""
    luck = np.random.default_rng(20281101)
    wrong = sum(
        bool(parted((int(luck.binomial(40, 0.5)), 40), (int(luck.binomial(100, 0.5)), 100)))
        for _ in range(200)
    )
    assert wrong <= 18  # binomial 200 at 1/20: more in 1 of 100 such tests

"""Due dates with their range, calvings against them, twins, and next season's start."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from sunup.app.open import open_library, shipped_texts
from sunup.library import build_library
from sunup.planning.calving_book import (
    Calf,
    CalvingFigures,
    Outcome,
    Pregnancy,
    Timing,
    book_line,
    calf_notes,
    calving_book,
    count_book,
)
from sunup.planning.conceptions import BullTime, Insemination
from sunup.planning.due_dates import due_dates
from sunup.planning.next_season import late_next_season, next_season
from sunup.planning.parentage import Check, Dam, ParentageFigures, find_parentage

AI_ON = date(1995, 2, 10)  # the service of Clemson's worked example
TODAY = date(1995, 6, 1)


@pytest.fixture(scope="module")
def library():
    found, problems = open_library()
    assert problems == []
    return found


@pytest.fixture(scope="module")
def figures(library):
    return CalvingFigures.of(library)


def day(n):
    return AI_ON + timedelta(days=n)


def parentage(library, *, breeds=(), bulls=(), checks=(), **dam):
    return find_parentage(
        [Insemination(AI_ON, "OAK", breeds)],
        bulls,
        dam=Dam(breeds, **dam),
        checks=checks,
        asked_on=TODAY,
        figures=ParentageFigures.of(library),
    )


def pregnancy(library, **more):
    found = parentage(library)
    base = Pregnancy("id-41", "41", "cows", found, due_dates(found))
    return replace(base, **more)


def test_likely_day_is_that_of_the_worked_example(library):
    # Clemson BC-1001: 10 February 1995 and 283 days are 20 November 1995
    assert due_dates(parentage(library)).likely_on == date(1995, 11, 20)


def test_eight_of_ten_calve_within_six_days_either_side(library):
    # 283 d and a spread of 4.8 d (default): 10 and 90 % of a normal distribution by scipy; days are
    # whole, so one day of rounding is allowed
    due = due_dates(parentage(library))
    low, high = stats.norm.ppf([0.1, 0.9], 283, 4.8)
    assert abs((due.early_on - AI_ON).days - low) <= 1
    assert abs((due.late_on - AI_ON).days - high) <= 1


def test_a_ranchs_own_gestation_moves_the_range_and_keeps_its_width(library):
    own, problems = build_library(
        shipped_texts(), '["gestation.default"]\nvalue = 279\nunit = "d"\n'
    )
    assert problems == []
    ours, theirs = (due_dates(parentage(one)) for one in (library, own))
    for mine, shipped in (
        (theirs.early_on, ours.early_on),
        (theirs.likely_on, ours.likely_on),
        (theirs.late_on, ours.late_on),
    ):
        assert (shipped - mine).days == 4


def test_simmental_heifer_is_due_1_9_days_sooner(library):
    # Beef Improvement Federation: 284.3 d, SD 5.52, heifers 1.9 d sooner: 282.4 d
    breeds = (("simmental", 1.0),)
    due = due_dates(parentage(library, breeds=breeds, is_heifer=True))
    assert (due.likely_on - AI_ON).days == 282


def test_ai_or_bull_gives_two_ranges_and_their_sum(library):
    found = parentage(
        library,
        bulls=[BullTime(day(14), day(60))],
        checks=[Check(day(64), "ultrasound", "pregnant", 50)],
    )
    due = due_dates(found)
    assert len(due.parts) == 2
    assert sum(part[1] for part in due.parts) == pytest.approx(1.0)
    assert sum(due.by_day) == pytest.approx(1.0)
    # against draws: conception day by its chance, then a gestation of 283 d, spread 4.8 d
    rng = np.random.default_rng(7)
    chances = np.array([p for _, _, p in found.days])
    drawn = rng.choice(len(chances), size=100_000, p=chances / chances.sum())
    offsets = np.array([(d - AI_ON).days for d, _, _ in found.days])
    born = offsets[drawn] + rng.normal(283, 4.8, 100_000)
    low, middle, high = np.quantile(born, [0.1, 0.5, 0.9])
    # whole days, and the median of two humps may move a day on 100,000 draws
    assert abs((due.early_on - AI_ON).days - low) <= 1
    assert abs((due.likely_on - AI_ON).days - middle) <= 1.5
    assert abs((due.late_on - AI_ON).days - high) <= 1


@pytest.mark.parametrize(
    ("gestation", "timing"),
    [
        (200, Timing.TOO_EARLY),
        (269, Timing.TOO_EARLY),
        (270, Timing.TOO_EARLY),
        (271, Timing.EARLY),
        (273, Timing.EARLY),
        (283, Timing.AS_EXPECTED),
        (292, Timing.LATE),
        (295, Timing.LATE),
        (296, Timing.TOO_LATE),
        (297, Timing.TOO_LATE),
    ],
)
def test_calving_is_judged_against_its_prediction(library, figures, gestation, timing):
    # nearly all within 12 days either side of the mean (Torell, Nevada extension): 271 to 295
    one = pregnancy(library, outcome=Outcome.CALVED, ended_on=day(gestation))
    line = book_line(one, today=day(300), figures=figures)
    assert (line.timing, line.days_off) == (timing, gestation - 283)


def calved(library, n, **more):
    return pregnancy(library, outcome=Outcome.CALVED, ended_on=day(n), **more)


def test_the_first_and_the_last_day_given_are_inside_the_range_given(library, figures):
    due = pregnancy(library).due
    first, last = ((d - AI_ON).days for d in (due.early_on, due.late_on))
    told = [
        book_line(calved(library, n), today=day(320), figures=figures).timing
        for n in (first - 1, first, last, last + 1)
    ]
    assert told == [Timing.EARLY, Timing.AS_EXPECTED, Timing.AS_EXPECTED, Timing.LATE]


def test_a_calving_far_off_says_by_how_much_and_what_may_be_wrong(library, figures):
    (early,) = book_line(calved(library, 265), today=day(300), figures=figures).remarks
    assert early == (
        "calved 18 days before her likely day: premature, or a service or tag is wrong"
    )
    (late,) = book_line(calved(library, 304), today=day(320), figures=figures).remarks
    assert late.startswith("calved 21 days after her likely day: most likely by a later service")
    for n in (272, 283, 294):
        assert book_line(calved(library, n), today=day(300), figures=figures).remarks == ()


def test_female_past_her_range_without_a_calving_is_overdue(library, figures):
    """A calving of the last day of the range may be written the day after."""
    one = pregnancy(library)
    last = one.due.late_on
    for today in (day(285), last, last + timedelta(days=1)):
        line = book_line(one, today=today, figures=figures)
        assert (line.outcome, line.remarks) == (Outcome.DUE, ())
    line = book_line(one, today=last + timedelta(days=2), figures=figures)
    assert line.outcome is Outcome.OVERDUE
    n = (last - one.due.likely_on).days + 2
    (said,) = line.remarks
    assert said.startswith(f"{n} days past her likely day and no calving recorded: look at her")
    assert said.endswith("if she has")
    unseen = replace(one, is_confirmed=False)
    (said,) = book_line(unseen, today=day(300), figures=figures).remarks
    assert said.endswith("; nobody checked her, she may be open")


@pytest.mark.parametrize(
    ("how", "word"), [(Outcome.ABORTED, "after an abortion"), (Outcome.LOST, "she was found open")]
)
def test_a_calving_nearer_to_a_loss_than_a_calf_is_carried_is_told(library, figures, how, word):
    shortest = int(library.figure("practice.calving_after_service_days").span[0])
    for days, is_told in ((shortest - 1, True), (shortest, False)):
        one = calved(library, 283, lost_before=(how, day(283 - days)))
        said = " ".join(book_line(one, today=day(300), figures=figures).remarks)
        assert (f"calved {days} days after" in said and word in said) == is_told
    # a female still carrying contradicts nothing
    due = pregnancy(library, lost_before=(how, day(0)))
    assert book_line(due, today=TODAY, figures=figures).remarks == ()


def test_retained_membranes_are_told_to_be_looked_at(library, figures):
    for held, n in ((True, 1), (False, 0), (None, 0)):
        one = calved(library, 283, has_retained_membranes=held)
        line = book_line(one, today=day(284), figures=figures)
        assert sum("membranes retained" in text for text in line.remarks) == n


def test_heifer_twin_to_a_bull_is_said_to_be_sterile_in_96_of_100(figures):
    # Echternkamp and Gregory 2002
    said = calf_notes([Calf("female", tag="F1"), Calf("male", tag="M1")], figures=figures)
    assert said[0].startswith("heifer calf (F1) born twin to a bull: 96 of 100 are sterile")
    no_tag = calf_notes([Calf("female"), Calf("male", tag="M1")], figures=figures)
    assert no_tag[0].startswith("heifer calf born twin to a bull")
    assert not any("write the sex" in text for text in said)


@pytest.mark.parametrize("sexes", [("female", "female"), ("male", "male"), ("female",)])
def test_twins_of_one_sex_and_singles_are_no_freemartins(figures, sexes):
    said = " ".join(calf_notes([Calf(sex) for sex in sexes], figures=figures))
    assert "sterile" not in said


def test_twins_of_unknown_sex_ask_for_it(figures):
    said = calf_notes([Calf("female"), Calf(None)], figures=figures)
    assert any("write the sex" in text for text in said)


def test_abortion_and_calves_born_dead_are_said(library, figures):
    line = book_line(
        pregnancy(library, outcome=Outcome.ABORTED, ended_on=day(180)),
        today=day(181),
        figures=figures,
    )
    assert "veterinarian" in line.remarks[0]
    assert line.timing is None
    assert calf_notes([Calf("male", is_alive=False)], figures=figures) == ("1 of 1 born dead",)


def test_book_is_in_order_of_likely_day_and_counts_add_up(library, figures):
    late = pregnancy(library, tag="2")
    none = replace(late, tag="3", due=None)
    calved = pregnancy(library, tag="1", outcome=Outcome.CALVED, ended_on=day(283))
    lost = pregnancy(library, tag="4", outcome=Outcome.LOST)
    book = calving_book([none, lost, late, calved], today=TODAY, figures=figures)
    assert [line.pregnancy.tag for line in book] == ["1", "2", "4", "3"]
    counts = count_book(book)
    assert (counts.due, counts.calved, counts.lost, counts.inside) == (2, 1, 1, 1)
    assert counts.words.startswith("1 of 1 calved within the days given")


def test_the_book_counts_every_calving_early_or_late_however_far(library, figures):
    lines = [
        book_line(calved(library, n, tag=str(n)), today=day(330), figures=figures)
        for n in (265, 274, 275, 282, 283, 292, 293, 300, 301, 302)
    ]
    assert count_book(lines).words == (
        "2 of 10 calved within the days given (8 of 10 expected), 3 before, 5 after"
    )
    due = book_line(pregnancy(library), today=TODAY, figures=figures)
    assert count_book([due]).words == "no calving with a prediction yet"


@pytest.mark.parametrize(("days", "late"), [(44, True), (45, False), (80, False)])
def test_cow_under_45_days_calved_at_first_ai_is_late(library, figures, days, late):
    # common practice says 45 to 50; no source
    one = pregnancy(library, outcome=Outcome.CALVED, ended_on=day(283))
    line = book_line(one, today=day(284), figures=figures)
    found = next_season(line, first_ai_on=day(283 + days), figures=figures)
    assert (found.days, found.is_late, found.chance_ready) == (days, late, float(not late))
    assert (found.has_calved, found.ready_on) == (True, day(283 + 45))
    assert (f"late; ready on {found.ready_on.day} {found.ready_on:%b}" in found.words) == late


def test_due_female_has_a_chance_to_be_ready(library, figures):
    line = book_line(pregnancy(library), today=TODAY, figures=figures)
    found = next_season(line, first_ai_on=day(283 + 45), figures=figures)
    # ready if she calves on her likely day or before: half of a normal distribution and half a day
    expected = stats.norm.cdf(283.5, 283, 4.8)
    assert expected == pytest.approx(found.chance_ready, abs=0.005)
    assert (found.days, found.early_days > 45 > found.late_days) == (45, True)
    assert (found.is_late, found.has_calved, found.ready_on) == (False, False, day(283 + 45))
    assert found.words == "about 45 days calved at first AI; 5 in 10 that she has 45"
    late = next_season(line, first_ai_on=day(283 + 44), figures=figures)
    assert (late.is_late, late.days) == (True, 44)


@pytest.mark.parametrize(
    ("days", "said"),
    [(1, "about 1 day calved at first AI"), (0, "will not have"), (-9, "will not have")],
)
def test_who_calves_on_the_day_of_the_first_ai_or_later_has_not_calved_by_then(
    library, figures, days, said
):
    line = book_line(pregnancy(library), today=TODAY, figures=figures)
    found = next_season(line, first_ai_on=day(283 + days), figures=figures)
    assert found.words.startswith(said)
    assert "0 in 10 that she has 45" in found.words


def test_who_lost_her_calf_or_has_no_date_has_no_place_in_next_season(library, figures):
    for one in (
        pregnancy(library, outcome=Outcome.LOST),
        pregnancy(library, outcome=Outcome.ABORTED, ended_on=day(180)),
        replace(pregnancy(library), due=None),
    ):
        line = book_line(one, today=TODAY, figures=figures)
        assert next_season(line, first_ai_on=day(330), figures=figures) is None


def test_late_females_are_listed_latest_first(library, figures):
    lines = [
        book_line(
            pregnancy(library, tag=tag, outcome=Outcome.CALVED, ended_on=day(n)),
            today=day(320),
            figures=figures,
        )
        for tag, n in [("1", 283), ("2", 300), ("3", 310)]
    ]
    late = late_next_season(lines, first_ai_on=day(330), figures=figures)
    assert [one.tag for one in late] == ["3", "2"]
    assert late[0].ready_on == day(355)

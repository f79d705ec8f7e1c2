"""A fetal age that fits no service, and a calving that shows a finding wrong."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY
from sunup.planning.after_ai import BredFemale, her_pregnancies, herd_book
from sunup.planning.calving_book import CalvingFigures, Outcome, Timing
from sunup.planning.females_now import Noted
from sunup.planning.parentage import Calving, Check, Dam, ParentageFigures, Way
from sunup.planning.pregnancies import read_stretches
from sunup.planning.review_outcome import Pregnancy, settle
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
AI_AT = datetime(2027, 5, 25, 14, tzinfo=UTC)
AI_ON = date(2027, 5, 25)
FIGURES = ParentageFigures.of(LIBRARY)


def day(n):
    return AI_ON + timedelta(days=n)


def note(kind, days, **body):
    return Noted(kind, AI_AT + timedelta(days=days), body)


def scan(days, result="pregnant", method="ultrasound", **more):
    return note(Kind.PREGNANCY_CHECKED, days, method=method, result=result, **more)


ADDED = note(Kind.FEMALE_ADDED, -80, tag="41", **{"class": "cow"})
AI = note(Kind.INSEMINATED, 0, sire="OAK", timed=True)
IN = note(Kind.BULLS_IN, 22, bulls=["Ash"])
OUT = note(Kind.BULLS_OUT, 87)


def calved(days):
    return note(Kind.CALVED, days, calves=[{"sex": "male", "alive": True}])


def female(*notes):
    until = datetime(2029, 1, 1, tzinfo=UTC)
    return BredFemale("x", "41", "cows", (), read_stretches(notes, zone=DENVER, until=until))


def last(*notes, today=70):
    return her_pregnancies(female(*notes), today=day(today), parents=FIGURES)[-1]


def book(*notes, today=400):
    return herd_book(
        [female(*notes)],
        today=day(today),
        parents=FIGURES,
        figures=CalvingFigures.of(LIBRARY),
    )


def test_a_fetal_age_that_fits_no_service_gives_the_due_date_and_no_sire():
    one = last(ADDED, AI, IN, scan(64, fetal_age_days=120))
    # conceived 120 days before the scan, 56 before the AI: due as much before the AI's calf
    by_ai = last(ADDED, AI, scan(64, fetal_age_days=64)).due.likely_on
    assert abs((by_ai - one.due.likely_on).days - 56) <= 2
    assert (one.parentage.fits, one.parentage.called) == (False, None)
    assert one.parentage.chance(Way.AI) == one.parentage.chance(Way.BULL) == 0
    assert "99 in 100" not in one.parentage.words
    assert "30 Mar 2027 by the age of the fetus" in one.parentage.words


def test_an_age_26_days_off_leaves_the_sire_open_and_says_so():
    one = last(ADDED, AI, scan(64, fetal_age_days=90))
    assert one.parentage.called is None
    assert "26 days off" in one.parentage.words


@pytest.mark.parametrize("age", [50, 64, 78])
def test_an_age_inside_its_error_calls_the_sire(age):
    one = last(ADDED, AI, scan(64, fetal_age_days=age))
    assert one.parentage.called is Way.AI
    assert one.parentage.age_off_d == 0


def test_a_cow_bought_in_calf_is_due_by_the_age_of_the_fetus():
    one = last(ADDED, scan(0, fetal_age_days=100))
    assert abs((one.due.likely_on - day(-100)).days - 283) <= 5
    assert one.parentage.called is None


def test_an_age_that_fits_nothing_but_a_pregnant_cow_without_one_keeps_her_services():
    one = last(ADDED, AI, scan(64))
    assert one.parentage.called is Way.AI


def test_a_calf_of_the_bull_shows_that_an_open_finding_was_wrong_and_nothing_was_lost():
    # pregnant by scan, open by palpation, calved 320 days after AI: inside the bull's days
    lines = book(
        ADDED,
        AI,
        IN,
        OUT,
        scan(64, fetal_age_days=64),
        scan(134, "not_pregnant", "palpation"),
        calved(320),
    )
    [line] = [one for one in lines if one.outcome is not Outcome.DUE]
    assert line.outcome is Outcome.CALVED
    assert line.pregnancy.sired.chance(Way.BULL) > 0.9
    assert any("open 6 Oct 2027 though in calf" in remark for remark in line.remarks)


def test_book_and_review_name_the_same_sire_of_a_calf_after_a_wrong_open_finding():
    checks = (
        Check(day(64), "ultrasound", "pregnant", 64),
        Check(day(134), "palpation", "not_pregnant"),
    )
    stretch = female(ADDED, AI, IN, OUT).now
    told = settle(
        Pregnancy(
            services=stretch.inseminations,
            bulls=stretch.bulls,
            dam=Dam(),
            checks=checks,
            calving=Calving(day(320), 1, "male"),
        ),
        asked_on=day(400),
        figures=FIGURES,
    )
    assert told.chance < 0.1
    assert told.pregnant


def test_pregnant_and_open_on_one_day_and_a_calf_on_the_ais_day_is_the_ais_as_expected():
    [line] = book(ADDED, AI, IN, OUT, scan(64), scan(64.1, "not_pregnant"), calved(285))
    assert line.pregnancy.sired.called is Way.AI
    assert line.timing is Timing.AS_EXPECTED
    assert any("found open 28 Jul 2027" in remark for remark in line.remarks)


def test_a_true_loss_stays_one_where_a_later_service_gives_the_calf():
    again = note(Kind.INSEMINATED, 100, sire="ELM")
    lines = book(ADDED, AI, scan(64), scan(95, "not_pregnant"), again, calved(383), today=500)
    assert [line.outcome for line in lines] == [Outcome.LOST, Outcome.CALVED]
    assert lines[-1].pregnancy.sired.candidates[0].sires == ("ELM",)


def test_a_calf_that_fits_nothing_overrules_nothing_and_names_no_sire():
    [line] = book(ADDED, AI, scan(64, fetal_age_days=64), calved(200))
    assert line.pregnancy.sired.believed is None
    assert line.pregnancy.sired.words == "fits no service on file"


def test_the_book_keeps_what_ended_before_she_left_and_drops_what_still_ran():
    left = note(Kind.LEFT_HERD, 300, why="sold")
    again = note(Kind.INSEMINATED, 350, sire="ELM")
    assert [one.outcome for one in book(ADDED, AI, scan(64), calved(283), left)] == [Outcome.CALVED]
    assert book(ADDED, AI, scan(64), note(Kind.LEFT_HERD, 200, why="sold")) == ()
    running = book(ADDED, AI, scan(64), calved(283), again, today=420)
    assert [one.outcome for one in running] == [Outcome.CALVED, Outcome.DUE]
    gone = note(Kind.LEFT_HERD, 400, why="died")
    ended = book(ADDED, AI, scan(64), calved(283), again, gone, today=420)
    assert [one.outcome for one in ended] == [Outcome.CALVED]


def test_the_book_since_a_day_holds_what_ended_on_it():
    for since, n in ((283, 1), (284, 0)):
        lines = herd_book(
            [female(ADDED, AI, scan(64), calved(283))],
            today=day(400),
            since=day(since),
            parents=FIGURES,
            figures=CalvingFigures.of(LIBRARY),
        )
        assert len(lines) == n


def test_a_calf_soon_after_an_abortion_is_told_and_one_after_a_calf_is_not():
    aborted = note(Kind.ABORTED, 150)
    again = note(Kind.INSEMINATED, 160, sire="ELM")
    first, second = book(ADDED, AI, scan(64), aborted, again, calved(283), today=500)
    told = [r for line in (first, second) for r in line.remarks if "after an abortion" in r]
    assert len(told) == 1
    assert told[0].startswith("calved 133 days after an abortion (22 Oct 2027)")
    lines = book(ADDED, AI, scan(64), calved(283), note(Kind.INSEMINATED, 350, sire="ELM"),
                 calved(633), today=700)  # fmt: skip
    assert not any("one of the two is wrong" in r for line in lines for r in line.remarks)


def test_pregnancies_of_one_who_calved_and_was_not_bred_again_are_those_that_ended():
    found = her_pregnancies(
        female(ADDED, AI, scan(64), calved(283)), today=day(300), parents=FIGURES
    )
    assert [one.outcome for one in found] == [Outcome.CALVED]

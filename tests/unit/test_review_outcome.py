"""What a review makes of one female's services, findings and calving."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sunup.app.open import open_library
from sunup.planning.conceptions import BullTime, Insemination
from sunup.planning.parentage import Calving, Check, Dam, ParentageFigures
from sunup.planning.review_outcome import Pregnancy, settle

AI_AT = datetime(2027, 5, 25, 13, tzinfo=UTC)
AI_ON = date(2027, 5, 25)
ASKED_ON = date(2028, 6, 1)


@pytest.fixture(scope="module")
def figures():
    library, problems = open_library()
    assert problems == []
    return ParentageFigures.of(library)


def ai(hours, sire="OAK"):
    at = AI_AT + timedelta(hours=hours)
    return Insemination(on=at.date(), sire=sire, at=at)


def day(n):
    return AI_ON + timedelta(days=n)


def check(n, result, **facts):
    return Check(day(n), "ultrasound", result, **facts)


def told(figures, services, *, checks=(), bulls=(), calving=None):
    asked = Pregnancy(
        services=services, bulls=bulls, dam=Dam(), checks=checks, calving=calving
    )  # fmt: skip
    return settle(asked, asked_on=ASKED_ON, figures=figures)


def test_two_straws_on_one_day_of_one_sire_are_one_service_with_one_chance(figures):
    """No bull and in calf: it is the AI's for sure, counted once."""
    one = told(figures, [ai(0), ai(8)], checks=[check(60, "pregnant")])
    assert one.heats == ((0, 1),)
    assert one.services == pytest.approx((1.0,))


def test_chances_of_heats_and_bulls_add_up_to_one_female(figures):
    one = told(
        figures,
        [ai(0), ai(8), ai(21 * 24, "ELM"), ai(21 * 24 + 10, "OAK")],
        checks=[check(75, "pregnant")],
        bulls=[BullTime(day(30), day(60))],
    )
    assert one.heats == ((0, 1), (2, 3))
    assert sum(one.services) == pytest.approx(one.chance)
    assert 0.0 < one.chance < 1.0


def test_a_failed_heat_of_two_straws_is_one_failure(figures):
    one = told(figures, [ai(0), ai(12)], checks=[check(60, "not_pregnant")])
    assert (one.services, one.chance, one.pregnant) == ((0.0,), 0.0, False)


def test_a_service_after_the_pregnant_finding_gets_no_chance(figures):
    one = told(figures, [ai(0), ai(70 * 24)], checks=[check(60, "pregnant", fetal_age_d=60)])
    assert one.services == pytest.approx((1.0, 0.0))


def test_of_two_findings_of_one_day_the_later_holds(figures):
    """Looked at again at the chute: a correction, not a pregnancy lost within minutes."""
    calves = [check(60, "pregnant"), check(60, "not_pregnant")]
    open_ = told(figures, [ai(0)], checks=calves)
    assert (open_.services, open_.pregnant, open_.why) == ((0.0,), False, "found open")
    kept = told(figures, [ai(0)], checks=calves[::-1])
    assert kept.pregnant
    assert kept.services == pytest.approx((1.0,))


def test_open_some_weeks_after_pregnant_is_a_loss_that_counts_for_its_service(figures):
    one = told(figures, [ai(0)], checks=[check(35, "pregnant"), check(80, "not_pregnant")])
    assert one.pregnant is False
    assert one.services == pytest.approx((1.0,))
    assert one.why.startswith("lost after")


def test_a_calving_gives_the_heat_its_chance_whichever_straw_it_was(figures):
    """283 days is the usual gestation of British breeds; the two straws differ by half a day."""
    one = told(figures, [ai(0), ai(12, "ELM")], calving=Calving(day(283)))
    assert one.services == pytest.approx((1.0,))

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


def after(figures, services=(0,), checks=(), *, lost=False, bulls=(), calving=None, on=ASKED_ON):
    """What is settled of inseminations on days, with findings."""
    asked = Pregnancy(
        services=[ai(24 * n) for n in services], bulls=bulls, dam=Dam(), checks=checks,
        calving=calving, lost=lost,
    )  # fmt: skip
    return settle(asked, asked_on=on, figures=figures)


@pytest.mark.parametrize(
    ("method", "sure"), [("ultrasound", 28), ("blood", 28), ("palpation", 45), ("other", 45)]
)
def test_an_open_finding_is_believed_from_the_day_its_method_is_sure(figures, method, sure):
    """28, 28 and 45 days (Nebraska 2021, trade press 2012); a method not named is the slowest."""
    early = after(figures, checks=[Check(day(sure - 1), method, "not_pregnant")])
    assert (early.services, early.chance, early.pregnant) == ((None,), None, None)
    assert early.why == "found open, too early to be believed"
    fit = after(figures, checks=[Check(day(sure), method, "not_pregnant")])
    assert (fit.services, fit.chance, fit.pregnant, fit.why) == ((0.0,), 0.0, False, "found open")


def test_who_was_inseminated_again_had_not_held_and_the_last_heat_is_open_until_checked(figures):
    again = after(figures, (0, 21))
    assert (again.services, again.chance, again.pregnant) == ((0.0, None), None, None)
    assert again.why == "no result recorded"
    assert after(figures, (0, 21), [check(40, "unsure")]) == again
    young = after(figures, (0, 21), [check(40, "not_pregnant")])
    assert (young.services, young.why) == ((0.0, None), "found open, too early to be believed")
    assert after(figures, (0, 21), [check(49, "not_pregnant")]).services == (0.0, 0.0)


def test_who_was_never_inseminated_is_open_where_found_so_and_unknown_else(figures):
    found = after(figures, (), [check(60, "not_pregnant")])
    assert (found.chance, found.pregnant, found.why) == (0.0, False, "not inseminated")
    unknown = after(figures, ())
    assert (unknown.chance, unknown.pregnant, unknown.why) == (None, None, "not inseminated")
    bull = after(figures, (), [check(75, "pregnant")], bulls=[BullTime(day(0), day(60))])
    assert (bull.chance, bull.pregnant) == (0.0, True)


def test_a_finding_after_the_day_asked_about_is_not_known_yet(figures):
    for on, why in ((day(59), "no result recorded"), (day(60), "found open")):
        assert after(figures, checks=[check(60, "not_pregnant")], on=on).why == why


def test_a_loss_nobody_had_checked_before_tells_of_no_service(figures):
    lost = after(figures, (0, 21), lost=True)
    assert (lost.services, lost.chance, lost.pregnant) == ((None, None), None, False)
    assert lost.why == "lost a calf that nobody had checked for"
    seen = after(figures, checks=[check(60, "pregnant")], lost=True)
    assert (seen.pregnant, seen.why.startswith("lost after")) == (False, True)
    assert seen.services == pytest.approx((1.0,))


def test_a_calf_born_undoes_an_open_finding_before_it(figures):
    checks = [check(35, "pregnant"), check(80, "not_pregnant")]
    one = after(figures, checks=checks, calving=Calving(day(283)))
    assert (one.pregnant, one.why.startswith("lost")) == (True, False)


def test_open_then_inseminated_then_pregnant_is_the_later_services(figures):
    checks = [check(30, "not_pregnant"), check(75, "pregnant", fetal_age_d=42)]
    one = after(figures, (0, 33), checks)
    assert one.services == pytest.approx((0.0, 1.0), abs=0.01)
    assert one.pregnant


def test_an_age_that_fits_no_service_leaves_every_service_open_and_her_pregnant(figures):
    one = after(figures, (0, 21), [check(64, "pregnant", fetal_age_d=150)])
    assert (one.services, one.chance, one.pregnant) == ((None, None), None, True)
    assert one.why
    bought = after(figures, (), [check(64, "pregnant", fetal_age_d=150)])
    assert (bought.services, bought.chance, bought.pregnant) == ((), 0.0, True)
    gone = after(figures, checks=[check(64, "pregnant", fetal_age_d=150)], lost=True)
    assert gone.pregnant is False

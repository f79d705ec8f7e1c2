"""AI or bull: against Bayes' rule by hand, against females drawn one by one, and against the trade.

The females drawn here share no code with the program: each is followed through her own heats.
"""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from scipy import stats

from sunup.app.open import open_library
from sunup.planning.conceptions import BullTime, Insemination, conception_days
from sunup.planning.parentage import (
    SURE,
    Calving,
    Check,
    Dam,
    ParentageFigures,
    Way,
    find_parentage,
)

AI_ON = date(2026, 6, 1)
ANGUS = (("angus", 1.0),)
ANGUS_DAYS, ANGUS_SD = 281.7, 5.0  # abstract on three breeds; the SD is ours
AGE_SD = 15 / 1.959964  # 95 of 100 within 15 days: trade press account of pregnancy diagnosis


@pytest.fixture(scope="module")
def figures():
    library, problems = open_library()
    assert problems == []
    return ParentageFigures.of(library)


def day(n):
    return AI_ON + timedelta(days=n)


def ask(figures, *, gap=10, ai_chance=None, scan=None, age=None, calved=None, **more):
    checks = [] if scan is None else [Check(day(scan), "ultrasound", "pregnant", age)]
    return find_parentage(
        [Insemination(AI_ON, "OAK", ANGUS, chance=ai_chance)],
        [BullTime(day(gap), day(70), ("Bull",), ANGUS)],
        dam=Dam(ANGUS),
        checks=checks,
        calving=None if calved is None else Calving(day(calved), **more),
        asked_on=day(400),
        figures=figures,
    )


def draw_females(n, *, p_ai, p_bull, gap, out, seed):
    """Day of conception of n females (AI is day 0), -1 where open; one female after another."""
    rng = np.random.default_rng(seed)
    limits = [8, 17, 24, 35, 48, 63]
    shares = [0.07, 0.65, 0.11, 0.13, 0.04]
    days = np.full(n, -1)
    for i in range(n):
        if rng.random() < p_ai:
            days[i] = 0
            continue
        kind = rng.choice(5, p=shares)
        heat = rng.integers(limits[kind] + 1, limits[kind + 1] + 1)
        while heat <= out:
            if heat >= gap and rng.random() < p_bull:
                days[i] = heat
                break
            heat += rng.integers(18, 25)
    return days, rng


def test_two_services_three_weeks_apart_are_bayes_rule(figures):
    # Two inseminations, 1 in 2 each; calved 292 days after the first, 271 after the second. By
    # hand: the second can only be if the first failed and she came in heat.
    found = find_parentage(
        [
            Insemination(AI_ON, "OAK", ANGUS, chance=0.5),
            Insemination(day(21), "ELM", ANGUS, chance=0.5),
        ],
        [],
        dam=Dam(ANGUS),
        calving=Calving(day(292)),
        asked_on=day(400),
        figures=figures,
    )
    first = 0.5 * stats.norm.pdf(292, ANGUS_DAYS, ANGUS_SD)
    second = 0.25 * stats.norm.pdf(271, ANGUS_DAYS, ANGUS_SD)
    by_sire = {c.sires[0]: c.chance for c in found.candidates}
    assert first / (first + second) == pytest.approx(by_sire["OAK"], abs=1e-9)


def test_a_heat_seen_for_the_second_service_speaks_against_the_first(figures):
    # Pregnant beef females show heat in 3 to 5 of 100 (remembered, the middle used); open ones are
    # found in 56 of 100 heats (Michigan State). By hand.
    found = find_parentage(
        [
            Insemination(AI_ON, "OAK", ANGUS, chance=0.5),
            Insemination(day(21), "ELM", ANGUS, chance=0.5, is_on_heat=True),
        ],
        [],
        dam=Dam(ANGUS),
        checks=[Check(day(80), "ultrasound", "pregnant")],
        asked_on=day(80),
        figures=figures,
    )
    first, second = 0.5 * 0.04, 0.5 * 0.56 * 0.5
    by_sire = {c.sires[0]: c.chance for c in found.candidates}
    assert first / (first + second) == pytest.approx(by_sire["OAK"], abs=1e-9)


@pytest.mark.parametrize("age", [40, 48, 52, 56, 64])
def test_chance_by_fetal_age_is_that_of_females_drawn_one_by_one(figures, age):
    # 200,000 females; those whose age was judged within half a day of the one asked about. With
    # 500 or more of them the share's own error is reckoned from their number; three errors are
    # allowed, and 0.005 for taking a whole day of ages together.
    days, rng = draw_females(200_000, p_ai=0.521, p_bull=0.675, gap=10, out=64, seed=64)
    seen = (days >= 0) & (64 - days >= 25)
    judged = (64 - days) + rng.normal(0, AGE_SD, len(days))
    like = seen & (np.abs(judged - age) < 0.5)
    share = np.mean(days[like] == 0)
    error = np.sqrt(share * (1 - share) / like.sum())
    assert like.sum() > 500
    found = ask(figures, scan=64, age=age).chance(Way.AI)
    assert share == pytest.approx(found, abs=3 * error + 0.005)


@pytest.mark.parametrize("calved", [278, 287, 292, 297])
def test_chance_at_calving_is_that_of_females_drawn_one_by_one(figures, calved):
    days, rng = draw_females(200_000, p_ai=0.521, p_bull=0.675, gap=14, out=70, seed=281)
    born = days + rng.normal(ANGUS_DAYS, ANGUS_SD, len(days))
    like = (days >= 0) & (np.abs(born - calved) < 0.5)
    share = np.mean(days[like] == 0)
    error = np.sqrt(share * (1 - share) / like.sum())
    assert like.sum() > 500
    found = ask(figures, gap=14, calved=calved).chance(Way.AI)
    assert share == pytest.approx(found, abs=3 * error + 0.005)


def test_one_scan_at_64_days_tells_ai_from_bull_with_relative_ease(figures):
    # Trade press account of pregnancy diagnosis: AI at about day 64 against bull pregnancies of 34
    # to 54 days is "relatively easy". Read as: taking the likelier sire is right in 9 of 10 or more
    # of females drawn one by one, with ages judged as well as that account says.
    days, rng = draw_females(3_000, p_ai=0.521, p_bull=0.675, gap=10, out=30, seed=34)
    pregnant = days[(days == 0) | (days >= 10)]
    judged = np.round((64 - pregnant) + rng.normal(0, AGE_SD, len(pregnant)))
    chance = {a: ask(figures, scan=64, age=a).chance(Way.AI) for a in np.unique(judged)}
    right = np.mean([(chance[a] > 0.5) == (d == 0) for a, d in zip(judged, pregnant, strict=True)])
    assert right > 0.9


def test_a_few_bull_calves_land_on_ai_dates_even_ten_days_apart(figures):
    # The same account: "a few bull calves still land on long-gestation AI dates even at 10 days".
    # Read as: more than none and fewer than 1 in 10 of the bull calves are taken for AI calves.
    days, rng = draw_females(20_000, p_ai=0.521, p_bull=0.675, gap=10, out=70, seed=10)
    bull = days[days > 0]
    born = np.round(bull + rng.normal(ANGUS_DAYS, ANGUS_SD, len(bull)))
    chance = {b: ask(figures, calved=int(b)).chance(Way.AI) for b in np.unique(born)}
    taken_for_ai = np.mean([chance[b] > 0.5 for b in born])
    assert 0.0 < taken_for_ai < 0.1


def test_before_any_finding_the_chance_is_the_prior(figures):
    # 52.1 % to one insemination (47.9 % not pregnant by day 30, Reese 2020 meta-analysis): with no
    # bull the only candidate is the AI sire
    found = ask(figures, gap=300, scan=64)
    assert found.chance(Way.AI) == pytest.approx(1.0)


def test_a_wider_gap_before_bulls_makes_a_late_calf_more_surely_a_bulls(figures):
    early = ask(figures, gap=7, calved=290).chance(Way.AI)
    late = ask(figures, gap=21, calved=290).chance(Way.AI)
    assert early < late


def test_a_finding_at_day_30_can_only_be_ai(figures):
    # Before day 30 only AI pregnancies can be seen, with bulls in after day 10
    assert ask(figures, scan=30).chance(Way.AI) == pytest.approx(1.0)


def test_a_calf_after_200_days_fits_no_service(figures):
    found = ask(figures, calved=200)
    assert not found.fits
    assert "wrong tag or date" in found.remarks[0]


def test_a_bull_calf_and_a_longer_breed_move_the_chance_towards_ai(figures):
    # +1.5 d for bull calves (Beef Improvement Federation); Charolais 289 d against Angus 281.7
    heifer = ask(figures, calved=291, sex="female").chance(Way.AI)
    bull = ask(figures, calved=291, sex="male").chance(Way.AI)
    assert heifer < bull
    longer = find_parentage(
        [Insemination(AI_ON, "OAK", (("charolais", 1.0),))],
        [BullTime(day(10), day(70), ("Bull",), ANGUS)],
        dam=Dam(ANGUS),
        calving=Calving(day(291)),
        asked_on=day(400),
        figures=figures,
    ).chance(Way.AI)
    assert ask(figures, calved=291).chance(Way.AI) < longer


def test_an_open_finding_that_is_sure_rules_the_service_out(figures):
    found = find_parentage(
        [Insemination(AI_ON, "OAK", ANGUS)],
        [BullTime(day(10), None, ("Bull",), ANGUS)],
        dam=Dam(ANGUS),
        checks=[
            Check(day(30), "ultrasound", "not_pregnant"),
            Check(day(100), "ultrasound", "pregnant"),
        ],
        asked_on=day(100),
        figures=figures,
    )
    assert found.chance(Way.AI) == 0.0
    assert found.words == "99 in 100 or more the bull Bull"


def test_chances_add_up_to_one_and_stay_between_none_and_all(figures):
    for age in range(20, 110, 5):
        found = ask(figures, scan=100, age=age)
        assert sum(c.chance for c in found.candidates) == pytest.approx(1.0)
        assert sum(p for _, _, p in found.days) == pytest.approx(1.0, abs=1e-6)
        assert all(0 <= c.chance <= 1 for c in found.candidates)


def test_chance_given_by_the_plan_replaces_the_figure(figures):
    low = ask(figures, ai_chance=0.2, scan=64, age=54).chance(Way.AI)
    high = ask(figures, ai_chance=0.8, scan=64, age=54).chance(Way.AI)
    assert low < ask(figures, scan=64, age=54).chance(Way.AI) < high


def test_findings_that_rule_out_everything_are_said(figures):
    found = find_parentage(
        [Insemination(AI_ON, "OAK")],
        [],
        dam=Dam(),
        checks=[Check(day(10), "ultrasound", "pregnant")],
        asked_on=day(10),
        figures=figures,
    )
    assert not found.fits
    assert "missing or wrong" in found.remarks[0]


def test_female_without_a_service_has_no_candidate(figures):
    found = find_parentage([], [], dam=Dam(), asked_on=AI_ON, figures=figures)
    assert found.words == "no service on file"


def _two_in_one_heat(figures, second, *, calved=None, hours=12, **more):
    # evening and morning of one heat, as a double insemination is done (common practice)
    first_at = datetime(2026, 6, 1, 23, tzinfo=UTC)
    then = first_at + timedelta(hours=hours)
    return find_parentage(
        [
            Insemination(AI_ON, "OAK", ANGUS, chance=0.6, is_on_heat=True, at=first_at),
            Insemination(then.date(), second, ANGUS, chance=0.6, is_on_heat=True, at=then),
        ],
        [],
        dam=Dam(ANGUS),
        checks=[Check(day(64), "ultrasound", "pregnant", 64)],
        calving=None if calved is None else Calving(day(calved)),
        asked_on=day(400),
        figures=figures,
        **more,
    )


def test_two_inseminations_of_one_heat_leave_the_sire_undecided(figures):
    # one egg, two straws half a day apart: nothing on file tells which; by hand 1 in 2 each
    found = _two_in_one_heat(figures, "ELM")
    by_sire = {c.sires[0]: c.chance for c in found.candidates}
    assert by_sire["OAK"] == pytest.approx(0.5, abs=0.05)
    assert by_sire["ELM"] == pytest.approx(0.5, abs=0.05)
    assert found.called is Way.AI
    assert found.words.count("5 in 10") == 2


def test_two_inseminations_of_one_heat_to_one_sire_are_his(figures):
    found = _two_in_one_heat(figures, "OAK")
    assert sum(c.chance for c in found.candidates) == pytest.approx(1.0)
    assert (
        max(c.chance for c in found.candidates) < 0.6
    )  # no straw of the two is told from the other
    assert found.words == f"{SURE} the AI sire OAK (1 Jun and 2 Jun)"


def test_before_a_check_two_straws_in_one_heat_are_one_chance(figures):
    # a second straw in the heat adds no second chance to conceive: by hand 6 in 10 in all
    ais = [
        Insemination(AI_ON, "OAK", chance=0.6, is_on_heat=True),
        Insemination(day(1), "OAK", chance=0.6, is_on_heat=True),
    ]
    found = conception_days(ais, [], until_on=day(2), figures=figures.conception)
    assert found.open_weight == pytest.approx(0.4)
    assert found.weights.sum() == pytest.approx(0.6)
    alone = conception_days(ais[:1], [], until_on=day(70), figures=figures.conception)
    both = conception_days(ais, [], until_on=day(70), figures=figures.conception)
    assert both.open_weight == pytest.approx(alone.open_weight)


def test_three_days_on_is_another_service(figures):
    found = _two_in_one_heat(figures, "ELM", hours=72)
    by_sire = {c.sires[0]: c.chance for c in found.candidates}
    assert by_sire["ELM"] > 0.6  # the second heat speaks against the first service

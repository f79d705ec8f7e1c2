"""Past results of a ranch move its level part of the way."""

import math

import numpy as np
import pytest

from sunup.base.problems import DomainError
from sunup.forecast.level_curve import LevelCurve
from sunup.forecast.past import PastResult, herd_level, level_to_learn_on
from sunup.forecast.services import shifted

pytestmark = pytest.mark.unit

SD, SHARE = 0.4, 0.6


def curve_of(chances):
    """Shares of a group whose females have these chances, at levels of the herd."""
    levels = np.linspace(-3.2, 3.2, 9)
    shares = [shifted(np.asarray(chances, float), h, sd=0.0).mean() for h in levels]
    return LevelCurve(levels=tuple(levels), shares=tuple(shares))


def level(*results, share=SHARE):
    return herd_level(
        [PastResult(inseminated=n, pregnant=y, curve=curve_of([c])) for y, n, c in results],
        herd_sd=SD,
        lasting_share=share,
    )


def logit(p):
    return math.log(p / (1 - p))


def test_without_results_a_herd_is_like_any_other():
    told = level()
    assert (told.mean, told.sd) == (0.0, SD)
    assert "no past results" in told.words


@pytest.mark.parametrize("seasons", [1, 2, 5])
def test_large_seasons_give_the_textbook_shrinkage_of_normal_means(seasons):
    """With luck negligible the level is a normal mean seen through the seasons' own spread.

    Posterior mean k d with k = lasting / (lasting + coming / seasons), variance
    lasting (1 - k) (any textbook of Bayesian statistics: known variances). Seasons of 4,000 leave
    luck of 0.03 on the logit beside 0.25 between seasons: 2 % of the variance, hence the 3 %.
    """
    lasting, coming = SHARE * SD**2, (1 - SHARE) * SD**2
    k = lasting / (lasting + coming / seasons)
    told = level(*[(2400, 4000, 0.5)] * seasons)
    assert told.mean == pytest.approx(k * logit(0.6), rel=0.03)
    assert told.sd == pytest.approx((lasting * (1 - k) + coming) ** 0.5, rel=0.03)


def test_small_results_move_it_little_and_expected_ones_not_at_all():
    few, many = level((8, 10, 0.5)), level((160, 200, 0.5))
    assert 0 < few.mean < many.mean < logit(0.8)
    assert level((50, 100, 0.5)).mean == pytest.approx(0.0, abs=1e-6)
    assert level((20, 40, 0.5)).sd < SD
    assert level((8, 10, 0.5)).mean == pytest.approx(-level((2, 10, 0.5)).mean)


def test_results_that_cannot_be_are_refused():
    for pregnant, inseminated in ((5, 4), (-1, 4), (0, 0)):
        with pytest.raises(DomainError):
            PastResult(inseminated=inseminated, pregnant=pregnant, curve=curve_of([0.5]))
    with pytest.raises(DomainError):
        LevelCurve(levels=(0.0, 1.0), shares=(0.5, 1.0))


def test_where_some_never_conceive_the_level_is_learnt_from_those_who_can():
    """One of six never does and the others differ: 20 seasons of 2,000 at a level give it back.

    What is known of normal means shrinks it by 0.6 / (0.6 + 0.4 / 20) = 0.97; on the logit of the
    whole share, the level would come out at two thirds to three quarters of it.
    """
    chances = [0.0, 0.45, 0.6, 0.7, 0.8, 0.9]
    curve = curve_of(chances)
    for true in (-0.8, -0.4, 0.4, 0.8):
        share = shifted(np.array(chances), true, sd=0.0).mean()
        season = PastResult(inseminated=2000, pregnant=round(2000 * share), curve=curve)
        told = herd_level([season] * 20, herd_sd=SD, lasting_share=SHARE)
        assert told.mean == pytest.approx(0.97 * true, abs=0.03)


def test_a_curve_between_and_beyond_its_levels():
    chances = [0.0, 0.2, 0.5, 0.9]
    curve = curve_of(chances)
    for h in (-2.9, -1.0, 0.3, 2.1):
        share = shifted(np.array(chances), h, sd=0.0).mean()
        assert curve.logit_at(np.array([h]))[0] == pytest.approx(logit(share), abs=0.01)
    assert curve.logit_at(np.array([9.0])) == curve.logit_at(np.array([3.2]))
    even = np.linspace(-4, 4, 2001)
    weights = np.exp(-0.5 * even**2)
    moved = [shifted(np.array(chances), SD * x, sd=0.0).mean() for x in even]
    assert curve.mean(sd=SD) == pytest.approx(float(weights @ moved / weights.sum()), abs=0.001)


def test_levels_to_learn_on_reach_as_far_as_herds_and_seasons():
    wide = level_to_learn_on(herd_sd=SD, lasting_share=1.0)
    # seven nodes end at 3.75 standard deviations (table of Gauss-Hermite nodes): 5 of the herds'
    assert wide.sd * 3.7504 == pytest.approx(5 * SD, rel=1e-4)
    assert level_to_learn_on(herd_sd=SD, lasting_share=0.6).sd > wide.sd


def test_the_forecast_says_that_the_level_was_moved():
    told = level((60, 100, 0.5), (30, 50, 0.5))
    assert "90 of 150 pregnant where 75 are expected" in told.words


def test_few_are_expected_in_parts_and_what_no_herd_has_is_to_be_checked():
    assert "0 of 1 pregnant where 0.6 are expected" in level((0, 1, 0.58)).words
    # of herds with a spread of 0.4 on the logit about one half, 95 of 100 have 31 to 69 of 100
    for usual in ((0, 1, 0.55), (8, 10, 0.5), (68, 100, 0.5), (130, 400, 0.5)):
        assert "check the counts" not in level(usual).words
    for odd in ((999_999, 999_999, 0.6), (400, 400, 0.5), (3, 400, 0.5)):
        assert "herds are hardly ever so far from it: check the counts" in level(odd).words

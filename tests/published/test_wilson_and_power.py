"""Wilson limits against scipy and a printed table; power against statsmodels."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import power_proportions_2indep, proportion_effectsize

from sunup.planning.review_power import (
    PowerError,
    chance_alike,
    power_of,
    records_each,
    smallest_seen,
)
from sunup.planning.review_share import ShareError, share_of, wilson


@pytest.mark.parametrize("level", [0.8, 0.95])
@pytest.mark.parametrize("of", [1, 2, 7, 30, 211, 5000])
def test_wilson_limits_are_those_of_scipy(of, level):
    """The same formula: only rounding may differ."""
    for count in {0, 1, of // 3, of // 2, of - 1, of}:
        told = binomtest(count, of).proportion_ci(level, method="wilson")
        assert wilson(count, of, level=level) == pytest.approx((told.low, told.high), abs=1e-12)


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [(6, 10, 31, 83), (16, 30, 36, 70), (28, 50, 42, 69), (55, 100, 45, 64)],
)
def test_printed_table_of_luck_comes_out(count, of, low, high):
    """A table of 95 % limits printed for producers, to the point (common practice)."""
    assert [round(100 * x) for x in wilson(count, of)] == [low, high]


def test_none_of_none_has_no_limits():
    assert share_of(0, 0).share is None
    with pytest.raises(ShareError):
        share_of(3, 2)


@pytest.mark.parametrize("n", [20, 90, 400])
@pytest.mark.parametrize("pair", [(0.45, 0.6), (0.5, 0.55), (0.2, 0.7)])
def test_power_is_that_of_statsmodels_with_unlike_counts_too(pair, n):
    """Same formula; statsmodels leaves out the far tail, below 0.003 for any of these pairs but
    the weakest."""
    a, b = pair
    for ratio in (1.0, 0.4):
        told = power_proportions_2indep(a - b, b, n, ratio=ratio, alpha=0.05)
        ours = power_of(a, b, n_a=n, n_b=n * ratio)
        assert ours == pytest.approx(float(told.power), abs=0.02)


@pytest.mark.parametrize("pair", [(0.45, 0.6), (0.5, 0.55), (0.5, 0.6)])
def test_records_needed_are_those_of_an_independent_formula(pair):
    """statsmodels' normal power with Cohen's arcsine effect: another approximation; for shares
    near one half both agree within 2 %."""
    wanted = NormalIndPower().solve_power(proportion_effectsize(*pair), alpha=0.05, power=0.8)
    assert records_each(*pair) == pytest.approx(wanted, rel=0.02)


def test_the_smallest_difference_seen_is_seen_four_times_in_five():
    apart = smallest_seen(0.55, n_a=60, n_b=45)
    assert power_of(0.55 + apart / 2, 0.55 - apart / 2, n_a=60, n_b=45) == pytest.approx(0.8)
    assert smallest_seen(0.1, n_a=4, n_b=4) is None


def test_alike_shares_are_never_told_apart_and_impossible_ones_are_refused():
    assert records_each(0.5, 0.5) is None
    assert records_each(0.5, 0.5001) is None
    with pytest.raises(PowerError):
        records_each(0.0, 0.5)


def test_how_often_two_alike_come_out_so_is_fishers_of_the_cups_of_tea():
    """Fisher 1935, from memory: of 8 cups, 4 with milk first, 70 ways to name four.

    Three right of four: as far or farther on either side in 1 + 16 + 16 + 1 of them; four: in 2.
    """
    assert chance_alike(3, 4, 1, 4) == pytest.approx(34 / 70)
    assert chance_alike(4, 4, 0, 4) == pytest.approx(2 / 70)
    assert chance_alike(0, 4, 0, 7) == 1.0

"""Bulls against busy days: by hand, against ratios held fit, and never better with fewer."""

from datetime import timedelta

import numpy as np
import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON, LIBRARY, cows
from sunup.app.forecast_asked import read_bulls
from sunup.base.problems import UsageError
from sunup.forecast.bulls import Bulls, BullsError, daily_heats, served_share, with_bulls
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.herd import find_facts
from sunup.forecast.orders import NO_SEASON, SeasonRule, make_orders
from sunup.forecast.run import run_group
from sunup.physiology.orders import Act

pytestmark = pytest.mark.invariants

FIGURES = ForecastFigures.from_library(LIBRARY)
PARAMS = params_from_library(LIBRARY)
SEASON = SeasonRule(bulls_after_days=12.0, season_days=63.0)
CLEAN_UP = make_orders(LIBRARY.protocols["co_synch_insert7_cow"], figures=FIGURES, season=SEASON)
SYNCHRONISED = make_orders(LIBRARY.protocols["ns_pg2"], figures=FIGURES, season=SEASON)


def facts_of(n):
    return find_facts(cows(n), zero_on=AI_ON - timedelta(days=10), library=LIBRARY, figures=FIGURES)


def put_in(orders, n, **bulls):
    return with_bulls(Bulls(**bulls), facts_of(n), orders, figures=FIGURES, params=PARAMS, seed=3)


def share(orders, n, **bulls):
    rows = put_in(orders, n, **bulls).tables[0].orders
    return next(row.amount for row in rows if row.act is Act.BULLS_IN)


def in_calf(orders, n, **bulls):
    told = put_in(orders, n, **bulls)
    done = run_group(facts_of(n), told, figures=FIGURES, params=PARAMS, seed=3, replicates=100)
    return 100.0 * done.tally.conceived.sum(axis=1).mean() / n


def test_each_day_is_for_itself():
    # 9 heats on one day and 1 on the other: a bull for 5 a day serves 5 + 1 of 10
    assert served_share(np.array([[9, 1]]), 5.0, 40.0) == pytest.approx(0.6)
    assert served_share(np.array([[9, 1], [0, 0]]), 9.0, 40.0) == 1.0
    assert served_share(np.zeros((2, 3), int), 5.0, 40.0) == 1.0
    # 8 of the first 10, none of the next; after three weeks the first day is over and done with
    days = np.zeros((1, 23), int)
    days[0, [0, 1, 21, 22]] = (10, 5, 8, 5)
    assert served_share(days, 8.0, 8.0) == pytest.approx((8 + 0 + 8 + 0) / 28)


def test_a_yearling_counts_half_a_mature_bull():
    # one cow for each month of age, 15 at 15 months, against 25 to 35 for a mature bull
    young, old = Bulls(number=2, are_yearlings=True), Bulls(number=1)
    assert young.capacity(FIGURES) == pytest.approx(old.capacity(FIGURES), rel=0.05)


def test_after_synchronised_ai_sixty_females_a_bull_cost_hardly_anything():
    # University of Nebraska, beef report 2016: 20 to 30, 31 to 49 and 50 to 60 females a bull gave
    # 87.8, 82.6 and 89.2 % pregnant after the season. The last was no worse than the first, so two
    # points are what luck of the published groups allows to be hidden.
    assert abs(in_calf(CLEAN_UP, 60, number=2) - in_calf(CLEAN_UP, 60, number=1)) < 2.0


def test_a_synchronised_group_is_served_at_the_ratio_held_fit_and_not_at_four_times_it():
    # 15 to 25 females a bull of two to four years are held fit for a synchronised group (trade
    # press; Day 1999): nearly all heats are served at the least, nine of ten at the most.
    assert share(SYNCHRONISED, 15, number=1) > 0.95
    assert share(SYNCHRONISED, 25, number=1) > 0.90
    # with 60 a bull at least a tenth of the heats more than with 25 find none free
    assert share(SYNCHRONISED, 60, number=1) < share(SYNCHRONISED, 25, number=1) - 0.10


def test_fewer_or_younger_bulls_never_serve_more():
    shares = [
        share(SYNCHRONISED, 40, number=number, are_yearlings=young)
        for number, young in ((6, False), (2, False), (1, False), (1, True))
    ]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.99


def test_the_heats_counted_are_those_of_females_not_pregnant_while_bulls_are_in():
    heats = daily_heats(facts_of(20), CLEAN_UP, figures=FIGURES, sets=PARAMS.sets, seed=3)
    days = (CLEAN_UP.bulls_out_h - CLEAN_UP.bulls_in_h) / 24.0
    assert heats.shape == (25, days)
    first_three_weeks = heats[:, :21].sum(axis=1)
    assert (first_three_weeks <= 2 * 20).all()
    assert 0 < first_three_weeks.mean() < 20


def test_where_no_bulls_go_in_nothing_changes():
    plain = make_orders(
        LIBRARY.protocols["co_synch_insert7_cow"], figures=FIGURES, season=NO_SEASON
    )
    assert put_in(plain, 20, number=1) is plain


def test_bulls_are_read_as_typed_or_refused_in_words():
    assert read_bulls([("cows", "3"), ("heifers", "2:yearling")]) == {
        "cows": Bulls(number=3),
        "heifers": Bulls(number=2, are_yearlings=True),
    }
    for pairs in ([("cows", "0")], [("cows", "3:old")], [("cows", "1"), ("cows", "2")]):
        with pytest.raises(UsageError, match="GROUP=NUMBER"):
            read_bulls(pairs)
    with pytest.raises(BullsError, match="0 bulls"):
        Bulls(number=0)

"""Seasons weighed: in proportion, all as before where alike, pairs kept, nonsense refused."""

from datetime import timedelta

import numpy as np
import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON, LIBRARY, cows
from sunup.forecast.compare import compare
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.herd import find_facts
from sunup.forecast.orders import NO_SEASON, make_orders
from sunup.forecast.run import run_protocols
from sunup.forecast.weights import WeightsError, weigh

pytestmark = pytest.mark.invariants

FIGURES = ForecastFigures.from_library(LIBRARY)
KEYS = ("co_synch_insert7_cow", "select_synch_insert")
SEASONS = 60


@pytest.fixture(scope="module")
def runs():
    facts = find_facts(
        cows(30), zero_on=AI_ON - timedelta(days=10), library=LIBRARY, figures=FIGURES
    )
    orders = [
        make_orders(LIBRARY.protocols[key], figures=FIGURES, season=NO_SEASON) for key in KEYS
    ]
    return run_protocols(
        facts, orders, figures=FIGURES, params=params_from_library(LIBRARY), seed=4,
        replicates=SEASONS,
    )  # fmt: skip


def test_seasons_of_one_weight_are_the_run_as_it_was(runs):
    again = weigh(runs[0], np.full(SEASONS, 0.3))
    np.testing.assert_array_equal(again.tally.pregnant, runs[0].tally.pregnant)
    np.testing.assert_array_equal(again.tally.reasons, runs[0].tally.reasons)


def test_the_mean_is_the_weighed_mean_to_a_season(runs):
    pregnant = runs[0].tally.pregnant
    weights = np.exp(0.2 * pregnant)
    wanted = (weights @ pregnant) / weights.sum()
    # systematic resampling gives each season its share to within one; pregnancies span a few
    widest = (pregnant.max() - pregnant.min()) / SEASONS
    assert weigh(runs[0], weights).tally.pregnant.mean() == pytest.approx(wanted, abs=2 * widest)


def test_a_season_without_weight_is_gone(runs):
    weights = (runs[0].tally.pregnant >= np.median(runs[0].tally.pregnant)).astype(float)
    assert weigh(runs[0], weights).tally.pregnant.min() >= np.median(runs[0].tally.pregnant)


def test_two_runs_weighed_alike_stay_pairs(runs):
    one_season = np.zeros(SEASONS)
    one_season[7] = 1.0
    told = compare(
        "cows", (KEYS[0], weigh(runs[0], one_season)), (KEYS[1], weigh(runs[1], one_season))
    )
    assert told.more_mean == runs[0].tally.pregnant[7] - runs[1].tally.pregnant[7]


@pytest.mark.parametrize(
    "weights",
    [np.ones(SEASONS - 1), np.zeros(SEASONS), np.full(SEASONS, np.nan), -np.ones(SEASONS)],
)
def test_weights_that_mean_nothing_are_refused(runs, weights):
    with pytest.raises(WeightsError):
        weigh(runs[0], weights)

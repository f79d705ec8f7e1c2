"""A herd's own level, learnt from its past seasons, comes back in its forecast."""

from datetime import timedelta

import numpy as np
import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON, LIBRARY, cows
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.herd import find_facts
from sunup.forecast.level_curve import read_curve
from sunup.forecast.orders import NO_SEASON, make_orders
from sunup.forecast.past import HerdLevel, PastResult, herd_level, level_to_learn_on
from sunup.forecast.run import run_group

pytestmark = pytest.mark.invariants

FIGURES = ForecastFigures.from_library(LIBRARY)
PARAMS = params_from_library(LIBRARY)
REPLICATES = 96  # three of each set of parameters
HERDS = {"herd_sd": FIGURES.herd_logit_sd, "lasting_share": FIGURES.herd_lasting_share}
WIDE = level_to_learn_on(**HERDS)


def run(key, level):
    facts = find_facts(
        cows(60), zero_on=AI_ON - timedelta(days=10), library=LIBRARY, figures=FIGURES
    )
    return run_group(
        facts,
        make_orders(LIBRARY.protocols[key], figures=FIGURES, season=NO_SEASON),
        figures=FIGURES,
        params=PARAMS,
        seed=7,
        replicates=REPLICATES,
        level=level,
        threads=2,
    ).tally


def at(mean, sd=1e-6):
    return HerdLevel(mean=mean, sd=sd, words="given")


def share_of(key, level):
    """Share of the inseminated that is pregnant, by chances before the last luck."""
    tally = run(key, level)
    served = tally.on_heat.sum() + tally.on_time.sum()
    return float(tally.split.totals[:, 3].sum() / served)


@pytest.mark.parametrize("key", ["co_synch_insert7_cow", "pg2_11"])
def test_many_past_seasons_of_a_herd_are_forecast_again(key):
    """Twenty seasons of 500 at the share of a level leave 0.97 of it (normal means, known spread).

    To two points: the level of twenty seasons is learnt to 0.06 on the logit, one point and a half.
    """
    curve = read_curve(run(key, WIDE), mean=WIDE.mean, sd=WIDE.sd)
    for true in (-0.8, 0.8):
        share = share_of(key, at(true))
        past = PastResult(inseminated=500, pregnant=round(500 * share), curve=curve)
        learnt = herd_level([past] * 20, **HERDS)
        assert share_of(key, at(learnt.mean)) == pytest.approx(share, abs=0.02)


def test_the_curve_is_what_runs_at_single_levels_give():
    key = "co_synch_insert7_cow"
    curve = read_curve(run(key, WIDE), mean=WIDE.mean, sd=WIDE.sd)
    for h in (-1.5, -0.5, 0.2, 1.0):
        logit = curve.logit_at(np.array([h]))[0]
        # the same lives at another level: only what lies between the nodes is read off
        assert 1 / (1 + np.exp(-logit)) == pytest.approx(share_of(key, at(h)), abs=0.001)

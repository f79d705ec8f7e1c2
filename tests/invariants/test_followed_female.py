"""What is said of one female that could not become pregnant."""

import pytest
from ovary import PARAMS

from herds import LIBRARY
from sunup.forecast.figures import ForecastFigures
from sunup.forecast.follow import follow_female
from sunup.forecast.orders import NO_SEASON, make_orders
from sunup.physiology.females import FemaleKind

pytestmark = pytest.mark.invariants
ORDERS = make_orders(
    LIBRARY.protocols["co_synch_insert7_cow"],
    figures=ForecastFigures.from_library(LIBRARY),
    season=NO_SEASON,
)


def test_a_barren_female_is_told_as_such_and_not_by_her_luteum():
    barren = PARAMS.changed({"barren_share_cow": 1.0})
    for seed in range(12):
        told = follow_female(ORDERS, params=barren, kind=FemaleKind.COW, seed=seed, cycle_day=7.0)
        assert told.is_inseminated
        assert told.chance == 0.0
        assert "nothing is ever fertilised" in told.because or "none is shed" in told.because
    assert "nothing is ever fertilised" in told.because


def test_a_female_with_a_chance_has_no_such_reason():
    sound = PARAMS.changed({"barren_share_cow": 0.0})
    told = [
        follow_female(ORDERS, params=sound, kind=FemaleKind.COW, seed=seed, cycle_day=7.0)
        for seed in range(12)
    ]
    assert all((one.chance > 0.0) == (one.because == "") for one in told)
    assert sum(one.chance > 0.0 for one in told) >= 6

"""Outcomes laid out by name hold what the records hold."""

import numpy as np
import pytest
from ovary import COW, PARAMS, order

from sunup.physiology.females import uniform_group
from sunup.physiology.orders import Aid, OrderTable
from sunup.physiology.outcome import MOST_HEATS, OUTCOME, by_name
from sunup.physiology.simulate import simulate


@pytest.fixture(scope="module")
def outcomes():
    table = OrderTable(orders=[order(0, "pgf")], aid=Aid.PATCH)
    group = uniform_group(30, kind=COW)
    return simulate(group, table, params=PARAMS, seed=3, replicates=4, end_h=1200.0).females


def test_every_field_is_what_the_records_hold(outcomes):
    found = by_name(outcomes, OUTCOME.names)
    filled = outcomes["n_heats"].max()
    assert 1 < filled < MOST_HEATS
    for name in OUTCOME.names:
        held = outcomes[name]
        if name.startswith("heat_"):
            held = held[..., :filled]
        assert found[name].dtype == held.dtype
        np.testing.assert_array_equal(found[name], held)

"""Aids marked without a heat: how often, on whom, and what the crew then does."""

import numpy as np
import pytest
from ovary import COW, order, run, shipped_params

from sunup.physiology.orders import Aid, OrderTable, Rule

DAYS = 20
NOT_CYCLING = {"share_cycling": 0.0, "days_postpartum": 20.0}


def watched(aid, rule=Rule.NONE, *before):
    watch = order(0, "watch", until_h=24.0 * DAYS, aid=aid, rule=rule)
    return OrderTable(orders=[*before, watch], aid=aid)


def false_marks(outcomes):
    return np.isfinite(outcomes["heat_seen"]) & np.isnan(outcomes["heat_on"])


@pytest.mark.parametrize(
    # 0.6-0.8 % a day of patches, 1.5 % of chalk, from memory; 80,000 days watched have a standard
    # error of 0.03 and 0.045 %, and three of them are allowed about the second
    ("aid", "least", "most"),
    [(Aid.PATCH, 0.006, 0.008), (Aid.CHALK, 0.0136, 0.0164)],
)
def test_aids_are_falsely_marked_as_often_a_day_as_is_remembered(aid, least, most):
    outcomes, _ = run(COW, watched(aid), n=4000, end_h=24.0 * DAYS, **NOT_CYCLING)
    assert least <= false_marks(outcomes).sum() / (4000 * DAYS) <= most


def test_of_cows_presented_on_sight_at_most_15_in_100_were_not_in_heat():
    # Penn State Extension, by milk progesterone in dairy cows: up to 15 %; some there are
    table = watched(Aid.EYE, Rule.AM_PM)
    outcomes, _ = run(COW, table, n=4000, end_h=24.0 * (DAYS + 8), share_cycling=1.0)
    presented = outcomes["n_ai"] > 0
    assert 0.0 < (outcomes["first_is_false"][presented] == 1).mean() <= 0.15


def test_nobody_is_falsely_seen_by_a_device():
    outcomes, _ = run(COW, watched(Aid.ELECTRONIC), n=1000, end_h=24.0 * DAYS, **NOT_CYCLING)
    assert not false_marks(outcomes).any()


def test_nobody_is_falsely_seen_by_eye_where_nobody_watches():
    orders = [order(0, "pgf")]
    outcomes, _ = run(
        COW, OrderTable(orders=orders, aid=Aid.EYE), n=2000, end_h=24.0 * DAYS, **NOT_CYCLING
    )
    assert not false_marks(outcomes).any()


def test_a_false_mark_costs_an_insemination_and_gives_no_calf():
    outcomes, _ = run(
        COW, watched(Aid.CHALK, Rule.AM_PM), n=2000, end_h=24.0 * (DAYS + 8), **NOT_CYCLING
    )
    is_false = outcomes["first_is_false"] == 1
    assert is_false.sum() > 200
    assert (outcomes["n_ai"][is_false] >= 1).all()
    assert (
        outcomes["pregnant_first"][is_false].mean() < 0.01
    )  # she may begin to cycle in those days


def test_false_marks_move_nobody_s_ovary():
    orders = [order(0, "gnrh"), order(0, "insert_in"), order(168, "pgf"), order(168, "insert_out")]
    table = OrderTable(orders=orders, aid=Aid.PATCH)
    none = shipped_params(false_patch_per_d=0.0, false_chalk_per_d=0.0)
    with_marks, _ = run(COW, table, n=1000, end_h=400.0)
    without, _ = run(COW, table, n=1000, end_h=400.0, params=none)
    assert not false_marks(without).any()
    # a mark ends a step of the integration, which may move an hour by minutes and no event
    np.testing.assert_allclose(with_marks["ovulation"], without["ovulation"], rtol=0.0, atol=0.5)


def test_no_mark_is_called_false_within_two_days_of_a_heat():
    outcomes, _ = run(COW, watched(Aid.CHALK), n=4000, end_h=24.0 * DAYS, share_cycling=1.0)
    rows, marks = np.nonzero(false_marks(outcomes))
    assert rows.size > 400
    end = outcomes["heat_on"][rows] + outcomes["heat_length"][rows]
    since = outcomes["heat_seen"][rows, marks][:, None] - end
    assert not ((since > 0.0) & (since < 48.0)).any()

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, norm

from sunup.planning.review_luck import (
    Against,
    Predicted,
    Verdict,
    against_words,
    read_kept,
    set_against,
)

QUANTILES = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)


def predicted(p=0.55, n=100):
    """Luck alone: what a forecast of many seasons would hold."""
    return Predicted(
        "pregnant_to_ai", n, tuple((q, float(binom.ppf(q, n, p))) for q in QUANTILES), 0.0
    )


@pytest.mark.parametrize("seen", [40, 44, 46, 50, 55, 60, 64, 70])
def test_tail_of_a_forecast_of_luck_alone_is_the_binomial_tail(seen):
    """Seven whole quantiles against scipy's binomial: half a count off is 0.04 in the middle."""
    told = set_against("cows", predicted(), seen=seen, of=100)
    low, high = binom.cdf(seen, 100, 0.55), binom.sf(seen - 1, 100, 0.55)
    assert told.tail == pytest.approx(min(low, high), abs=0.03)
    if abs(low - high) > 0.05:
        assert told.is_low == (low < high)


def test_every_count_of_a_true_forecast_is_worth_a_look_about_as_often_as_it_says():
    counts = np.arange(101)
    chance = binom.pmf(counts, 100, 0.55)
    verdicts = [set_against("c", predicted(), seen=k, of=100).verdict for k in counts.tolist()]
    rare = sum(c for c, v in zip(chance, verdicts, strict=True) if v is Verdict.RARE)
    # both sides of one in 40, whole counts may keep some of it back
    assert 0.02 <= rare <= 0.055


def test_fewer_females_than_foreseen_leave_more_luck_and_the_same_middle():
    """Half of the females: luck of the draw is wider by the square root of two, as a share; what
    differs between herds is not."""
    whole = Predicted("pregnant_to_ai", 100, tuple((q, 50 + 10 * norm.ppf(q)) for q in QUANTILES))
    half = whole.scaled(50)
    assert half.count_at(0.5) == pytest.approx(25)
    assert half.count_at(0.9) - 25 == pytest.approx(10 * norm.ppf(0.9) / 2**0.5)
    lasting = Predicted(whole.measure, 100, whole.at, lasting=1.0).scaled(50)
    assert lasting.count_at(0.9) - 25 == pytest.approx(10 * norm.ppf(0.9) / 2)


def test_nobody_with_a_result_is_set_against_nothing():
    assert set_against("cows", predicted(), seen=0, of=0, unknown=30) is None


def test_verdict_is_said_in_seasons():
    def words(tail, *, is_low=True):
        return against_words(
            Against("c", "pregnant_to_ai", 40, 100, 55, 48, 62, tail, is_low, predicted())
        )

    assert words(0.3) == "well within luck"
    # 54 seen where 70 were foreseen, tail 0.12: not well within
    assert words(0.12) == "low, within luck"
    assert words(0.12, is_low=False) == "high, within luck"
    assert words(0.05) == "at the edge of luck: one season in 20 comes out this low"
    assert words(0.025) == "worth a look: one season in 40 comes out this low"
    assert "rarer than one season in 200, on the high side" in words(1e-9, is_low=False)


def test_a_forecast_whose_quantiles_coincide_is_still_read():
    flat = Predicted("on_heat", 10, tuple((q, 4.0) for q in QUANTILES))
    assert set_against("c", flat, seen=4, of=10).verdict is Verdict.WITHIN
    assert set_against("c", flat, seen=9, of=10).verdict is Verdict.RARE


def test_kept_forecast_is_read_whole_or_as_a_plans_summary():
    names = ("low95", "low80", "low50", "median", "high50", "high80", "high95")
    interval = dict(zip(names, (40, 45, 50, 55, 60, 65, 70), strict=True)) | {"mean": 55, "of": 90}
    whole = {
        "n": 90, "pregnant_to_ai": interval, "on_heat": interval, "on_time": interval,
        "waterfall": [{}], "season": [{"by_end": interval}],
        "sources": {"luck": 3.0, "herd": 4.0, "parameters": 0.0},
    }  # fmt: skip
    told, problems = read_kept("cows", whole)
    assert not problems
    assert set(told) == {"pregnant_to_ai", "on_heat", "on_time", "pregnant_in_season"}
    assert told["pregnant_to_ai"].lasting == pytest.approx(16 / 25)
    summary = {
        "n": 90, "pregnant_to_ai": [45, 55, 65], "pregnant_in_season": [70, 76, 81],
        "on_heat": 41.2, "on_time": 30.0, "spread": [3.0, 4.0, 0.0],
    }  # fmt: skip
    told, problems = read_kept("cows", summary)
    assert set(told) == {"pregnant_to_ai", "pregnant_in_season"}
    assert told["pregnant_to_ai"].count_at(0.9) == pytest.approx(65)


def test_kept_forecast_of_another_make_is_a_problem_in_words():
    told, problems = read_kept("cows", {"n": "many"})
    assert told == {}
    assert "cannot be read" in problems[0].what

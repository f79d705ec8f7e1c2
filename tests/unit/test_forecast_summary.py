"""Luck over arrays, the herd's level, the split of the spread, dots and intervals."""

import numpy as np
import pytest

from sunup.base.streams import Stream
from sunup.forecast.explain import make_waterfall
from sunup.forecast.forecast import DOTS
from sunup.forecast.luck import HERD, even_draws, normal_pair, seed_of_block
from sunup.forecast.reasons import REASONS
from sunup.forecast.services import shifted
from sunup.forecast.spread import split_spread
from sunup.forecast.summary import find_dots, interval
from sunup.forecast.tally import NODES, new_split

pytestmark = pytest.mark.unit

SD = 0.4


def test_draws_over_arrays_are_those_of_the_named_streams():
    seed = 2**63 + 12345
    found = even_draws(seed, HERD, replicates=3, females=4)
    for r in range(3):
        for i in range(4):
            expected = Stream(seed, replicate=r, female=i).draws(HERD)
            assert tuple(column[r, i] for column in found) == expected


def test_blocks_have_seeds_of_their_own():
    seeds = [seed_of_block(1, b) for b in range(100)] + [seed_of_block(2, b) for b in range(100)]
    assert len(set(seeds)) == 200
    assert all(0 <= seed < 2**64 for seed in seeds)


def test_normal_draws_are_normal():
    u, v, _, _ = even_draws(9, HERD, replicates=200, females=500)
    x, y = normal_pair(u, v)
    n = x.size
    for z in (x, y):
        # mean and variance of n standard normals: four standard errors
        assert abs(z.mean()) < 4 / n**0.5
        assert abs(z.var() - 1) < 4 * (2 / n) ** 0.5
    assert abs((x * y).mean()) < 4 / n**0.5


def test_a_herds_level_keeps_the_mean_over_herds_and_the_order_of_herds():
    chance = np.linspace(0.02, 0.98, 49)
    # a fine even grid of a normal level, so that nothing but the approximation differs
    levels = SD * np.linspace(-6, 6, 4001)
    weights = np.exp(-0.5 * (levels / SD) ** 2)
    weights /= weights.sum()
    moved = np.array([shifted(chance, h, sd=SD) for h in levels])
    # the logistic-normal approximation is known to be good to some thousandths at this spread;
    # a point of 100 would matter, a third of one does not
    assert np.abs(weights @ moved - chance).max() < 0.003
    assert (np.diff(moved, axis=0) > 0).all()
    assert shifted(np.zeros(2), 1.0, sd=SD).tolist() == [0.0, 0.0]


def test_the_split_of_the_spread_agrees_with_a_nested_simulation():
    """Three parameter sets, twelve females whose chance varies with their own luck.

    The nested simulation draws, for each set and each of 101 even levels of the herd, 4,000
    seasons. Its luck is a mean of 303 sample variances, good to 0.1 %; the estimate's own error:
    400 replicates a set give each female's mean chance to 0.015, the total of twelve to 0.05, so
    the variance over sets (a difference of totals of about 1.5) to about 0.15 of itself, luck to
    2 % and herd to 5 %. Asked: 5 %, 10 % and 30 % of each variance.
    """
    rng = np.random.default_rng(20270525)
    n, sets, replicates = 12, 3, 400
    middle = np.array([0.35, 0.5, 0.62])

    def draw(k, size):
        own = rng.beta(4 * middle[k], 4 * (1 - middle[k]), (size, n))
        return np.where(rng.random((size, n)) < 0.85, own, 0.0)  # some never ovulate

    split = new_split(sets, n)
    for k in range(sets):
        chance = draw(k, replicates)
        for j, (x, _) in enumerate(NODES):
            split.add(j, [k] * replicates, shifted(chance, x * SD, sd=SD))
    told = split_spread(split, females=n)

    places = (np.arange(101) + 0.5) / 101
    levels = SD * np.sort(np.quantile(rng.standard_normal(2_000_000), places))
    within = np.empty((sets, levels.size))
    mean = np.empty((sets, levels.size))
    for k in range(sets):
        for j, h in enumerate(levels):
            counts = (rng.random((4000, n)) < shifted(draw(k, 4000), h, sd=SD)).sum(axis=1)
            within[k, j], mean[k, j] = counts.var(ddof=1), counts.mean()
    points = (100 / n) ** 2
    assert told.luck**2 == pytest.approx(points * within.mean(), rel=0.05)
    assert told.herd**2 == pytest.approx(points * mean.var(axis=1).mean(), rel=0.10)
    assert told.parameters**2 == pytest.approx(points * mean.mean(axis=1).var(ddof=1), rel=0.30)
    assert told.total**2 == pytest.approx(told.luck**2 + told.herd**2 + told.parameters**2)
    assert told.sets == sets


def test_one_parameter_set_has_no_spread_of_parameters():
    split = new_split(1, 3)
    for j in range(len(NODES)):
        split.add(j, [0, 0], np.array([[0.2, 0.5, 0.0], [0.4, 0.5, 1.0]]))
    told = split_spread(split, females=3)
    assert (told.parameters, told.sets, told.herd) == (0.0, 1, pytest.approx(0.0, abs=1e-6))


def test_limits_are_nested_and_dots_stand_for_equal_shares():
    counts = np.arange(1000) % 101
    told = interval(counts, of=100)
    assert (
        told.low95 <= told.low80 <= told.low50 <= told.median
        <= told.high50 <= told.high80 <= told.high95
    )  # fmt: skip
    assert told.share(told.median) == told.median / 100
    dots = find_dots(counts)
    assert len(dots) == DOTS
    assert list(dots) == sorted(dots)
    assert sum(dot <= np.median(counts) for dot in dots) == DOTS // 2


def test_a_waterfall_counts_every_female_once():
    rng = np.random.default_rng(1)
    reasons = rng.multinomial(80, np.full(len(REASONS), 1 / len(REASONS)), size=50)
    steps = make_waterfall(reasons)
    assert sum(step.count for step in steps) == pytest.approx(80)
    assert steps[-1].key == "pregnant"

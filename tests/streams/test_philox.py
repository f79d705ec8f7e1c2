"""The generator against its authors' known answers, and the fairness of its streams."""

import itertools
import math

import numpy as np
import pytest
from scipy import special, stats

from sunup.base.streams import MASK, Stream, StreamError, philox
from sunup.physiology import chance
from sunup.physiology.philox import block, draws

# Known answers of Philox4x32-10 as its authors distribute them with their library (Salmon, Moraes,
# Dror and Shaw 2011, "Parallel random numbers: as easy as 1, 2, 3"): counter, key, block.
KNOWN = [
    ((0, 0, 0, 0), (0, 0), (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8)),
    ((MASK,) * 4, (MASK,) * 2, (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD)),
    (
        (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344),
        (0xA4093822, 0x299F31D0),
        (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1),
    ),
]


@pytest.mark.parametrize(("counter", "key", "expected"), KNOWN)
def test_readable_philox_gives_the_published_blocks(counter, key, expected):
    assert expected == philox(counter, key)


@pytest.mark.parametrize(("counter", "key", "expected"), KNOWN)
def test_compiled_philox_gives_the_published_blocks(counter, key, expected):
    words = block(*(np.uint64(word) for word in (*counter, *key)))
    assert expected == tuple(int(word) for word in words)


def test_compiled_draws_equal_the_readable_stream():
    seed = 0x1234_5678_9ABC_DEF0
    luck = np.array([seed & MASK, seed >> 32, 7, 41], np.uint64)
    for purpose, index in itertools.product((1, 9, 16), (0, 1, 5000)):
        expected = Stream(seed, replicate=7, female=41).draws(purpose, index=index)
        assert expected == draws(luck, purpose, index)


def test_no_two_of_a_million_streams_share_a_draw():
    # a block holds 128 bits; 32 of them alone would collide, four words together must not
    seen = {
        Stream(3, replicate=r, female=f).draws(p, index=i)
        for r, f, p, i in itertools.product(range(8), range(25), range(1, 17), range(6))
    }
    assert len(seen) == 8 * 25 * 16 * 6


def test_draws_are_even_and_unrelated_between_females_purposes_and_indices():
    luck = np.zeros(4, np.uint64)
    table = np.empty((20_000, 3))
    for female in range(20_000):
        luck[3] = female
        table[female] = (draws(luck, 1, 0)[0], draws(luck, 2, 0)[0], draws(luck, 1, 1)[0])
    for column in table.T:
        # chance of a false alarm 1e-4 a column; the seed is fixed, so it never flickers
        assert stats.kstest(column, "uniform").pvalue > 1e-4
    corr = np.corrcoef(table.T)
    assert np.abs(corr - np.eye(3)).max() < 4 / math.sqrt(20_000)


def test_normal_quantile_agrees_with_scipy():
    u = np.concatenate([np.logspace(-9, -1, 200), np.linspace(0.1, 0.9, 50)])
    u = np.concatenate([u, 1 - u])
    ours = np.array([chance.normal(float(x)) for x in u])
    # the method's stated relative error is 1.15e-9
    assert np.abs(ours - special.ndtri(u)).max() < 1e-7
    assert np.abs(np.array([chance.share_below(float(x)) for x in ours]) - u).max() < 1e-8


@pytest.mark.parametrize(("name", "value"), [("seed", -1), ("female", 2**32), ("replicate", -3)])
def test_a_stream_refuses_a_number_it_cannot_hold(name, value):
    with pytest.raises(StreamError, match=name):
        Stream(**{"seed": 1, name: value})

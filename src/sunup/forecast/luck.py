"""Luck of the forecast itself: Philox over whole arrays, the same numbers as ``base.streams``.

A run is made in blocks of `BLOCK` replicates, each under a seed of its own made from the run's
seed and the number of the block. So memory does not grow with the replicates, and replicate r is
the same whatever their number, the threads or the order of the blocks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sunup.base.streams import MASK, MULTIPLIERS, ROUNDS, WEYL, philox

if TYPE_CHECKING:
    from numpy.typing import NDArray

BLOCK = 25  # replicates; changing it changes every forecast

# What each block of draws is for; the kernel's own purposes are small numbers. A number, once
# given, is never given to anything else.
SEED_OF_BLOCK = 1001
HERD = 1002  # the herd's own level
CONCEIVED = 1003  # place of a female's conception among her like
FACT_CONDITION = 1004
FACT_CALVED = 1005
SEMEN = 1006
LATE = 1007  # who is treated late or missed
GESTATION = 1008
CARRIED = 1009  # whether a pregnancy of day 30 is carried to term

_LOW = np.uint64(MASK)
_HALF = np.uint64(32)
_SCALE = 1.0 / 4294967296.0


def seed_of_block(seed: int, block: int) -> int:
    """Return the seed of a block of replicates, 0 to 2**64 - 1."""
    words = philox((block, SEED_OF_BLOCK, 0, 0), (seed & MASK, seed >> 32))
    return words[0] | (words[1] << 32)


def even_draws(
    seed: int, purpose: int, *, replicates: int, females: int
) -> tuple[NDArray[np.float64], ...]:
    """Return four even draws for every replicate and female.

    Parameters
    ----------
    seed : int
        Of the block.
    purpose : int
    replicates, females : int

    Returns
    -------
    tuple of four ndarray of float, each of shape (replicates, females)
        Strictly between 0 and 1; entry (r, i) equals
        ``Stream(seed, replicate=r, female=i).draws(purpose)``.
    """
    shape = (replicates, females)
    c0 = np.zeros(shape, np.uint64)
    c1 = np.full(shape, purpose, np.uint64)
    c2 = np.broadcast_to(np.arange(females, dtype=np.uint64)[None, :], shape).copy()
    c3 = np.broadcast_to(np.arange(replicates, dtype=np.uint64)[:, None], shape).copy()
    k0, k1 = seed & MASK, seed >> 32
    m0, m1 = np.uint64(MULTIPLIERS[0]), np.uint64(MULTIPLIERS[1])
    for _ in range(ROUNDS):
        left = m0 * c0
        right = m1 * c2
        c0, c1, c2, c3 = (
            (right >> _HALF) ^ c1 ^ np.uint64(k0),
            right & _LOW,
            (left >> _HALF) ^ c3 ^ np.uint64(k1),
            left & _LOW,
        )
        k0 = (k0 + WEYL[0]) & MASK
        k1 = (k1 + WEYL[1]) & MASK
    return tuple((c.astype(np.float64) + 0.5) * _SCALE for c in (c0, c1, c2, c3))


def normal_pair(
    u: NDArray[np.float64], v: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return two independent standard normal draws of two even ones (Box and Muller 1958)."""
    size = np.sqrt(-2.0 * np.log(u))
    return size * np.cos(2.0 * np.pi * v), size * np.sin(2.0 * np.pi * v)

"""Philox4x32-10 compiled: the same numbers as ``sunup.base.streams``, in nanoseconds."""

from __future__ import annotations

from typing import Any

import numpy as np

from sunup.base.streams import MULTIPLIERS, WEYL
from sunup.physiology.compiled import compiled

_M0, _M1 = np.uint64(MULTIPLIERS[0]), np.uint64(MULTIPLIERS[1])
_W0, _W1 = np.uint64(WEYL[0]), np.uint64(WEYL[1])
_LOW = np.uint64(0xFFFFFFFF)
_HALF = np.uint64(32)
_SCALE = 1.0 / 4294967296.0


@compiled
def block(c0: Any, c1: Any, c2: Any, c3: Any, k0: Any, k1: Any) -> tuple[Any, Any, Any, Any]:
    """Return one block; every argument and word is an unsigned 64-bit integer below 2**32."""
    for _ in range(10):
        left = _M0 * c0
        right = _M1 * c2
        n0 = (right >> _HALF) ^ c1 ^ k0
        n2 = (left >> _HALF) ^ c3 ^ k1
        c1 = right & _LOW
        c3 = left & _LOW
        c0 = n0
        c2 = n2
        k0 = (k0 + _W0) & _LOW
        k1 = (k1 + _W1) & _LOW
    return c0, c1, c2, c3


@compiled
def half_hour(t: float) -> int:
    """Occasion of what happens at hour `t` from zero, so that another dose does not move it."""
    return int(t * 2.0) + 100000


@compiled
def draws(luck: Any, purpose: Any, index: Any) -> tuple[float, float, float, float]:
    """Return four numbers strictly between 0 and 1.

    Parameters
    ----------
    luck : ndarray of uint64, shape (4,)
        Seed (low word, high word), replicate, female.
    purpose, index : int
        What is drawn, and which occasion of it.
    """
    w0, w1, w2, w3 = block(
        np.uint64(index) & _LOW, np.uint64(purpose) & _LOW, luck[3], luck[2], luck[0], luck[1]
    )
    return (
        (w0 + 0.5) * _SCALE,
        (w1 + 0.5) * _SCALE,
        (w2 + 0.5) * _SCALE,
        (w3 + 0.5) * _SCALE,
    )

"""Named random streams: luck that belongs to a female, a purpose and nothing else.

A draw is a pure function of (seed, replicate, female, purpose, index). No draw depends on how many
were made before it, so a new drug, another female, another thread or another order of work changes
no draw but its own. The generator is Philox4x32-10 (Salmon and others 2011): the seed is its key,
the other four numbers are its counter, so two different draws can never share a block.

This module is the readable form, for tests and for single draws; the same function compiled stands
in ``sunup.physiology.philox``.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunup.base.problems import SunupError

MASK = 0xFFFFFFFF
MULTIPLIERS = (0xD2511F53, 0xCD9E8D57)  # Salmon and others 2011, table 2
WEYL = (0x9E3779B9, 0xBB67AE85)  # golden ratio and sqrt(3) - 1, the same table
ROUNDS = 10

Block = tuple[int, int, int, int]


class StreamError(SunupError):
    """A number that no stream can be named by."""

    def __init__(self, name: str, value: int, bits: int) -> None:
        super().__init__(f"{name} is {value}; it must be a whole number of 0 to {2**bits - 1}.")


def philox(counter: Block, key: tuple[int, int]) -> Block:
    """Return one block of Philox4x32-10: four words of 32 bits.

    Parameters
    ----------
    counter : tuple of four int
        Each 0 to 2**32 - 1.
    key : tuple of two int
        The same range.

    Notes
    -----
    Salmon and others 2011, "Parallel random numbers: as easy as 1, 2, 3", section 3.
    """
    c0, c1, c2, c3 = counter
    k0, k1 = key
    for _ in range(ROUNDS):
        left = MULTIPLIERS[0] * c0
        right = MULTIPLIERS[1] * c2
        c0, c1, c2, c3 = (
            (right >> 32) ^ c1 ^ k0,
            right & MASK,
            (left >> 32) ^ c3 ^ k1,
            left & MASK,
        )
        k0 = (k0 + WEYL[0]) & MASK
        k1 = (k1 + WEYL[1]) & MASK
    return c0, c1, c2, c3


def uniform(word: int) -> float:
    """Return a word as a number strictly between 0 and 1."""
    return (word + 0.5) / 4294967296.0


@dataclass(frozen=True, slots=True)
class Stream:
    """The luck of one female in one replicate under one seed.

    Parameters
    ----------
    seed : int
        0 to 2**64 - 1; every report prints it.
    replicate, female : int
        0 to 2**32 - 1.
    """

    seed: int
    replicate: int = 0
    female: int = 0

    def __post_init__(self) -> None:
        for name, value, bits in (
            ("seed", self.seed, 64),
            ("replicate", self.replicate, 32),
            ("female", self.female, 32),
        ):
            if not 0 <= value < 2**bits:
                raise StreamError(name, value, bits)

    def draws(self, purpose: int, *, index: int = 0) -> tuple[float, float, float, float]:
        """Return the four draws of one purpose; `index` tells its occasions apart."""
        key = (self.seed & MASK, self.seed >> 32)
        block = philox((index & MASK, purpose & MASK, self.female, self.replicate), key)
        a, b, c, d = (uniform(word) for word in block)
        return a, b, c, d

"""Randomness that any processor repeats: a counter-based hash, one stream a lay.

The mixer is the finaliser of SplitMix64 (Steele, Lea & Flood 2014, "Fast splittable pseudorandom
number generators"), applied to key + index, so that the n-th number does not depend on how many
were drawn before it, nor on any other lay.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from embellish.arrays import Floats

_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_MIX_1 = np.uint64(0xBF58476D1CE4E5B9)
_MIX_2 = np.uint64(0x94D049BB133111EB)


@dataclass(frozen=True, slots=True)
class Stream:
    """Numbers drawn by index; ``Stream.of(seed, name)`` gives each lay its own."""

    key: int

    @classmethod
    def of(cls, seed: int, name: str) -> Stream:
        """Return the stream of a seed and a name."""
        digest = hashlib.blake2b(f"{seed}\x00{name}".encode(), digest_size=8).digest()
        return cls(int.from_bytes(digest, "little"))

    def child(self, name: str) -> Stream:
        """Return an independent stream for one use within a lay."""
        return Stream.of(self.key, name)

    def bits(self, start: int, count: int) -> NDArray[np.uint64]:
        """Return 64 random bits for each index in start .. start + count - 1."""
        return self.bits_at(np.arange(start, start + count, dtype=np.uint64))

    def bits_at(self, index: NDArray[np.uint64]) -> NDArray[np.uint64]:
        """Return 64 random bits for each index."""
        z = index + np.uint64(1)
        with np.errstate(over="ignore"):
            z *= _GOLDEN
            z += np.uint64(self.key)
            z ^= z >> np.uint64(30)
            z *= _MIX_1
            z ^= z >> np.uint64(27)
            z *= _MIX_2
            z ^= z >> np.uint64(31)
        return z

    def uniform(self, start: int, count: int) -> Floats:
        """Return numbers in [0, 1) for each index, exact multiples of 2**-53."""
        bits = self.bits(start, count)
        bits >>= np.uint64(11)
        numbers = bits.astype(np.float64)
        numbers *= 2.0**-53
        return numbers

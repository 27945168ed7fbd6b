"""The array types that everything here speaks."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]


def frozen(values: Floats) -> Floats:
    """Return a read-only float64 copy, so that a value once made stays as it is."""
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def frozen_ints(values: Ints) -> Ints:
    """Return a read-only int64 copy."""
    copy = np.array(values, dtype=np.int64)
    copy.setflags(write=False)
    return copy

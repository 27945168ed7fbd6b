"""Cubic Bézier chains: bounds, lengths, flattening to a tolerance in millimetres."""

from __future__ import annotations

import numpy as np

from embellish.geometry.arrays import Floats


def bezier_bounds(segments: Floats) -> tuple[float, float, float, float]:
    """Return the exact bounds (x0, y0, x1, y1) of cubic segments of shape (n, 4, 2)."""
    p0, p1, p2, p3 = (segments[:, i, :] for i in range(4))
    # B'(t)/3 = a t² + 2 b t + c
    a = p3 - 3.0 * p2 + 3.0 * p1 - p0
    b = p2 - 2.0 * p1 + p0
    c = p1 - p0
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(b * b - a * c)
        # The stable pair of roots also serves a = 0 (one root is then infinite or nan).
        q = -(b + np.copysign(root, b))
        turns = np.stack([q / a, c / q])
    turns = np.clip(np.nan_to_num(turns, nan=0.0, posinf=1.0, neginf=0.0), 0.0, 1.0)
    s = 1.0 - turns
    extremes = s**3 * p0 + 3 * s * s * turns * p1 + 3 * s * turns**2 * p2 + turns**3 * p3
    every = np.concatenate([extremes.reshape(-1, 2), p0, p3])
    low, high = every.min(axis=0), every.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])

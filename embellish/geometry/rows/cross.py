"""Where a track crosses itself."""

from __future__ import annotations

import numpy as np
import shapely

from embellish.arrays import Floats, Ints
from embellish.geometry.rows.track import Track

_MOST_CROSSINGS = 20_000
"""A path that crosses itself more often is a scribble, left to the clash pass."""


def crossings_of(track: Track, apart_mm: float) -> Floats:
    """Return the two arc lengths of each place where a track crosses itself, shape (k, 2).

    Crossings nearer than ``apart_mm`` to one already told (or to an open end) are left out, the
    earliest along the path staying: one piece can stand there, not two.
    """
    if len(track.points) < 4:
        return np.zeros((0, 2))
    ends = np.stack([track.points[:-1], track.points[1:]], axis=1)
    segments = np.array(shapely.linestrings(ends), dtype=object)
    tree = shapely.STRtree(segments)
    i, j = tree.query(segments, predicate="intersects")
    m = len(segments)
    ahead = (j > i + 1) & ~(track.closed & (i == 0) & (j == m - 1))
    i, j = i[ahead], j[ahead]
    if not len(i) or len(i) > _MOST_CROSSINGS:
        return np.zeros((0, 2))
    s = _meeting(track, i, j)
    s = s[np.argsort(s[:, 0], kind="stable")]
    return _apart(track, s, apart_mm)


def _meeting(track: Track, i: Ints, j: Ints) -> Floats:
    """Arc lengths at which segments i and j meet; parallel ones do not cross."""
    p, q = track.points[i], track.points[j]
    u, v = track.points[i + 1] - p, track.points[j + 1] - q
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    size = np.hypot(*u.T) * np.hypot(*v.T)
    keep = np.abs(cross) > 1e-6 * size
    p, q, u, v, cross, i, j = (column[keep] for column in (p, q, u, v, cross, i, j))
    w = q - p
    at_u = np.clip((w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / cross, 0.0, 1.0)
    at_v = np.clip((w[:, 0] * u[:, 1] - w[:, 1] * u[:, 0]) / cross, 0.0, 1.0)
    return np.stack(
        [track.s[i] + at_u * np.hypot(*u.T), track.s[j] + at_v * np.hypot(*v.T)], axis=1
    )


def _apart(track: Track, s: Floats, apart: float) -> Floats:
    length = track.length
    kept: list[list[float]] = []
    taken: list[float] = [] if track.closed else [0.0, length]

    def near(place: float) -> bool:
        away = np.abs(np.array(taken) - place)
        if track.closed:
            away = np.minimum(away, length - away)
        return bool((away < apart).any())

    for pair in s.tolist():
        between = pair[1] - pair[0]
        if track.closed:
            between = min(between, length - between)
        if between >= apart and not near(pair[0]) and not near(pair[1]):
            kept.append(pair)
            taken.extend(pair)
    return np.array(kept).reshape(-1, 2)

"""Gaps: the free distance between what stands on seats, at max size, exact on arcs.

Where two footprints overlap, or one holds the other, the gap is negative: for two round ones the
distance of the centres less both radii, for others minus a move that would part them (an upper
bound of the least such move, exact for convex outlines of lines).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.footprints import Footprint, Part, Standing
from embellish.geometry.gaps.chains import placed_gaps
from embellish.geometry.gaps.close import Places
from embellish.geometry.gaps.near import near_between, near_pairs, some_gap
from embellish.geometry.segments import directions

_NOISE_MM: Final = 1e-9
"""What double arithmetic leaves of two ways to the same length."""

_LOOK_FIRST = 4_000
"""Shaped pairs measured at once while looking for the least gap, nearest first."""


def neighbour_gaps(
    xy: Floats,
    angle_deg: Floats,
    footprint: Ints,
    footprints: tuple[Footprint, ...],
    within_mm: float,
) -> tuple[Ints, Floats]:
    """Return all pairs of seats whose gap is below ``within_mm``.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Centres of the seats in mm.
    angle_deg : array of shape (n,)
        Turns, clockwise as seen.
    footprint : array of shape (n,)
        Index into ``footprints`` of what stands there.
    footprints
        What may stand on a seat.
    within_mm
        Only smaller gaps are returned.

    Returns
    -------
    pairs : array of shape (m, 2)
        Indices i < j of the seats, in order.
    gaps : array of shape (m,)
        Their gaps in mm.
    """
    standing = Standing(xy, angle_deg, footprint, footprints)
    radius = standing.round_radius_mm
    near = near_pairs(standing.xy, standing.reach_mm if radius is None else radius, within_mm)
    pairs = np.stack([near.i, near.j], axis=1)
    if radius is not None:
        return pairs, near.gap_mm
    return _below(pairs, gaps_between(standing, standing, pairs, within_mm=within_mm), within_mm)


def neighbour_gaps_between(a: Standing, b: Standing, within_mm: float) -> tuple[Ints, Floats]:
    """Return all pairs (i in ``a``, j in ``b``), in order, and their gaps below ``within_mm``."""
    near = near_between(a.xy, a.reach_mm, b.xy, b.reach_mm, within_mm)
    pairs = np.stack([near.i, near.j], axis=1)
    return _below(pairs, gaps_between(a, b, pairs, within_mm=within_mm), within_mm)


def least_gap(
    xy: Floats, angle_deg: Floats, footprint: Ints, footprints: tuple[Footprint, ...]
) -> tuple[float, int, int] | None:
    """Return the least gap between any two seats and which two, or None below two seats.

    Of equal gaps the pair of the lowest indices is given. Parameters as in `neighbour_gaps`.
    """
    standing = Standing(xy, angle_deg, footprint, footprints)
    if len(standing) < 2:
        return None
    radius = standing.round_radius_mm
    reach = standing.reach_mm if radius is None else radius
    # The circles that hold the footprints: some that are near each other, then all as near.
    near = near_pairs(standing.xy, reach, _just_above(some_gap(standing.xy, reach)))
    if radius is not None:
        best = int(np.argmin(near.gap_mm))
        return float(near.gap_mm[best]), int(near.i[best]), int(near.j[best])
    # The true gap of the nearest of those bounds the least one: now all that may be as near.
    some = np.stack([near.i, near.j], axis=1)[np.argsort(near.gap_mm, kind="stable")]
    bound = float(gaps_between(standing, standing, some[:_LOOK_FIRST]).min())
    near = near_pairs(standing.xy, reach, bound + _NOISE_MM)
    order = np.argsort(near.gap_mm, kind="stable")
    pairs, at_least = np.stack([near.i, near.j], axis=1)[order], near.gap_mm[order]
    least, which = np.inf, (0, 0)
    for start in range(0, len(pairs), _LOOK_FIRST):
        # The circles' gap of a round pair differs from its true one in the last digit.
        if at_least[start] > min(least, bound) + _NOISE_MM:
            break
        block = pairs[start : start + _LOOK_FIRST]
        limit = min(least, bound) + _NOISE_MM
        gaps = gaps_between(standing, standing, block, within_mm=limit)
        for index in np.flatnonzero((gaps == gaps.min()) & (gaps < limit)):
            found = float(gaps[index]), (int(block[index, 0]), int(block[index, 1]))
            least, which = min((least, which), found)
    return least, which[0], which[1]


def gaps_between(a: Standing, b: Standing, pairs: Ints, *, within_mm: float = np.inf) -> Floats:
    """Return the gap of each pair (i in ``a``, j in ``b``).

    Parameters
    ----------
    a, b
        What stands; the same value twice for pairs within one set.
    pairs : array of shape (m, 2)
        Indices into ``a`` and ``b``.
    within_mm
        Gaps at or above this may be given as a bound at or above it, which is quicker.

    Returns
    -------
    array of shape (m,)
        Gaps in mm.
    """
    gaps = np.empty(len(pairs))
    i, j = pairs[:, 0], pairs[:, 1]
    # In the frame of the first seat, so that far from the origin no digits are lost.
    cos, sin = directions(a.angle_deg[i])
    dx, dy = (b.xy[j] - a.xy[i]).T
    x, y, turn = cos * dx + sin * dy, cos * dy - sin * dx, b.angle_deg[j] - a.angle_deg[i]
    turn_cos, turn_sin = directions(turn)
    kinds = a.footprint[i] * len(b.footprints) + b.footprint[j]
    for kind, some in _groups(kinds):
        first, second = divmod(kind, len(b.footprints))
        places = x[some], y[some], turn_cos[some], turn_sin[some]
        gaps[some] = _footprint_gaps(
            a.footprints[first], b.footprints[second], places, turn[some], within_mm
        )
    return gaps


def _footprint_gaps(
    first: Footprint, second: Footprint, at: Places, turn: Floats, within_mm: float
) -> Floats:
    """Return the gaps of ``first`` at the origin and ``second`` at places and turns in degrees."""
    least = np.full(len(turn), np.inf)
    for part in first.parts:
        for other in second.parts:
            places = at if part.still and other.still else _seen_from(part, other, at, turn)
            gaps = placed_gaps(part.outline, other.outline, places, within_mm)
            least = np.minimum(least, gaps)
    return least


def _seen_from(part: Part, other: Part, at: Places, turn: Floats) -> Places:
    """Return places and directions of one footprint's part in the frame of another's part."""
    x, y, turn_cos, turn_sin = at
    part_cos, part_sin = directions(np.array(part.angle_deg))
    px = x + turn_cos * other.dx_mm - turn_sin * other.dy_mm - part.dx_mm
    py = y + turn_sin * other.dx_mm + turn_cos * other.dy_mm - part.dy_mm
    cos, sin = directions(turn + (other.angle_deg - part.angle_deg))
    return part_cos * px + part_sin * py, part_cos * py - part_sin * px, cos, sin


def _groups(kinds: Ints) -> Iterator[tuple[int, Ints]]:
    """Yield each kind with the indices where it stands."""
    # Small numbers are sorted by counting, which is several times faster.
    small = kinds.astype(np.uint16) if kinds.max(initial=0) < 1 << 16 else kinds
    order = np.argsort(small, kind="stable")
    changes = np.flatnonzero(np.diff(kinds[order])) + 1
    for some in np.split(order, changes) if len(order) else []:
        yield int(kinds[some[0]]), some


def _just_above(value: float) -> float:
    return float(np.nextafter(value, np.inf))


def _below(pairs: Ints, gaps: Floats, within_mm: float) -> tuple[Ints, Floats]:
    kept = gaps < within_mm
    return pairs[kept], gaps[kept]

"""The forms pieces come in, as outlines: length along +x, about the centre of their bounds.

The proportions of octagons and of ovals between their given length and width are common practice,
no source; a piece that differs brings its own outline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.outlines import (
    Outline,
    OutlineError,
    area,
    circle,
    placed,
    recentred,
    tangents,
)
from embellish.geometry.segments import (
    STRAIGHT_BULGE,
    arc_arc_crossings,
    column,
    line_arc_crossings,
    line_line_crossings,
    point_arc,
    point_line_squared,
)
from embellish.units import EPS_MM

_CUT_SHARE = 0.25
"""Corner cut of an octagon as a share of its shorter side."""

_MAX_VERTICES = 400
_MAX_BULGE = 20.0


def oval(length_mm: float, width_mm: float) -> Outline:
    """Return the oval of four arcs with smooth joins around the ellipse of this size.

    Its sides have the ellipse's radius at the end of the short axis, and its ends then follow:
    it holds the whole ellipse and touches it at the four ends of the axes, so that a stone cut to
    either form has the gap it is given.
    """
    _positive(length_mm, width_mm)
    if length_mm == width_mm:
        return circle(length_mm)
    if width_mm > length_mm:
        return placed(oval(width_mm, length_mm), 0.0, 0.0, 90.0)
    a, b = length_mm / 2.0, width_mm / 2.0
    end = b * (a + b) / (2.0 * a)
    # Half the sweep of an end arc: the line through both centres, (R - b) up, (a - end) along.
    up, along = 2.0 * a * (a + b), b * (2.0 * a + b)
    far = math.hypot(up, along)
    sin, cos = up / far, along / far
    x, y = a - end + end * cos, end * sin
    end_bulge, side_bulge = sin / (1.0 + cos), cos / (1.0 + sin)
    points = [[-x, -y], [x, -y], [x, y], [-x, y]]
    return Outline(np.array(points), np.array([side_bulge, end_bulge] * 2))


def navette(length_mm: float, width_mm: float) -> Outline:
    """Return two arcs that meet in points at both ends of the length."""
    _positive(length_mm, width_mm)
    if length_mm == width_mm:
        return circle(length_mm)
    _longer(length_mm, width_mm, "navette")
    a = length_mm / 2.0
    return Outline(np.array([[-a, 0.0], [a, 0.0]]), np.full(2, width_mm / length_mm))


def pear(length_mm: float, width_mm: float) -> Outline:
    """Return a drop: a half circle, and two arcs that leave it smoothly and meet at +x."""
    _positive(length_mm, width_mm)
    _longer(length_mm, width_mm, "pear")
    r, a = width_mm / 2.0, length_mm / 2.0
    half_tan = r / (length_mm - r)  # tan(sweep / 2) of a side
    side = half_tan / (1.0 + math.hypot(1.0, half_tan))
    return Outline(np.array([[r - a, -r], [a, 0.0], [r - a, r]]), np.array([side, side, 1.0]))


def rectangle(length_mm: float, width_mm: float) -> Outline:
    """Return a rectangle; also squares and bugles, seen from the side."""
    _positive(length_mm, width_mm)
    a, b = length_mm / 2.0, width_mm / 2.0
    return Outline(np.array([[-a, -b], [a, -b], [a, b], [-a, b]]), np.zeros(4))


def octagon(length_mm: float, width_mm: float, cut_mm: float | None = None) -> Outline:
    """Return a rectangle with its corners cut by ``cut_mm`` along both sides."""
    _positive(length_mm, width_mm)
    short = min(length_mm, width_mm)
    c = _CUT_SHARE * short if cut_mm is None else cut_mm
    if not 0.0 < c < short / 2.0:
        raise OutlineError(f"a corner cut of {c:g} mm does not fit a side of {short:g} mm")
    a, b = length_mm / 2.0, width_mm / 2.0
    points = [
        [c - a, -b],
        [a - c, -b],
        [a, c - b],
        [a, b - c],
        [a - c, b],
        [c - a, b],
        [-a, b - c],
        [-a, c - b],
    ]
    return Outline(np.array(points), np.zeros(8))


def own(rows: Sequence[tuple[float, float, float]]) -> tuple[Outline, tuple[float, float]]:
    """Return the outline of (x, y, bulge) rows, clockwise and about its centre.

    Parameters
    ----------
    rows
        Vertices in mm with the bulge of the segment that leaves each; the last runs back to the
        first, which may be given again at the end.

    Returns
    -------
    outline, centre
        The outline, and where the centre of its bounds was in the rows' frame.

    Raises
    ------
    OutlineError
        Where the rows are no closed chain that keeps clear of itself.
    """
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    if len(table) > 2 and np.hypot(*(table[0, :2] - table[-1, :2])) <= EPS_MM:
        table = table[:-1]
    if not np.all(np.isfinite(table)):
        raise OutlineError("a coordinate or bulge of the outline is not a number")
    if len(table) > _MAX_VERTICES:
        raise OutlineError(
            f"the outline has {len(table)} vertices, more than {_MAX_VERTICES}",
            mend="Describe its curves as arcs (a bulge) instead of many short lines.",
        )
    points, bulges = table[:, :2], table[:, 2].copy()
    bulges[np.abs(bulges) < STRAIGHT_BULGE] = 0.0
    if len(points) < 2 or (len(points) == 2 and not np.any(bulges)):
        raise OutlineError(
            "the outline encloses nothing: it needs three vertices, or two and an arc"
        )
    steep = np.flatnonzero(np.abs(bulges) > _MAX_BULGE)
    if len(steep):
        raise OutlineError(
            f"the bulge {bulges[steep[0]]:g} of vertex {steep[0] + 1} is nearly a full circle",
            mend="A bulge is tan(sweep / 4): 0 is straight, 1 a half circle.",
        )
    same = np.flatnonzero(np.hypot(*(np.roll(points, -1, axis=0) - points).T) <= EPS_MM)
    if len(same):
        raise OutlineError(f"vertex {same[0] + 1} of the outline and the next are the same point")
    outline = Outline(points, bulges)
    _keeps_clear_of_itself(outline)
    if area(outline) < 0.0:
        outline = Outline(points[::-1], -np.roll(bulges[::-1], -1))
    if area(outline) <= EPS_MM:
        raise OutlineError("the outline encloses nothing")
    return recentred(outline)


def _keeps_clear_of_itself(outline: Outline) -> None:
    """Raise where two segments meet elsewhere than in the vertex between neighbours."""
    arriving, leaving = tangents(outline)
    straight = np.abs(outline.bulges) < STRAIGHT_BULGE
    back = straight & np.roll(straight, 1) & ((arriving * leaving).sum(axis=1) < -1.0 + 1e-12)
    if np.any(back):
        raise OutlineError(f"the outline turns back on itself at vertex {_first(back) + 1}")
    count = len(outline)
    meets = np.zeros((count, count), dtype=np.bool_)
    lines, arcs = np.flatnonzero(straight), np.flatnonzero(~straight)
    of_lines, of_arcs = outline.chain.lines, outline.chain.arcs
    every: list[tuple[Ints, Ints, tuple[Floats, Floats]]] = [
        (lines, lines, line_line_crossings(column(of_lines), of_lines)),
        (lines, arcs, line_arc_crossings(column(of_lines), of_arcs)),
        (arcs, arcs, arc_arc_crossings(column(of_arcs), of_arcs)),
    ]
    for rows, columns, (x, y) in every:
        apart = np.isfinite(x) & (rows[:, None, None] != columns[None, :, None])
        for i, j in ((rows[:, None], columns[None, :]), (columns[None, :], rows[:, None])):
            # The vertex that j starts from and i ends at is theirs to share.
            vertex = outline.points[j]
            far = np.hypot(x - vertex[..., 0, None], y - vertex[..., 1, None]) > EPS_MM
            apart &= far | ((i + 1) % count != j)[..., None]
        meets[np.ix_(rows, columns)] |= apart.any(axis=-1)
    touches = np.full((count, count), np.inf)
    x, y = outline.points[:, :1], outline.points[:, 1:]
    touches[:, lines] = np.sqrt(point_line_squared(x, y, of_lines))
    touches[:, arcs] = point_arc(x, y, of_arcs)
    every_index = np.arange(count)
    touches[every_index, every_index] = touches[every_index, every_index - 1] = np.inf
    meets |= touches <= EPS_MM
    if np.any(meets):
        first, second = sorted(divmod(_first(meets.ravel()), count))
        raise OutlineError(
            f"the outline meets itself where it leaves vertices {first + 1} and {second + 1}",
            mend="Check the order of the vertices and the signs of the bulges.",
        )


def _first(mask: Bools) -> int:
    return int(np.flatnonzero(mask)[0])


def _positive(length_mm: float, width_mm: float) -> None:
    if not (0.0 < length_mm < math.inf and 0.0 < width_mm < math.inf):
        raise OutlineError(f"a size of {length_mm:g} × {width_mm:g} mm is not possible")


def _longer(length_mm: float, width_mm: float, form: str) -> None:
    if width_mm > length_mm:
        raise OutlineError(
            f"a {form} of {length_mm:g} × {width_mm:g} mm is wider than long",
            mend="Give the longer measure as its length.",
        )

"""How marks are spread over hoopings: as few as can be, split between pieces, never through one.

A field is what the needle can reach in one placing of the cloth. The marks' true bounds count,
not the artwork's. Windows are spoken of in layout millimetres, also where the cloth is sewn from
its wrong side: a field is its own mirror image.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from embellish.arrays import Floats, Ints
from embellish.catalogue.equipment import Hoop
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.units import EPS_MM, ROUND_DECIMALS

OVERLAP_MM = 14.0
"""Neighbouring fields share this much where it costs no hooping: room for alignment crosses."""

Middle = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Window:
    """What one file sews.

    Parameters
    ----------
    rows : array of shape (k,)
        The marks in it, in the order given.
    turn_deg
        How the design is turned in the field (quarter turns).
    position
        Name of the hoop's position.
    middle : (x, y)
        Middle of the field, layout mm.
    hooping
        Number of the placing of the cloth it belongs to.
    mirrored
        Whether the cloth is sewn from its wrong side.
    origin : (x, y) or None
        Where the file's (0, 0) lies, layout mm; None for the field's middle.
    """

    rows: Ints
    turn_deg: int
    position: str
    middle: Middle
    hooping: int
    mirrored: bool = False
    origin: Middle | None = None

    def to_stitch(self) -> Affine:
        """Return the map from the layout to the file."""
        x, y = self.middle if self.origin is None else self.origin
        flip = Affine.mirror_x() if self.mirrored else IDENTITY
        return Affine.turn(self.turn_deg) @ flip @ Affine.move(-x, -y)


def bounds_of(paths: Iterable[Floats]) -> Floats:
    """Return x0, y0, x1, y1 of each path, shape (n, 4)."""
    rows = [np.concatenate([path.min(axis=0), path.max(axis=0)]) for path in paths]
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def extent_of(boxes: Floats) -> Floats:
    """Return x0, y0, x1, y1 of all boxes together, shape (4,)."""
    return np.concatenate([boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)])


def middle_of(boxes: Floats, hoop: Hoop | None = None, turn_deg: int = 0) -> Middle:
    """Return where the middle of a field best lies to hold all boxes.

    That of their bounds; in a round or oval field that of the least circle about their corners,
    stretched as the field is.
    """
    extent = extent_of(boxes)
    middle = (extent[:2] + extent[2:]) / 2.0
    if hoop is not None and hoop.shape != "rectangle" and len(boxes):
        half = turned_field(hoop, turn_deg) / 2.0
        low, high = boxes[:, :2], boxes[:, 2:]
        corners = np.concatenate(
            [low, high, np.stack([low[:, 0], high[:, 1]], 1), np.stack([high[:, 0], low[:, 1]], 1)]
        )
        circle = shapely.minimum_bounding_circle(shapely.multipoints((corners - middle) / half))
        # The circle is drawn as a polygon even about its middle.
        x0, y0, x1, y1 = shapely.bounds(circle).tolist()
        if np.isfinite(x0):
            middle = middle + np.array([x0 + x1, y0 + y1]) / 2.0 * half
    x, y = (np.round(middle, ROUND_DECIMALS) + 0.0).tolist()
    return x, y


def out_mm(hoop: Hoop, boxes: Floats, middle: Middle, turn_deg: int = 0) -> Floats:
    """Return how far each box stands out of the field about a middle, shape (n,), 0 inside."""
    half = turned_field(hoop, turn_deg) / 2.0
    x = np.maximum(np.abs(boxes[:, 0] - middle[0]), np.abs(boxes[:, 2] - middle[0]))
    y = np.maximum(np.abs(boxes[:, 1] - middle[1]), np.abs(boxes[:, 3] - middle[1]))
    if hoop.shape == "rectangle":
        over: Floats = np.maximum(0.0, np.maximum(x - half[0], y - half[1]))
        return over
    # A corner of the box is the farthest; along the ray from the middle.
    share = np.hypot(x / half[0], y / half[1])
    far = np.hypot(x, y)
    return np.where(share > 1.0, far * (1.0 - 1.0 / np.maximum(share, 1.0)), 0.0)


def fits(hoop: Hoop, boxes: Floats, middle: Middle, turn_deg: int) -> bool:
    """Return whether a field about a middle holds all boxes."""
    return not out_mm(hoop, boxes, middle, turn_deg).max(initial=0.0) > EPS_MM


def fit_somewhere(hoop: Hoop, boxes: Floats, turn_deg: int) -> bool:
    """Return whether a field placed as well as can be holds all boxes."""
    return fits(hoop, boxes, middle_of(boxes, hoop, turn_deg), turn_deg)


def turned_field(hoop: Hoop, turn_deg: int) -> Floats:
    """Return width and height of the field over the layout, shape (2,)."""
    field = np.array(hoop.field_mm, dtype=np.float64)
    return field[::-1] if turn_deg % 180 else field


def field_of(hoop: Hoop, turn: int = 0) -> tuple[float, float]:
    """Return width and height that any box of that size fits into."""
    width, height = turned_field(hoop, turn).tolist()
    # The rectangle of a round field that holds most: a square in a circle, stretched.
    share = 1.0 if hoop.shape == "rectangle" else 0.5**0.5
    return width * share, height * share


def cuts_for(hoop: Hoop, points: Floats, grown_mm: float) -> Ints:
    """Return where a line of points (n, 2) is cut so that each part, grown, fits the field.

    The numbers are those of the points a new part starts at. Each part is as long as it can be
    with room for the overlap of neighbouring fields.
    """
    if fit_somewhere(hoop, bounds_of([points]) + grown_mm * np.array([-1, -1, 1, 1]), 0):
        return np.zeros(0, dtype=np.int64)
    room = np.array([max(side / 2.0, side - OVERLAP_MM) for side in field_of(hoop)])
    room = room - 2.0 * grown_mm
    cuts = []
    low, high = points[0], points[0]
    for index, point in enumerate(points[1:], 1):
        low, high = np.minimum(low, point), np.maximum(high, point)
        if (high - low > room).any():
            cuts.append(index)
            low, high = point, point
    return np.array(cuts, dtype=np.int64)


Hung = tuple[Ints, str, int, Middle]
"""What one position of a hooping sews: rows, the position's name, its turn, its field's middle."""


def hung(hoop: Hoop, boxes: Floats, groups: Sequence[Ints], turn: int) -> list[list[Hung]]:
    """Return hoopings: each group goes to a position of the hooping before, where one reaches it.

    The first group of a hooping stands in the hoop's first position.
    """
    hoopings: list[list[Hung]] = []
    for rows in groups:
        spot = _reached(hoop, boxes[rows], hoopings, turn)
        if spot is None:
            middle = middle_of(boxes[rows], hoop, turn)
            hoopings.append([(rows, hoop.positions[0].name, turn, middle)])
        else:
            number, position, turned, at = spot
            hoopings[number].append((rows, position, turned, at))
    return hoopings


def positions_about(hoop: Hoop, first: Middle, turn: int) -> list[tuple[str, int, Middle]]:
    """Return name, turn and field's middle of each position, the first's field lying there.

    A position in which the hoop hangs turned sews its file turned as well.
    """
    one = hoop.positions[0]
    spots = []
    for position in hoop.positions:
        step = np.array([position.x_mm - one.x_mm, position.y_mm - one.y_mm])
        dx, dy = Affine.turn(-turn)(step).tolist()
        turned = (turn + position.turn_deg - one.turn_deg) % 360
        at = (round(first[0] + dx, ROUND_DECIMALS), round(first[1] + dy, ROUND_DECIMALS))
        spots.append((position.name, turned, at))
    return spots


def _reached(
    hoop: Hoop, boxes: Floats, hoopings: Sequence[Sequence[Hung]], turn: int
) -> tuple[int, str, int, Middle] | None:
    for number, hooping in enumerate(hoopings):
        used = {position for _, position, _, _ in hooping}
        for name, turned, at in positions_about(hoop, hooping[0][3], turn)[1:]:
            if name not in used and fits(hoop, boxes, at, turned):
                return number, name, turned, at
    return None


def in_positions(hoop: Hoop, boxes: Floats, lays: Ints, turn: int) -> list[list[Hung]] | None:
    """Return one hooping whose positions hold all boxes together, in the fewest; None if none do.

    The hoop is laid so that all positions together lie about the boxes' middle, or flush with any
    of their sides.
    """
    if len(hoop.positions) < 2:
        return None
    reach = positions_about(hoop, (0.0, 0.0), turn)
    spans = []
    for _, turned, at in reach:
        half = turned_field(hoop, turned) / 2.0
        spans.append([*(np.array(at) - half), *(np.array(at) + half)])
    whole, extent = extent_of(np.array(spans)), extent_of(boxes)
    ways: list[list[float]] = []
    for axis in (0, 1):
        low, high = extent[axis] - whole[axis], extent[axis + 2] - whole[axis + 2]
        ways.append(list(dict.fromkeys([(low + high) / 2.0, low, high])))
    best: list[Hung] | None = None
    for x in ways[0]:
        for y in ways[1]:
            first = (round(float(x), ROUND_DECIMALS) + 0.0, round(float(y), ROUND_DECIMALS) + 0.0)
            found = _shared_out(hoop, boxes, lays, positions_about(hoop, first, turn))
            if found is not None and (best is None or len(found) < len(best)):
                best = found
    return None if best is None else [best]


def _shared_out(
    hoop: Hoop, boxes: Floats, lays: Ints, spots: Sequence[tuple[str, int, Middle]]
) -> list[Hung] | None:
    """Return which position sews which boxes: fewest positions, lays whole where one holds them."""
    holds = np.array([~(out_mm(hoop, boxes, at, turned) > EPS_MM) for _, turned, at in spots])
    if not holds.any(axis=0).all():
        return None
    chosen = _fewest_rows(holds)
    assert chosen is not None  # noqa: S101 - all of them hold every box
    # Whole lays go where one position holds them; every other box to the first that does.
    of = np.array(chosen)[np.argmax(holds[chosen], axis=0)]
    for lay in np.unique(lays).tolist():
        mine = lays == lay
        whole = [number for number in chosen if holds[number, mine].all()]
        if whole:
            of[mine] = whole[0]
    found = []
    for number, (name, turned, at) in enumerate(spots):
        rows = np.flatnonzero(of == number)
        if len(rows):
            found.append((rows, name, turned, at))
    return found


def _fewest_rows(holds: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[int] | None:
    """Return the fewest rows of a small table that together hold every column."""
    sets = np.unique(holds, axis=1)
    for bits in sorted(range(1, 1 << len(sets)), key=lambda b: (b.bit_count(), b)):
        rows = [row for row in range(len(sets)) if bits >> row & 1]
        if sets[rows].any(axis=0).all():
            return rows
    return None

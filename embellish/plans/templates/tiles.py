"""Tiles: a template larger than what takes it, cut along seams that run between holes."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Final

import numpy as np
from shapely import (
    LineString,
    MultiPolygon,
    Polygon,
    STRtree,
    contains_xy,
    get_coordinates,
    line_interpolate_point,
    unary_union,
)
from shapely import box as shapely_box
from shapely import points as points_of
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.findings import Finding
from embellish.plans.registration import Bounds
from embellish.plans.templates.holes import Holes
from embellish.plans.templates.seams import Obstacles, Seam, seam_down
from embellish.units import EPS_MM, ROUND_DECIMALS

_BAND_MM: Final = 30.0
"""A seam is first sought in a band of this width about where it would be best."""
_TICK_MM: Final = 3.0
_LEAST_TICK_MM: Final = 0.8
_NEAR_SHARE: Final = 0.4
"""Half a wall is what a seam leaves where the walls are as asked, less what smoothing takes."""
_TILES: Final = 400
"""More tiles than this are a slip of a size, not a plan."""


@dataclass(frozen=True, eq=False)
class Tile:
    """One tile, in layout mm.

    Parameters
    ----------
    trim : array of shape (k, 2)
        Its closed edge.
    members : array of shape (n,)
        Numbers of its holes, ascending.
    points : array of shape (m,)
        Numbers of its registration holes.
    matches
        Ticks at its seams, each from the seam into the tile.
    """

    trim: Floats
    members: Ints
    points: Ints
    matches: tuple[Floats, ...] = ()


@dataclass(frozen=True, slots=True)
class Tiling:
    """How tiles are to be.

    Parameters
    ----------
    rooms_mm
        Width and height that a tile may have, the sheet lying or upright; none for no limit.
    wall_mm
        Least wall between two holes: a seam leaves half of it to each side.
    point_radius_mm
        Of the registration holes.
    words
        What the template is called in findings.
    """

    rooms_mm: tuple[tuple[float, float], ...]
    wall_mm: float
    point_radius_mm: float
    words: str


def tiles_of(
    holes: Holes, points: Floats, frame: Bounds, tiling: Tiling
) -> tuple[list[Tile], list[Finding]]:
    """Return the tiles of one template, and what could not be had.

    Parameters
    ----------
    holes
        Of the template, in layout mm.
    points : array of shape (m, 2)
        Registration holes.
    frame
        The sheet around all.
    tiling
        How tiles are to be.
    """
    x0, y0, x1, y1 = frame
    corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    whole = Tile(corners, np.arange(len(holes)), np.arange(len(points)))
    room = _roomiest(tiling.rooms_mm, x1 - x0, y1 - y0)
    if room is None or (x1 - x0 <= room[0] + EPS_MM and y1 - y0 <= room[1] + EPS_MM):
        return [whole], []
    largest = float(np.ptp(holes.boxes().reshape(-1, 2, 2), axis=1).max())
    too_many = min(room) > 0.0 and ceil((x1 - x0) / room[0]) * ceil((y1 - y0) / room[1]) > _TILES
    if min(room) < 2.0 * largest + 4.0 * tiling.wall_mm or too_many:
        return [whole], [_too_small(tiling, frame, room)]
    cutter = _Cutter(_obstacles(holes, points, tiling.point_radius_mm), room, tiling)
    cut = cutter.cut(Polygon(corners), np.arange(len(holes) + len(points)))
    if cut is None:
        return [whole], [_no_seam(tiling, room)]
    ticks = [_ticks_of(seam, cutter.obstacles) for seam in cutter.seams]
    tiles = [_tile(region, members, len(holes), ticks) for region, members in cut]
    # A tile without a hole for a piece would be cut for nothing.
    tiles = [tile for tile in tiles if len(tile.members)]
    return tiles, _narrow(cutter.seams, tiling)


def _roomiest(
    rooms: tuple[tuple[float, float], ...], width: float, height: float
) -> tuple[float, float] | None:
    """Return the room that takes the frame in fewest tiles."""
    usable = [room for room in rooms if min(room) > 0.0]
    if not usable:
        return max(rooms, key=min, default=None)
    return min(usable, key=lambda room: ceil(width / room[0]) * ceil(height / room[1]))


def _obstacles(holes: Holes, points: Floats, point_radius_mm: float) -> Obstacles:
    radius = np.concatenate([holes.radius_mm, np.full(len(points), point_radius_mm)])
    both = Holes(np.concatenate([holes.xy, points]), radius, holes.shaped)
    return Obstacles(both, both.boxes())


class _Cutter:
    """Cuts a region in two until every part fits, and remembers the seams."""

    def __init__(self, obstacles: Obstacles, room: tuple[float, float], tiling: Tiling) -> None:
        self.obstacles = obstacles
        self.room = room
        self.wall_mm = tiling.wall_mm
        self.seams: list[Seam] = []

    def cut(self, region: Polygon, members: Ints) -> list[tuple[Polygon, Ints]] | None:
        """Return the parts of a region with their obstacles, or None where no seam is found."""
        x0, y0, x1, y1 = region.bounds
        over = ((x1 - x0) / self.room[0], (y1 - y0) / self.room[1])
        if max(over) <= 1.0 + EPS_MM:
            return [(region, members)]
        down = over[0] >= over[1]
        seam = self._seam(region, members, down=down)
        if seam is None:
            return None
        self.seams.append(_within(seam, region))
        parts: list[tuple[Polygon, Ints]] = []
        for part, mine in self._halves(region, members, seam, down=down):
            deeper = self.cut(part, mine)
            if deeper is None:
                return None
            parts.extend(deeper)
        return parts

    def _seam(self, region: Polygon, members: Ints, *, down: bool) -> Seam | None:
        obstacles = self.obstacles if down else self.obstacles.turned()
        turned = region if down else _exchanged(region)
        room = self.room[0] if down else self.room[1]
        x0, _, x1, _ = turned.bounds
        least = ceil((x1 - x0) / room - EPS_MM)
        # Where an even number of tiles leaves no play for a seam, one more does.
        for count in (least, least + 1, least + 2):
            low, high = x1 - (count - 1) * room, x0 + room
            aim = min(max(x0 + (x1 - x0) / count, low), high)
            for width in (_BAND_MM, 4.0 * _BAND_MM, 2.0 * room):
                band = (max(low, aim - width / 2.0), min(high, aim + width / 2.0))
                if band[1] - band[0] <= EPS_MM:
                    continue
                seam = seam_down(turned, members, obstacles, band, self.wall_mm)
                if seam is not None:
                    return seam if down else Seam(seam.line[:, ::-1], seam.free_mm)
        return None

    def _halves(
        self, region: Polygon, members: Ints, seam: Seam, *, down: bool
    ) -> list[tuple[Polygon, Ints]]:
        """Return what is before and behind a seam; crumbs without holes go to the other side."""
        x0, y0, x1, y1 = region.bounds
        far = 2.0 * (x1 - x0 + y1 - y0)
        line = seam.line
        edge = np.array([[x0 - far, line[-1, 1]], [x0 - far, line[0, 1]]])
        if not down:
            edge = np.array([[line[-1, 0], y0 - far], [line[0, 0], y0 - far]])
        first_side = Polygon(np.concatenate([line, edge]))
        sides: list[list[Polygon]] = [
            _polygons(region.intersection(first_side)),
            _polygons(region.difference(first_side)),
        ]
        centres = (self.obstacles.boxes[:, :2] + self.obstacles.boxes[:, 2:]) / 2.0
        at = centres[members]
        crumbs: list[list[Polygon]] = [[], []]
        kept: list[list[Polygon]] = [[], []]
        for side, polygons in enumerate(sides):
            for polygon in polygons:
                holds = bool(contains_xy(polygon, at[:, 0], at[:, 1]).any())
                (kept if holds or len(polygons) == 1 else crumbs)[side].append(polygon)
        parts = []
        for side in (0, 1):
            joined = _polygons(unary_union([*kept[side], *crumbs[1 - side]]))
            for polygon in joined:
                mine = members[contains_xy(polygon, at[:, 0], at[:, 1])]
                if len(mine):
                    parts.append((polygon, mine))
        return parts


def _within(seam: Seam, region: Polygon) -> Seam:
    """Return the seam without what reaches over the region's edge."""
    inside = LineString(seam.line).intersection(region)
    pieces = [each for each in getattr(inside, "geoms", [inside]) if isinstance(each, LineString)]
    longest = max(pieces, key=lambda each: each.length)
    return Seam(get_coordinates(longest), seam.free_mm)


def _polygons(geometry: BaseGeometry) -> list[Polygon]:
    if isinstance(geometry, Polygon):
        return [] if geometry.is_empty else [geometry]
    if isinstance(geometry, MultiPolygon):
        return list(geometry.geoms)
    return [each for each in getattr(geometry, "geoms", ()) if isinstance(each, Polygon)]


def _exchanged(region: Polygon) -> Polygon:
    return Polygon(np.asarray(region.exterior.coords)[:, ::-1])


@dataclass(frozen=True, eq=False)
class _Ticks:
    """Ticks across one seam: where they stand on it, and both their ends."""

    starts: Floats
    ends: Floats


def _tile(region: Polygon, members: Ints, holes: int, ticks: list[_Ticks]) -> Tile:
    ring = np.round(np.asarray(region.exterior.coords)[:-1], ROUND_DECIMALS)
    matches: list[Floats] = []
    for each in ticks:
        # Its own half: the middle of the half is in the tile, and so is its end.
        middle = (each.starts + each.ends) / 2.0
        mine = contains_xy(region, middle[:, 0], middle[:, 1])
        mine &= contains_xy(region, each.ends[:, 0], each.ends[:, 1])
        matches.extend(np.stack([each.starts[mine], each.ends[mine]], axis=1))
    members = np.sort(members)
    return Tile(ring, members[members < holes], members[members >= holes] - holes, tuple(matches))


def _ticks_of(seam: Seam, obstacles: Obstacles) -> _Ticks:
    """Return both halves of the ticks where they have most room, one in each third of a seam."""
    line = LineString(seam.line)
    stops = np.arange(2.0, line.length - 2.0, 1.0)
    if not len(stops):
        return _Ticks(np.zeros((0, 2)), np.zeros((0, 2)))
    xy = get_coordinates(line_interpolate_point(line, stops))
    along = get_coordinates(line_interpolate_point(line, stops + 0.01)) - xy
    along = along / np.hypot(along[:, 0], along[:, 1])[:, None]
    boxes = obstacles.boxes
    tree = STRtree(shapely_box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]))
    free = tree.query_nearest(points_of(xy), return_distance=True, all_matches=False)[1]
    half = np.round(np.minimum(_TICK_MM, free - 0.5), 3)
    best = [
        int(third[np.argmax(half[third])])
        for third in np.array_split(np.arange(len(stops)), 3)
        if len(third)
    ]
    best = [index for index in best if half[index] >= _LEAST_TICK_MM]
    across = np.stack([-along[best, 1], along[best, 0]], axis=1) * half[best, None]
    starts = np.tile(xy[best], (2, 1))
    return _Ticks(
        np.round(starts, ROUND_DECIMALS),
        np.round(starts + np.concatenate([across, -across]), ROUND_DECIMALS),
    )


def _too_small(tiling: Tiling, frame: Bounds, room: tuple[float, float]) -> Finding:
    x0, y0, x1, y1 = frame
    return Finding(
        "sheet-too-small",
        "error",
        f"Template {tiling.words} needs {x1 - x0:.0f} x {y1 - y0:.0f} mm, and sheet, transfer "
        f"sheet and platen leave {max(room[0], 0.0):.0f} x {max(room[1], 0.0):.0f} mm for a tile.",
        mend="Give larger ones under [template].",
    )


def _no_seam(tiling: Tiling, room: tuple[float, float]) -> Finding:
    return Finding(
        "no-seam",
        "error",
        f"Template {tiling.words} is larger than the {room[0]:.0f} x {room[1]:.0f} mm there are, "
        "and no seam runs between its holes.",
        mend="Give a larger sheet under [template], or a larger gap_mm.",
    )


def _narrow(seams: list[Seam], tiling: Tiling) -> list[Finding]:
    thin = [seam for seam in seams if seam.free_mm < _NEAR_SHARE * tiling.wall_mm]
    if not thin:
        return []
    worst = min(thin, key=lambda seam: seam.free_mm)
    x, y = np.round(worst.line[len(worst.line) // 2], 3).tolist()
    return [
        Finding(
            "seam-too-near",
            "warning",
            f"Template {tiling.words}: a seam leaves only {worst.free_mm:.2f} mm beside a hole.",
            where_mm=(x, y),
            mend="Handle the tiles by their other edges, give a larger sheet, or a larger gap_mm.",
        )
    ]

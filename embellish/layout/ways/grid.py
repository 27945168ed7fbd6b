"""The grid: pieces on a lattice within a region, turned and shifted so that the most fit."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from scipy.spatial import cKDTree

from embellish.artwork.flatten import region_of
from embellish.findings import Finding
from embellish.geometry.arrays import Floats
from embellish.geometry.insets import Room
from embellish.geometry.lattices import Grid, Lattice, best_grid, frame_deg
from embellish.geometry.streams import Stream
from embellish.layout.ways.fills import dealt, room_of, rounded, stacked, too_small
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import EPS_MM, LAY_SLACK_MM

_LATTICES: Final = {"hex": Lattice.hex, "square": Lattice.square, "brick": Lattice.brick}


class GridSettings(WaySettings):
    """Settings of a grid lay."""

    pattern: Literal["hex", "square", "brick"] = "hex"
    """hex is the densest; square stands in rows and columns; brick moves every other row half."""
    angle_deg: float | Literal["best"] = "best"
    """Turn of the rows, clockwise as seen, or ``best``: the turn that holds the most."""
    alternate: Literal["place", "row"] = "place"
    """Whether a sequence of pieces goes on from place to place, or from row to row."""


def lay_grid(
    ground: Ground, kit: Kit, settings: GridSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay a grid in each shape of the ground.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Rows are lattice rows, u the index along the row. A region with no room for one piece is
        the finding ``region-too-small``.
    """
    parts: list[Seats] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):
        region = region_of(shape)
        room = room_of(region, ground, kit, stacked(parts))
        grid = _round_grid(room, kit, settings)
        if len(grid):
            parts.append(_seats(grid, number, kit, settings, stream.child(shape.id)))
        else:
            findings.append(too_small(shape, region, kit))
        progress((number + 1) / len(ground.shapes))
    return Laid(stacked(parts), tuple(findings))


def _round_grid(room: Room, kit: Kit, settings: GridSettings) -> Grid:
    """Return the best grid of round pieces, or of the circles that hold them."""
    radius = float(kit.reach_mm.max())
    angle = None if settings.angle_deg == "best" else float(settings.angle_deg)
    lattice = _LATTICES[settings.pattern]
    pitch = 2.0 * radius + kit.gap_mm
    centres = room.centres(radius, safe=False)
    grid = best_grid(centres, lattice(pitch + LAY_SLACK_MM), angle)
    grid = grid.kept(room.holds(rounded(grid.xy), radius, slack_mm=0.0))
    return max([grid, _exact_fit(room, radius, lattice(pitch), kit.gap_mm, angle)], key=len)


def _exact_fit(
    room: Room, radius: float, lattice: Lattice, gap_mm: float, angle: float | None
) -> Grid:
    """Return the grid without room to spare, if it truly keeps its gaps once rounded.

    Ten touching pieces of 1 mm belong in 10 mm, but the slack every way lays with would make it
    nine. So the bare pitch is tried too, in line with the region's edges, and stands only if every
    rounded gap is whole to the last bit and no piece is further out than lengths are compared.
    """
    slack = -0.4 * EPS_MM
    centres = room.centres(radius, slack_mm=slack, safe=False)
    if centres.is_empty:
        return best_grid(centres, lattice)
    frame = frame_deg(centres)
    turns = [frame, frame + 90.0] if angle is None else [angle]
    grid = best_grid(centres, lattice, turns_deg=turns)
    xy = rounded(grid.xy)
    grid = grid.kept(room.holds(xy, radius, slack_mm=-EPS_MM))
    whole = _gaps_whole(rounded(grid.xy), 2.0 * radius, gap_mm)
    return grid.kept(np.full(len(grid), whole))


def _gaps_whole(xy: Floats, across: float, gap_mm: float) -> bool:
    """Tell whether all gaps between equal round pieces hold, without any tolerance."""
    near = cKDTree(xy).query_pairs(across + gap_mm + 1e-3, output_type="ndarray")
    step = xy[near[:, 0]] - xy[near[:, 1]]
    apart = np.hypot(step[:, 0], step[:, 1])
    return bool(np.all(apart - across >= gap_mm) and np.all(apart >= across + gap_mm))


def _seats(grid: Grid, shape: int, kit: Kit, settings: GridSettings, stream: Stream) -> Seats:
    n = len(grid)
    # One on along a row, one back from row to row: of two or three pieces no neighbours are alike
    # in squares, of three none in hex.
    place = grid.row if settings.alternate == "row" else grid.index - grid.row
    choice = dealt(kit, place, stream)
    row = grid.row - grid.row[0]
    return Seats(
        xy=rounded(grid.xy),
        angle_deg=np.where(np.array(kit.turns)[choice] > 0.0, grid.angle_deg, 0.0),
        choice=choice,
        shape=np.full(n, shape, dtype=np.int64),
        row=row,
        u=(np.arange(n) - np.searchsorted(row, row)).astype(np.float64),
        weight=np.zeros(n),
    )


GRID: Final = Way(
    name="grid",
    settings=GridSettings,
    needs="region",
    fills=True,
    mixes=True,
    lay=lay_grid,
    help="Pieces on an even lattice (hex, square or brick) within a region.",
)

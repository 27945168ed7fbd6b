"""The grid: pieces on a lattice in a region, turned and shifted so that the most fit, evenly."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

import numpy as np
import shapely
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import region_of
from embellish.catalogue.shapes import reduced_angle
from embellish.findings import Finding
from embellish.geometry.cells import cell_centres, cell_lattice, cell_of, cells_hold
from embellish.geometry.even_grids import even_grid, fair_grid, nearly
from embellish.geometry.insets import Room
from embellish.geometry.lattices import Grid, Lattice, best_grid, frame_deg
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.layout.ways.fills import KEPT_SLACK_MM, dealt, room_of, rounded, stacked, too_small
from embellish.layout.ways.grid_edges import edged_grid
from embellish.layout.ways.rings_shaped import shaped_rings
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import EPS_MM, LAY_SLACK_MM

_LATTICES: Final = {"hex": Lattice.hex, "square": Lattice.square, "brick": Lattice.brick}
_PLAIN_MM: Final = 0.01


class GridSettings(WaySettings):
    """Settings of a grid lay."""

    pattern: Literal["hex", "square", "brick"] = "hex"
    """hex is the densest; square stands in rows and columns; brick moves every other row half."""
    angle_deg: float | Literal["best"] = "best"
    """Turn of the rows, clockwise as seen, or ``best``: the turn that holds the most; of a shape
    that is alike on both sides one that is too, where it holds nearly as many."""
    pieces_deg: float = 0.0
    """Turn of pieces that are not round against their rows: 0 lies along them, 90 across."""
    alternate: Literal["place", "row"] = "place"
    """Whether a sequence of pieces goes on from place to place, or from row to row."""
    fit_edge: bool = False
    """Whether a row runs along the edge first, for a crisp outline, the grid filling what is left;
    pieces beside that row give way until they stand evenly."""

    @property
    def fixed_deg(self) -> float | None:
        """Turn of the rows where it is given."""
        return None if self.angle_deg == "best" else float(self.angle_deg)


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
        Rows are lattice rows, u the index along the row; before them comes the row along the edge
        where one is asked for. A region with no room for one piece is the finding
        ``region-too-small``.
    """
    parts: list[Seats] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):

        def told(share: float, number: int = number) -> None:
            progress((number + share) / len(ground.shapes))

        laid = stacked(parts)
        seats = _filled(shape, ground, kit, settings, laid, stream.child(shape.id), told)
        if len(seats):
            parts.append(replace(seats, shape=np.full(len(seats), number, dtype=np.int64)))
        else:
            findings.append(too_small(shape, region_of(shape), kit))
        told(1.0)
    return Laid(stacked(parts), tuple(findings))


def _filled(
    shape: Shape,
    ground: Ground,
    kit: Kit,
    settings: GridSettings,
    laid: Seats,
    stream: Stream,
    told: Progress,
) -> Seats:
    """Return the grid in one shape."""
    region = region_of(shape)
    room = room_of(region, ground, kit, laid)
    if all(one.round_radius_mm is not None for one in kit.footprints):
        if settings.fit_edge:
            return _edged(room, kit, settings, stream, told)
        grid = _round_grid(room, kit, settings)
        if ground.as_laid:
            grid = max([grid, _exact_fit(room, kit, settings)], key=len)
        return _seats(grid, kit, settings, stream)
    if not settings.fit_edge:
        return _seats(_cell_grid(room, kit, settings, told), kit, settings, stream)
    turn_deg = settings.pieces_deg
    edge = shaped_rings(shape, region, ground, kit, laid, rows=1, turn="along", turn_deg=turn_deg)
    room = room_of(region, ground, kit, stacked([laid, edge]))
    inner = _seats(_cell_grid(room, kit, settings, told), kit, settings, stream)
    after = int(edge.row.max(initial=-1)) + 1
    seats = stacked([edge, replace(inner, row=inner.row + after)])
    return seats if kit.shares is None else replace(seats, choice=dealt(kit, seats.row, stream))


def _edged(room: Room, kit: Kit, settings: GridSettings, stream: Stream, told: Progress) -> Seats:
    """Return a row of round pieces along the edge and the best grid within."""
    lattice = _LATTICES[settings.pattern](_pitch_mm(kit) + LAY_SLACK_MM)
    seats = edged_grid(
        room, kit, lattice, settings.fixed_deg, told, dense=settings.pattern == "hex"
    )
    place = seats.row if settings.alternate == "row" else np.arange(len(seats))
    return replace(seats, choice=dealt(kit, place, stream))


def _pitch_mm(kit: Kit) -> float:
    return 2.0 * float(kit.reach_mm.max()) + kit.gap_mm


def _round_grid(room: Room, kit: Kit, settings: GridSettings) -> Grid:
    """Return the best grid of round pieces."""
    radius = float(kit.reach_mm.max())
    lattice = _LATTICES[settings.pattern](_pitch_mm(kit) + LAY_SLACK_MM)
    centres = room.centres(radius, safe=False)
    grid = fair_grid(centres, lattice, settings.fixed_deg, frame=frame_deg(room.region))
    return grid.kept(room.holds(grid.xy, radius, slack_mm=KEPT_SLACK_MM))


def _cell_grid(room: Room, kit: Kit, settings: GridSettings, progress: Progress) -> Grid:
    """Return the best grid of pieces that are not round, by their outlines."""
    cell = cell_of(kit.footprints, settings.pieces_deg)
    lattice = cell_lattice(cell, kit.gap_mm, settings.pattern)
    if settings.angle_deg == "best":
        frame = frame_deg(room.region)
        # In line with the edges first: of equal counts the first wins.
        turns = [frame, frame + 90.0, *(frame + 15.0 * k for k in range(1, 12) if k != 6)]
        evens = [0.0, 90.0]
    else:
        turns = evens = [settings.angle_deg]
    # The search may use a plainer edge and a plainer, slightly larger cell; the outlines decide.
    plain = replace(room, region=room.region.simplify(_PLAIN_MM))
    plain_cell = _plainer(cell)

    def kept(grid: Grid) -> Grid:
        turned = Affine.turn(grid.angle_deg)(cell)
        return grid.kept(cells_hold(grid.xy, turned, room, KEPT_SLACK_MM))

    grids = []
    for number, turn in enumerate(turns):
        progress(number / (len(turns) + 1))
        centres = cell_centres(plain, Affine.turn(turn)(plain_cell))
        grids.append(kept(best_grid(centres, lattice, turn)))
    most = max(grids, key=len)
    for turn in evens:
        centres = cell_centres(plain, Affine.turn(turn)(plain_cell))
        even = even_grid(centres, lattice, turn, at_least=nearly(len(most)))
        grids += [] if even is None else [kept(even)]
    return max(grids[len(turns) :], key=len, default=most)


def _plainer(cell: Floats) -> Floats:
    """Return a cell of fewer corners about a cell, at most a little larger."""
    simple = shapely.Polygon(cell).simplify(_PLAIN_MM)
    if shapely.get_num_coordinates(simple) > len(cell):
        return cell
    return shapely.get_coordinates(simple.buffer(_PLAIN_MM, join_style="mitre"))[:-1]


def _exact_fit(room: Room, kit: Kit, settings: GridSettings) -> Grid:
    """Return the grid without room to spare, if it truly keeps its gaps once rounded.

    Ten touching pieces of 1 mm belong in 10 mm, but the slack every way lays with would make it
    nine. So the bare pitch is tried too, in line with the region's edges, and stands only if every
    rounded gap is whole to the last bit and no piece is further out than lengths are compared.
    """
    radius = float(kit.reach_mm.max())
    lattice = _LATTICES[settings.pattern](2.0 * radius + kit.gap_mm)
    slack = -0.4 * EPS_MM
    centres = room.centres(radius, slack_mm=slack, safe=False)
    if centres.is_empty:
        return best_grid(centres, lattice)
    frame = frame_deg(room.region)
    turns = [frame, frame + 90.0] if settings.angle_deg == "best" else [settings.angle_deg]
    grid = best_grid(centres, lattice, turns_deg=turns)
    xy = rounded(grid.xy)
    grid = grid.kept(room.holds(xy, radius, slack_mm=-EPS_MM))
    whole = _gaps_whole(rounded(grid.xy), 2.0 * radius, kit.gap_mm)
    return grid.kept(np.full(len(grid), whole))


def _gaps_whole(xy: Floats, across: float, gap_mm: float) -> bool:
    """Tell whether all gaps between equal round pieces hold, without any tolerance."""
    near = cKDTree(xy).query_pairs(across + gap_mm + 1e-3, output_type="ndarray")
    step = xy[near[:, 0]] - xy[near[:, 1]]
    apart = np.hypot(step[:, 0], step[:, 1])
    return bool(np.all(apart - across >= gap_mm) and np.all(apart >= across + gap_mm))


def _seats(grid: Grid, kit: Kit, settings: GridSettings, stream: Stream) -> Seats:
    n = len(grid)
    # One on along a row, one back from row to row: of two or three pieces no neighbours are alike
    # in squares, of three none in hex.
    place = grid.row if settings.alternate == "row" else grid.index - grid.row
    choice = dealt(kit, place, stream)
    angle = np.full(n, grid.angle_deg + settings.pieces_deg)
    row = grid.row - grid.row[:1]
    return Seats(
        xy=grid.xy,
        angle_deg=reduced_angle(angle, np.array(kit.turns)[choice]),
        choice=choice,
        shape=np.zeros(n, dtype=np.int64),
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
    blends="any",
)

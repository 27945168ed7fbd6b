"""The layout: every seat of a job, as a frozen table of columns."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from embellish.arrays import Floats, Ints, frozen, frozen_ints
from embellish.catalogue.piece import Piece, Unit
from embellish.geometry.footprints import Footprint
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.layout.mirroring import images_of, mirrored_seats
from embellish.units import ROUND_DECIMALS

SetBy = Literal["template", "face-down", "hand", "sewn"]
Mark = Literal["each", "line", "ends", "outline", "none"]
Side = Literal["front", "back"]


@dataclass(frozen=True, slots=True)
class Lay:
    """What a layout remembers of one instruction of its job."""

    id: str
    name: str
    way: str
    set_by: SetBy
    mark: Mark
    gap_mm: float
    lapped: bool = False
    worked_from: Side = "front"
    """Which side of the cloth the maker sees while setting; pieces stand on the front anyway."""
    lap_mm: float = 0.0
    """How far each piece lies over the one before; 0 where none does."""
    pitch_mm: float = 0.0
    """From link to link of what is sold by the length; 0 for single pieces."""


@dataclass(frozen=True, eq=False)
class Layout:
    """All seats. Table order is lay, then path order; operations return a new layout.

    Parameters
    ----------
    pieces, units
        What may stand on a seat; the columns ``piece`` and ``unit`` index these.
    piece_footprints, unit_footprints
        What each of them covers at max size, index by index.
    lays
        The instructions, in job order; the column ``lay`` indexes these.
    shape_ids
        Ids of the artwork's shapes; the column ``shape`` indexes these.
    xy : array of shape (n, 2)
        Centres in mm, y down.
    angle_deg : array of shape (n,)
        Clockwise as seen, 0 = length along +x, in [0, 360), 0 for round pieces.
    piece, unit, lay : arrays of shape (n,)
        Indices; piece is -1 where a unit stands, unit is -1 where a piece stands.
    shape, row, u : arrays of shape (n,)
        The address: shape index (-1 none), row number within the lay's shape, and place along
        the row as a fraction of its path (or an index where there is no path).
    """

    pieces: tuple[Piece, ...]
    units: tuple[Unit, ...]
    piece_footprints: tuple[Footprint, ...]
    unit_footprints: tuple[Footprint, ...]
    lays: tuple[Lay, ...]
    shape_ids: tuple[str, ...]
    xy: Floats
    angle_deg: Floats
    piece: Ints
    unit: Ints
    lay: Ints
    shape: Ints
    row: Ints
    u: Floats
    page_mm: tuple[float, float] = field(default=(0.0, 0.0))
    to_set: Affine = IDENTITY
    """Into the state of the cloth in which pieces are set: there strings keep their pitch."""

    def __post_init__(self) -> None:
        for name in ("xy", "angle_deg", "u"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        for name in ("piece", "unit", "lay", "shape", "row"):
            object.__setattr__(self, name, frozen_ints(getattr(self, name)))

    def __len__(self) -> int:
        return len(self.xy)

    @property
    def footprints(self) -> tuple[Footprint, ...]:
        """Footprints of pieces, then of units; ``footprint`` indexes these."""
        return self.piece_footprints + self.unit_footprints

    @property
    def footprint(self) -> Ints:
        """Index into ``footprints`` of each seat, shape (n,)."""
        return np.where(self.unit >= 0, self.unit + len(self.pieces), self.piece)

    @property
    def reach_mm(self) -> Floats:
        """Radius of the circle about each seat that holds what stands there, shape (n,)."""
        reaches = np.array([footprint.reach_mm for footprint in self.footprints], dtype=np.float64)
        return reaches[self.footprint] if len(self) else np.zeros(0)

    def rows(self, lay: int) -> Ints:
        """Return the indices of the seats of one lay, in table order."""
        return np.flatnonzero(self.lay == lay)

    def taken(self, keep: Ints) -> Layout:
        """Return the layout of these seats alone (indices or a mask), in this order."""
        columns = ("xy", "angle_deg", "piece", "unit", "lay", "shape", "row", "u")
        return replace(self, **{name: getattr(self, name)[keep] for name in columns})

    def joined(self, other: Layout) -> Layout:
        """Return this layout with the seats of another, of the same pieces and lays, after it."""
        return replace(
            self,
            xy=np.concatenate([self.xy, other.xy]),
            angle_deg=np.concatenate([self.angle_deg, other.angle_deg]),
            piece=np.concatenate([self.piece, other.piece]),
            unit=np.concatenate([self.unit, other.unit]),
            lay=np.concatenate([self.lay, other.lay]),
            shape=np.concatenate([self.shape, other.shape]),
            row=np.concatenate([self.row, other.row]),
            u=np.concatenate([self.u, other.u]),
        )

    def mapped(self, affine: Affine) -> Layout:
        """Return the layout under a rigid map; mirrored, each piece stands for its mirror image."""
        if affine.mirrors and len(self):
            images = images_of(self.pieces, self.units, self.footprints)
            xy, angle = mirrored_seats(self.xy, self.angle_deg, self.footprint, images, affine)
        else:
            xy, angle = affine(self.xy), np.mod(affine.turned_deg(self.angle_deg), 360.0)
        return replace(self, xy=xy, angle_deg=angle, to_set=self.to_set.seen_through(affine))

    def stretched(self, affine: Affine) -> Layout:
        """Return the layout on cloth drawn out by a map: centres move, pieces stay as they are."""
        to_set = IDENTITY if affine == self.to_set else self.to_set @ affine.inverse()
        return replace(self, xy=affine(self.xy), to_set=to_set)

    def rounded(self) -> Layout:
        """Return the layout with coordinates and angles rounded to what is kept."""
        angle = np.mod(np.round(self.angle_deg, ROUND_DECIMALS), 360.0)
        # + 0.0 turns -0.0 into 0.0, so that equal layouts have equal bytes.
        return replace(self, xy=np.round(self.xy, ROUND_DECIMALS) + 0.0, angle_deg=angle + 0.0)

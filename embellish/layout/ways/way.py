"""What a way is: a function from shapes and pieces to seats, with its own settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.catalogue.strung import Strung
from embellish.findings import Finding
from embellish.geometry.footprints import Footprint
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.layout.ways.fields import Blend, Mixture
from embellish.layout.ways.pictures import Mosaic

Progress = Callable[[float], None]
"""Told how far long work has come, as a share from 0 to 1."""


def no_progress(share: float) -> None:
    """Tell nobody."""


class WaySettings(BaseModel):
    """Base of a way's own settings in a job's lay: frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    settle: Annotated[float, Field(ge=0, le=1)] = 0.0
    """How far gaps are evened out once all is laid: 0 not at all, 1 as even as may be."""
    blend: Blend | None = None
    """A field along which the mix of pieces changes."""
    mosaic: Mosaic | None = None
    """A picture that pieces of many colours show."""

    @property
    def laps(self) -> float:
        """How far pieces of a lay lie over one another; 0 where they do not."""
        return float(getattr(self, "lap_mm", None) or 0.0)


@dataclass(frozen=True, eq=False)
class Kit:
    """What a lay sets.

    Parameters
    ----------
    footprints
        What each of the lay's pieces or units covers, in the order the job names them.
    turns
        Symmetry of each: the angle in degrees after which it looks the same (0: any angle).
    shares
        The share of each in a mix (adds up to 1), or None: a sequence that repeats.
    gap_mm
        Free distance between outlines.
    edge_mm
        Free distance between outlines and the region's edge.
    """

    footprints: tuple[Footprint, ...]
    turns: tuple[float, ...]
    shares: tuple[float, ...] | None
    gap_mm: float
    edge_mm: float = 0.0
    blend: Mixture | None = None
    """The share of each footprint from place to place where the mix changes, or None."""
    strung: Strung | None = None
    """How its one piece is strung, where it is sold by the length."""

    @property
    def reach_mm(self) -> Floats:
        """Reach of each footprint, shape (k,)."""
        return np.array([footprint.reach_mm for footprint in self.footprints])


@dataclass(frozen=True, eq=False)
class Occupied:
    """Seats of earlier lays that a region-filling way lays around.

    Parameters
    ----------
    xy : array of shape (m, 2)
        Centres.
    angle_deg : array of shape (m,)
        Their angles.
    footprint : array of shape (m,)
        Index into ``footprints``.
    footprints
        What they cover.
    gap_mm : array of shape (m,)
        The gap that holds toward each: the larger of the two lays'.
    """

    xy: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    angle_deg: Floats = field(default_factory=lambda: np.zeros(0))
    footprint: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    footprints: tuple[Footprint, ...] = ()
    gap_mm: Floats = field(default_factory=lambda: np.zeros(0))


@dataclass(frozen=True, eq=False)
class Ground:
    """Where a lay may go: its shapes in artwork scale, and what stands there already."""

    shapes: tuple[Shape, ...]
    occupied: Occupied = field(default_factory=Occupied)
    keep_out: Any = None
    """A shapely geometry that no piece may touch, or None."""
    to_set: Affine = IDENTITY
    """Into the state of the cloth in which pieces are set."""
    as_laid: bool = False
    """Whether seats stay as they are laid, neither turned nor mirrored afterwards: then a grid that
    fits its region to the last micrometre may do without the slack that turning needs."""


@dataclass(frozen=True, eq=False)
class Seats:
    """What a way returns: seats in path order, before clashes.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Centres.
    angle_deg : array of shape (n,)
        Angles, clockwise as seen.
    choice : array of shape (n,)
        Which of the kit's footprints stands there.
    shape : array of shape (n,)
        Index into the ground's shapes.
    row : array of shape (n,)
        Number of the row within its shape, from 0.
    u : array of shape (n,)
        Place along the row as a fraction of its path, or an index where there is no path.
    weight : array of shape (n,)
        Higher stays when two seats of the lay clash: 1 for a corner's, 0 for others.
    """

    xy: Floats
    angle_deg: Floats
    choice: Ints
    shape: Ints
    row: Ints
    u: Floats
    weight: Floats

    @classmethod
    def none(cls) -> Seats:
        """Return no seats."""
        empty, no = np.zeros(0), np.zeros(0, dtype=np.int64)
        return cls(np.zeros((0, 2)), empty, no, no, no, empty, empty)

    def __len__(self) -> int:
        return len(self.xy)

    def taken(self, rows: Ints) -> Seats:
        """Return these seats in this order."""
        return Seats(*(getattr(self, column.name)[rows] for column in fields(self)))


@dataclass(frozen=True, eq=False)
class Laid:
    """Seats and what the way noticed while laying (lay and file are filled in by the caller)."""

    seats: Seats
    findings: tuple[Finding, ...] = ()
    gap_mm: float | None = None
    """The gap the lay keeps, where its settings let it come below the one asked; else None."""


LayFunction = Callable[[Ground, Kit, Any, Stream, Progress], Laid]


@dataclass(frozen=True)
class Way:
    """One way of laying: its name, settings, what it needs, and the function that lays."""

    name: str
    settings: type[WaySettings]
    needs: Literal["path", "region", "any"]
    fills: bool
    """Whether it fills regions: then it lays around earlier lays; else clashes are dropped."""
    mixes: bool
    """Whether shares make sense; else only a sequence."""
    lay: LayFunction
    help: str
    edges: bool = True
    """Whether it keeps a distance from an edge; what lies on a line has none."""
    rounds: bool = False
    """Whether its rows are laid anew around seats of earlier lays that are in their way."""
    blends: Literal["alike", "any", "own"] = "alike"
    """Where the mix changes from place to place, which pieces may change places once laid: those
    of one outline; any, since each place has room for the largest; or none, the way does it."""

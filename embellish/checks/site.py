"""What a check may look at: the layout, where it was to go, and the plans made from it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.catalogue.piece import Piece
from embellish.layout.layout import Layout
from embellish.plans.cloth import ClothSettings
from embellish.plans.garment import GarmentSettings
from embellish.plans.materials import MaterialsPlan
from embellish.plans.stitching.stitch import StitchPlan
from embellish.plans.templates.template import TemplatePlan


@dataclass(frozen=True, eq=False)
class Site:
    """Everything a rule may look at; a rule changes nothing.

    Parameters
    ----------
    layout
        All seats, in layout millimetres.
    regions
        For each lay, the region it fills, or None where it does not fill one.
    edges_mm
        For each lay, the margin asked to the region's edge.
    stitches, templates, materials
        Plans of the layout; without one, its rules keep silent.
    cloth, garment
        What is known of the cloth, and of who wears it.
    gaps_mm
        For each lay, the gap the job asks, where the layout's own is wider; empty for the same.
    stretched
        The layout as it is set, where the cloth is stretched on a board: the plans are of that.
    """

    layout: Layout
    regions: tuple[BaseGeometry | None, ...]
    edges_mm: tuple[float, ...]
    stitches: StitchPlan | None = None
    templates: TemplatePlan | None = None
    materials: MaterialsPlan | None = None
    cloth: ClothSettings = field(default_factory=ClothSettings)
    garment: GarmentSettings = field(default_factory=GarmentSettings)
    gaps_mm: tuple[float, ...] = ()
    stretched: Layout | None = None

    @property
    def as_set(self) -> Layout:
        """The layout in the state of the cloth in which pieces are set; the plans are of it."""
        return self.layout if self.stretched is None else self.stretched

    def pieces(self, lay: int) -> tuple[Piece, ...]:
        """Return the pieces that stand on a lay's seats, those of units too, each once."""
        layout = self.layout
        by_code = {piece.code: piece for piece in layout.pieces}
        found: dict[str, Piece] = {}
        for number in np.unique(layout.footprint[layout.rows(lay)]).tolist():
            if number < len(layout.pieces):
                piece = layout.pieces[number]
                found.setdefault(piece.code, piece)
                continue
            for member in layout.units[number - len(layout.pieces)].members:
                found.setdefault(member.piece, by_code[member.piece])
        return tuple(found.values())

    def where(self, seat: int) -> tuple[float, float]:
        """Return the place of a seat, to a thousandth of a millimetre."""
        x, y = np.round(self.layout.xy[seat], 3).tolist()
        return x, y

    def first_seat(self, lay: int, code: str) -> int:
        """Return the first seat of a lay on which a piece stands, alone or in a unit."""
        layout = self.layout
        carries = [piece.code == code for piece in layout.pieces] + [
            any(member.piece == code for member in unit.members) for unit in layout.units
        ]
        rows = layout.rows(lay)
        return int(rows[np.array(carries, dtype=np.bool_)[layout.footprint[rows]]][0])

    def heated(self, lay: int) -> bool:
        """Return whether a lay has pieces that are set with heat, in a press or by hand."""
        if not len(self.layout.rows(lay)):
            return False
        set_by = self.layout.lays[lay].set_by
        return set_by in PRESSED or (
            set_by == "hand" and any(piece.fixing == "heat-set" for piece in self.pieces(lay))
        )

    @property
    def sews(self) -> bool:
        """Whether any mark or alignment cross is sewn."""
        return self.stitches is not None and any(
            hooping.marks for hooping in self.stitches.hoopings
        )


PRESSED = ("template", "face-down")
"""How a lay is set whose pieces go under the press on a transfer sheet."""

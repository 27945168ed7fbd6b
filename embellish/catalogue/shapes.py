"""From pieces and units to outlines, footprints and how far they may be turned unseen."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Final, Literal

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.piece import Member, Piece, Unit
from embellish.errors import CatalogueError
from embellish.geometry.footprints import Footprint, Part
from embellish.geometry.outline_forms import navette, octagon, oval, own, pear, rectangle
from embellish.geometry.outlines import Outline, OutlineError, bounds, circle, scaled

Size = Literal["min", "nominal", "max"]

_SIZE_SLACK_MM: Final = 0.01
"""How far an outline may differ from the greatest size its piece gives."""

_CACHED: Final = 4096


def piece_outline(piece: Piece, at: Size = "max") -> Outline:
    """Return the outline of a piece about its centre, length along +x.

    A piece of its own outline has it at max size; at other sizes it is scaled by the smaller of
    the ratios of lengths and widths, since arcs stay arcs under one scale alone.

    Raises
    ------
    CatalogueError
        Where the form cannot have this size, or the piece's own outline is none.
    """
    return _outline(
        piece.code,
        piece.shape,
        (getattr(piece.length_mm, at), getattr(piece.width_mm, at)),
        (piece.length_mm.max, piece.width_mm.max),
        piece.outline_mm,
    )


@lru_cache(maxsize=_CACHED)
def _outline(
    code: str,
    shape: str,
    size_mm: tuple[float, float],
    max_mm: tuple[float, float],
    rows: tuple[tuple[float, float, float], ...],
) -> Outline:
    length, width = size_mm
    try:
        if shape == "outline":
            return _own_outline(rows, size_mm, max_mm)
        if shape == "round":
            return circle(length)
        forms = {"oval": oval, "navette": navette, "pear": pear, "octagon": octagon}
        return forms.get(shape, rectangle)(length, width)
    except OutlineError as wrong:
        raise CatalogueError(wrong.message, item=f"piece '{code}'", mend=wrong.mend) from wrong


def _own_outline(
    rows: tuple[tuple[float, float, float], ...],
    size_mm: tuple[float, float],
    max_mm: tuple[float, float],
) -> Outline:
    outline, _ = own(rows)
    x0, y0, x1, y1 = bounds(outline)
    if max(abs(x1 - x0 - max_mm[0]), abs(y1 - y0 - max_mm[1])) > _SIZE_SLACK_MM:
        raise OutlineError(
            f"its outline measures {x1 - x0:.2f} × {y1 - y0:.2f} mm, its greatest size is "
            f"{max_mm[0]:g} × {max_mm[1]:g} mm",
            mend="Draw the outline at max size, or correct the max of length_mm and width_mm.",
        )
    factor = min(size / most for size, most in zip(size_mm, max_mm, strict=True))
    return outline if factor == 1.0 else scaled(outline, factor)


def piece_footprint(piece: Piece) -> Footprint:
    """Return what a piece covers at max size, about its centre."""
    return Footprint.of(piece_outline(piece))


def unit_footprint(unit: Unit, pieces: Mapping[str, Piece]) -> Footprint:
    """Return what a unit covers at max size, about the centre of its members' bounds.

    A seat of a unit stands at that centre, so its members stand where those of `centred_unit`
    say, not where a unit off its own origin says.

    Raises
    ------
    CatalogueError
        For a member that is no piece.
    """
    return _unit_footprint(centred_unit(unit, pieces), pieces)


def centred_unit(unit: Unit, pieces: Mapping[str, Piece]) -> Unit:
    """Return the unit with its members moved so that their bounds are about the origin.

    Doing so twice changes nothing more. Layouts carry units so centred: a member's place is then
    the seat's, moved by the member's offset turned by the seat's angle.
    """
    x0, y0, x1, y1 = _unit_footprint(unit, pieces).bounds_mm
    # To the last digit that matters, so that a centred unit is left as it is.
    dx, dy = round((x0 + x1) / 2.0, 9), round((y0 + y1) / 2.0, 9)
    if dx == 0.0 and dy == 0.0:
        return unit
    members = tuple(
        member.model_copy(update={"dx_mm": member.dx_mm - dx, "dy_mm": member.dy_mm - dy})
        for member in unit.members
    )
    return unit.model_copy(update={"members": members})


def _unit_footprint(unit: Unit, pieces: Mapping[str, Piece]) -> Footprint:
    return Footprint.of(*(_part(unit, member, pieces) for member in unit.members))


def _part(unit: Unit, member: Member, pieces: Mapping[str, Piece]) -> Part:
    if member.piece not in pieces:
        raise CatalogueError(
            f"its member '{member.piece}' is not in the catalogues",
            item=f"unit '{unit.name}'",
            mend="Add the piece, or correct the member's code.",
        )
    outline = piece_outline(pieces[member.piece])
    return Part(outline, member.dx_mm, member.dy_mm, member.angle_deg)


def centred_piece(piece: Piece) -> Piece:
    """Return a piece of its own outline with outline and holes moved about the outline's centre.

    Outline and holes are drawn in one frame, wherever its origin; a seat is the centre.

    Raises
    ------
    CatalogueError
        Where the outline is none.
    """
    if piece.shape != "outline":
        return piece
    try:
        _, (x, y) = own(piece.outline_mm)
    except OutlineError as wrong:
        raise CatalogueError(
            wrong.message, item=f"piece '{piece.code}'", mend=wrong.mend
        ) from wrong
    x, y = round(x, 9), round(y, 9)
    if x == 0.0 and y == 0.0:
        return piece
    holes = tuple(
        hole.model_copy(update={"x_mm": hole.x_mm - x, "y_mm": hole.y_mm - y})
        for hole in piece.holes
    )
    rows = tuple((px - x, py - y, bulge) for px, py, bulge in piece.outline_mm)
    return piece.model_copy(update={"outline_mm": rows, "holes": holes})


def turn_symmetry_deg(piece: Piece) -> float:
    """Return the angle after which a piece looks the same: 0 for any angle, 360 for none.

    Where length and width are the same, an oval is round and a rectangle square.
    """
    even = piece.length_mm == piece.width_mm
    if piece.shape == "round" or (even and piece.shape in ("oval", "navette", "pear")):
        return 0.0
    if piece.shape in ("pear", "outline"):
        return 360.0
    if piece.shape == "square" or (even and piece.shape in ("rectangle", "octagon", "bugle")):
        return 90.0
    return 180.0


def reduced_angle(angle_deg: Floats, symmetry_deg: Floats | float) -> Floats:
    """Return angles of the same looks in [0, symmetry), 0 where any angle will do; broadcasts."""
    symmetry = np.asarray(symmetry_deg, dtype=np.float64)
    free = symmetry == 0.0
    reduced = np.mod(angle_deg, np.where(free, 1.0, symmetry))
    # A tiny negative angle leaves np.mod at the symmetry itself.
    reduced = np.where(free | (reduced >= symmetry), 0.0, reduced)
    return reduced + 0.0

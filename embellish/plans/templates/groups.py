"""Which pieces share a template.

Brushing goes code by code, the one with the largest hole first, until all its holes are filled.
While a code is brushed, its own holes and those of later codes are open: a piece drops wrongly
where its least size may enter a hole of a later code. Two codes for which that can happen are
kept apart; the fewest templates then are a smallest colouring of the graph of such pairs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.spatial.distance import pdist

from embellish.arrays import Bools, Ints
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_outline
from embellish.geometry.outlines import Outline, sampled
from embellish.layout.layout import Layout
from embellish.plans.templates.holes import hull_ring
from embellish.units import EPS_MM

_SAMPLED_MM: Final = 1e-3
_BUDGET: Final = 50_000
"""Steps of the exact search for the fewest templates; far more than a dozen codes take."""


@dataclass(frozen=True, slots=True)
class Extent:
    """Sizes that can only grow from a convex thing to one that holds it, in any turn."""

    width_mm: float
    diameter_mm: float
    area_mm2: float
    perimeter_mm: float

    def enters(self, hole: Extent) -> bool:
        """Return whether a thing of this extent may enter a hole: never a false no.

        What is inside another has no greater least width, diameter, area or hull length; so
        where one of them is greater, it cannot enter. For round on round this is exact.
        """
        slack = EPS_MM
        return (
            self.width_mm <= hole.width_mm + slack
            and self.diameter_mm <= hole.diameter_mm + slack
            and self.area_mm2 <= hole.area_mm2 + slack
            and self.perimeter_mm <= hole.perimeter_mm + slack
        )


def extent_of(outline: Outline, grown_mm: float = 0.0) -> Extent:
    """Return the extent of an outline's hull; grown_mm makes up for chords of a hole's arcs."""
    radius = outline.round_radius_mm
    if radius is not None:
        size = 2.0 * radius
        return Extent(size, size, float(np.pi) * radius * radius, float(np.pi) * size)
    corners = hull_ring(sampled(outline, _SAMPLED_MM))
    step = np.roll(corners, -1, axis=0) - corners
    sides = np.hypot(step[:, 0], step[:, 1])
    step = step / sides[:, None]
    off = corners[None, :, :] - corners[:, None, :]
    # The least width of a convex polygon is across one of its sides.
    across = np.abs(step[:, None, 0] * off[..., 1] - step[:, None, 1] * off[..., 0])
    ends = np.roll(corners, -1, axis=0)
    area = float((corners[:, 0] * ends[:, 1] - ends[:, 0] * corners[:, 1]).sum()) / 2.0
    around = float(sides.sum())
    return Extent(
        float(across.max(axis=1).min()) + 2.0 * grown_mm,
        float(pdist(corners).max()) + 2.0 * grown_mm,
        area + grown_mm * around + 4.0 * grown_mm * grown_mm,
        around + 2.0 * float(np.pi) * grown_mm,
    )


def hole_extent(outline: Outline) -> Extent:
    """Return the extent of a hole, never too small."""
    return extent_of(outline, 0.0 if outline.round_radius_mm is not None else _SAMPLED_MM)


def least_extents(layout: Layout) -> list[Extent]:
    """Return the extent of each footprint's piece at its least size; of a unit's largest member."""
    by_code = {piece.code: piece for piece in layout.pieces}
    own = [_least(piece) for piece in layout.pieces]
    for unit in layout.units:
        members = [_least(by_code[member.piece]) for member in unit.members]
        own.append(max(members, key=lambda extent: extent.area_mm2))
    return own


def _least(piece: Piece) -> Extent:
    return extent_of(piece_outline(piece, at="min"))


def brush_order(codes: list[str], holes: list[Extent]) -> list[int]:
    """Return the footprints in brush-in order: largest hole first, like ones by code."""
    return sorted(
        range(len(codes)), key=lambda index: (-round(holes[index].area_mm2, 6), codes[index])
    )


def wrong_drops(order: list[int], pieces: list[Extent], holes: list[Extent]) -> Bools:
    """Return for each pair (i, j) whether i, brushed before j, may drop into a hole of j."""
    drops = np.zeros((len(order), len(order)), dtype=np.bool_)
    for place, first in enumerate(order):
        for later in order[place + 1 :]:
            drops[first, later] = pieces[first].enters(holes[later])
    return drops


def fewest_classes(apart: Bools, order: list[int]) -> dict[int, int]:
    """Return a class for each member of ``order`` so that none shares one with what it must not.

    The fewest classes by branch and bound, where the budget allows (always for a dozen members);
    else the best found. Classes are numbered by their first member in ``order``.
    """
    both = apart | apart.T
    # Those with most conflicts first: the search then fails early.
    nodes = sorted(order, key=lambda node: (-int(both[node, order].sum()), order.index(node)))
    best: dict[int, int] = {node: index for index, node in enumerate(nodes)}
    count, steps = len(nodes), 0

    def place(index: int, chosen: dict[int, int], used: int) -> None:
        nonlocal best, count, steps
        steps += 1
        if used >= count or steps > _BUDGET:
            return
        if index == len(nodes):
            best, count = dict(chosen), used
            return
        node = nodes[index]
        for group in range(min(used + 1, count - 1)):
            if any(group == chosen[other] and both[node, other] for other in nodes[:index]):
                continue
            chosen[node] = group
            place(index + 1, chosen, max(used, group + 1))
            del chosen[node]

    place(0, {}, 0)
    names: dict[int, int] = {}
    return {node: names.setdefault(best[node], len(names)) for node in order}


def group_names(layout: Layout, rows: Ints, group: str) -> list[str]:
    """Return for each of the rows the name of its group, for groups the maker names.

    Parameters
    ----------
    layout
        Where the pieces stand.
    rows : array of shape (n,)
        Which seats.
    group
        'one', 'colour', 'size', 'lay' or 'area'.
    """
    if group == "one":
        return ["all"] * len(rows)
    if group == "lay":
        return [layout.lays[lay].id for lay in layout.lay[rows].tolist()]
    if group == "area":
        ids = layout.shape_ids
        return [ids[shape] if shape >= 0 else "no shape" for shape in layout.shape[rows].tolist()]
    say = _colour if group == "colour" else _size
    names = [say(piece) for piece in layout.pieces] + [unit.name for unit in layout.units]
    return [names[index] for index in layout.footprint[rows].tolist()]


def _colour(piece: Piece) -> str:
    return piece.colour or piece.hex


def _size(piece: Piece) -> str:
    if piece.length_mm == piece.width_mm:
        measured = f"{piece.length_mm.max:g} mm"
    else:
        measured = f"{piece.length_mm.max:g} x {piece.width_mm.max:g} mm"
    # Two makers' SS10 are two sizes: the label alone would mix them.
    return f"{piece.size} {measured}".strip()

"""Keep-outs: seams, zips, darts and whatever else no piece may touch, for every way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import lines_of, region_of
from embellish.findings import Finding
from embellish.geometry.containment import edge_clearance
from embellish.layout.layout import Layout
from embellish.layout.ranked import Ranked

_LINE_MM = 0.005
"""How far the flattened line of a seam may stray from its curve."""
_QUARTER = 32
"""Segments of a quarter circle where a margin goes round a corner; grown to be on the safe side."""


def keep_out_of(shapes: Sequence[Shape], margin_mm: float) -> BaseGeometry:
    """Return the ground that shapes keep free, with a margin, in artwork millimetres.

    A filled or closed shape keeps its inside free, a line itself; a line without a margin keeps a
    hair's breadth, so that pieces do not stand on it.
    """
    parts: list[BaseGeometry] = []
    for shape in shapes:
        if shape.kind == "region":
            parts.append(region_of(shape))
        else:
            parts += [shapely.LineString(line.points) for line in lines_of(shape, _LINE_MM)]
    grown = max(margin_mm, _LINE_MM) / np.cos(np.pi / (4 * _QUARTER))
    return shapely.union_all(shapely.buffer(np.array(parts), grown, quad_segs=_QUARTER))


def clear_of(layout: Layout, keep_out: BaseGeometry) -> Bools:
    """Return which seats stand clear of a keep-out, by their true outlines, shape (n,)."""
    clear = np.ones(len(layout), dtype=np.bool_)
    near = np.flatnonzero(_away(layout.xy, keep_out) <= layout.reach_mm)
    if len(near):
        # All that is free, in a frame wide enough never to matter.
        x0, y0, x1, y1 = shapely.total_bounds(np.array([keep_out]))
        wide = 4.0 * float(layout.reach_mm.max()) + 10.0
        free = shapely.box(x0 - wide, y0 - wide, x1 + wide, y1 + wide).difference(keep_out)
        clear[near] = (
            edge_clearance(
                layout.xy[near],
                layout.angle_deg[near],
                layout.footprint[near],
                layout.footprints,
                free,
            )
            >= 0.0
        )
    return clear


def without_kept_out(
    ranked: Ranked, keep_out: BaseGeometry | None
) -> tuple[Ranked, tuple[Finding, ...]]:
    """Return the seats without those that touch a keep-out, nor their twins; a finding a lay.

    What was set by hand goes too: a needle or an iron on a zip spares nobody's wishes.
    """
    if keep_out is None or keep_out.is_empty or not len(ranked):
        return ranked, ()
    layout = ranked.layout
    clear = ~ranked.with_twins(~clear_of(layout, keep_out))
    if clear.all():
        return ranked, ()
    findings = []
    for lay in np.unique(layout.lay[~clear]).tolist():
        gone = np.flatnonzero(~clear & (layout.lay == lay))
        x, y = layout.xy[gone[0]].tolist()
        count = "1 seat was" if len(gone) == 1 else f"{len(gone)} seats were"
        findings.append(
            Finding(
                "kept-out",
                "note",
                f"{count} left out of '{layout.lays[lay].id}' for the keep-outs",
                (x, y),
                layout.lays[lay].id,
            )
        )
    return ranked.taken(np.flatnonzero(clear)), tuple(findings)


def _away(xy: Floats, keep_out: BaseGeometry) -> Floats:
    shapely.prepare(keep_out)
    away: Floats = np.asarray(shapely.distance(shapely.points(xy), keep_out), dtype=np.float64)
    return away

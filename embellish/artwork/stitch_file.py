"""Stitch files as artwork: running lines are paths, fills and satins regions, by colour block.

Where thread lies close it is a fill. Blocks are drawn as thread on a fine raster, what is thinner
than a satin is taken away again, and the edge of what stays is brought back to the needle points;
runs, or parts of them, that do not lie in it are lines.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, Final

import numpy as np
import scipy
import shapely
from PIL import Image, ImageDraw

from embellish.arrays import Floats
from embellish.artwork.artwork import Artwork, Path, Shape
from embellish.artwork.level_regions import regions_above
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.stitches import STITCH, StitchDesign, ThreadBlock, decode, noticed_in
from embellish.geometry.curves import line_segments
from embellish.geometry.transforms import Affine

THREAD_MM: Final = 0.4
"""Width of the usual thread, weight 40 (common practice, no source)."""

_PX_MM: Final = 0.1
_MOST_PX: Final = 5_000
_CLOSES_MM: Final = 0.35
"""Rows of a fill lie up to 0.5 mm apart: gaps up to twice this between threads are closed."""

_OPENS_MM: Final = 0.45
"""What is thinner than twice this is a line, not a satin."""

_EVENS_MM: Final = 0.8
_LEAST_MM2: Final = 1.0
_LEAST_LINE_MM: Final = 2.0
_SIMPLE_MM: Final = 0.03


def read_stitches(data: bytes, name: str) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read a machine stitch file at its true size.

    Parameters
    ----------
    data
        The file's bytes.
    name
        The file's name; its ending says which format it is.

    Returns
    -------
    artwork, findings
        ``block-N`` finds all of a colour block, ``.fill`` its regions, ``.line`` its lines; the
        page holds all needle points.

    Raises
    ------
    ArtworkError
        Where it is no whole design, or has no stitches.
    """
    extension = name.rpartition(".")[2].lower()
    design = decode(data, extension, file=name)
    bounds = design.bounds_mm()
    if bounds is None:
        raise ArtworkError("there is no stitch in this design", file=name, mend="Use another.")
    move = Affine.move(-bounds[0], -bounds[1])
    size = (bounds[2] - bounds[0], bounds[3] - bounds[1])
    shapes = [shape.mapped(move) for shape in _shapes(design, size)]
    if not shapes:
        raise ArtworkError(
            "its stitches make no line and no fill", file=name, mend="Use another design."
        )
    return Artwork(tuple(shapes), size, sized=True), tuple(_told(design, extension, name, shapes))


def _told(
    design: StitchDesign, extension: str, name: str, shapes: list[Shape]
) -> Iterator[Finding]:
    for finding in noticed_in(design, extension, name):
        yield Finding(
            finding.code.replace("base", "stitches"),
            finding.severity,
            finding.message,
            mend=finding.mend,
        )
    fills = sum("fill" in shape.classes for shape in shapes)
    yield Finding(
        "stitches-traced",
        "note",
        f"{fills} fills and {len(shapes) - fills} lines were found in its stitches",
        mend="Look at them with look --picture before you lay pieces on them.",
    )


def _shapes(design: StitchDesign, size: tuple[float, float]) -> Iterator[Shape]:
    px = max(_PX_MM, max(size) / _MOST_PX)
    for number, block in enumerate(design.blocks, 1):
        runs = list(_runs(block))
        if not runs:
            continue
        # The libraries let go of the interpreter while they work; the order stays.
        with ThreadPoolExecutor(min(4, os.cpu_count() or 1)) as pool:
            fills = list(pool.map(partial(_fill, px=px), _apart(runs)))
        region = shapely.union_all(fills)
        parts = [each for each in shapely.get_parts(region) if each.area >= _LEAST_MM2]
        block_id = f"block-{number}"
        for k, part in enumerate(parts, 1):
            rings = shapely.get_rings(part)
            edges = [Path(line_segments(shapely.get_coordinates(r)), closed=True) for r in rings]
            yield _shape(f"{block_id}-fill-{k}", block_id, block, tuple(edges), fills=True)
        filled = shapely.union_all(parts).buffer(THREAD_MM) if parts else shapely.Polygon()
        for k, line in enumerate(_lines(runs, filled), 1):
            path = Path(line_segments(line), closed=bool(np.array_equal(line[0], line[-1])))
            yield _shape(f"{block_id}-line-{k}", block_id, block, (path,), fills=False)


def _shape(
    name: str, block_id: str, block: ThreadBlock, paths: tuple[Path, ...], *, fills: bool
) -> Shape:
    return Shape(
        id=name,
        layer=block.name or block_id,
        classes=("fill" if fills else "line",),
        fill=block.hex if fills else None,
        stroke=None if fills else block.hex,
        stroke_width_mm=0.0 if fills else THREAD_MM,
        fill_rule="evenodd",
        paths=paths,
        groups=(block_id,),
    )


def _runs(block: ThreadBlock) -> Iterator[Floats]:
    """Yield a block's runs of thread; jumps and trims part them, stitches on the spot are one."""
    for rows in np.split(np.arange(len(block.kind)), np.flatnonzero(block.kind != STITCH)):
        points = block.xy[rows[block.kind[rows] == STITCH]]
        steps = np.hypot(*np.diff(points, axis=0).T) if len(points) > 1 else np.zeros(0)
        points = points[np.concatenate([[True], steps > 1e-6])] if len(points) else points
        if len(points) > 1:
            yield points


def _apart(runs: list[Floats]) -> Iterator[list[Floats]]:
    """Yield runs together that lie too near each other to be drawn apart."""
    bounds = np.array([(*run.min(axis=0), *run.max(axis=0)) for run in runs])
    grown = bounds + np.array([-1.0, -1.0, 1.0, 1.0]) * (THREAD_MM + _CLOSES_MM + _EVENS_MM)
    boxes = shapely.box(*grown.T)
    parts = shapely.get_parts(shapely.union_all(boxes))
    of_part, members = shapely.STRtree(np.asarray(shapely.centroid(boxes))).query(
        parts, "intersects"
    )
    for k in range(len(parts)):
        yield [runs[n] for n in np.sort(members[of_part == k]).tolist()]


def _fill(runs: list[Floats], px: float) -> shapely.Geometry:
    """Return what a block fills: thread where it lies close, drawn in to the needle points."""
    every = np.concatenate(runs)
    margin = 2.0 * (THREAD_MM + _CLOSES_MM) + 4.0 * px
    low = every.min(axis=0) - margin
    width, height = np.ceil((every.max(axis=0) + margin - low) / px).astype(int).tolist()
    image = Image.new("L", (width, height))
    pen = ImageDraw.Draw(image)
    for run in runs:
        pen.line([tuple(p) for p in ((run - low) / px - 0.5).tolist()], fill=255, width=1)
    # Thread is round: as wide beside a stitch as beyond its ends.
    away = scipy.ndimage.distance_transform_edt(np.asarray(image) < 128)
    closed = _shrunk(away <= (THREAD_MM / 2.0 + _CLOSES_MM) / px, _CLOSES_MM / px)
    core = _shrunk(closed, _OPENS_MM / px)
    if not core.any():
        return shapely.Polygon()
    opened = ~_shrunk(~core, _OPENS_MM / px)
    found = regions_above(scipy.ndimage.gaussian_filter(opened.astype(np.float64), 1.0), 0.5)
    grown = Affine.move(*low.tolist()) @ Affine.scale(px)
    whole = shapely.transform(shapely.union_all(found), grown)
    # Between the ends of its rows an edge is drawn straight, so that a row of pieces runs evenly.
    edge = whole.buffer(_EVENS_MM - THREAD_MM / 2.0).buffer(-_EVENS_MM)
    return edge.simplify(_SIMPLE_MM)


def _shrunk(mask: Any, by_px: float) -> Any:
    """Return a mask less all within a distance of its edge."""
    return scipy.ndimage.distance_transform_edt(mask) > by_px


def _lines(runs: list[Floats], filled: shapely.Geometry) -> Iterator[Floats]:
    """Yield what of runs lies outside of fills, in their order."""
    for run in runs:
        rest = shapely.LineString(run).difference(filled)
        parts = shapely.get_parts(shapely.line_merge(rest))
        for part in parts:
            if part.length >= _LEAST_LINE_MM:
                yield shapely.get_coordinates(part)

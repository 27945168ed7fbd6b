"""Where lays may go: the page, the job's transform, shapes selected, keep-outs, ground taken."""

from __future__ import annotations

import numpy as np
from shapely import unary_union
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import region_of
from embellish.artwork.selecting import select
from embellish.errors import ArtworkError, EmbellishError
from embellish.geometry.transforms import Affine
from embellish.job.model import Job, LayTable
from embellish.layout.keep_out import keep_out_of
from embellish.layout.layout import Layout
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Ground, Occupied


def page_of(artwork: Artwork) -> tuple[float, float]:
    """Return the page's size in mm, or that of all shapes' bounds where there is no page."""
    if artwork.page is not None:
        return artwork.page
    bounds = artwork.bounds()
    return (0.0, 0.0) if bounds is None else (bounds[2], bounds[3])


def job_transform(job: Job, page_mm: tuple[float, float]) -> Affine:
    """Return the rigid map of the job: mirror, then turn, about the page's centre."""
    x, y = page_mm[0] / 2.0, page_mm[1] / 2.0
    mirror = Affine.mirror_x(x) if job.artwork.mirror else Affine()
    return Affine.turn(job.artwork.rotate_deg, x, y) @ mirror


def keep_outs(job: Job, artwork: Artwork) -> BaseGeometry | None:
    """Return all that the job's keep-outs keep free, or None where it has none."""
    if not job.keep_out:
        return None
    try:
        return unary_union(
            [keep_out_of(select(artwork, each.shapes), each.margin_mm) for each in job.keep_out]
        )
    except EmbellishError as wrong:
        raise wrong.within(item="keep_out") from wrong


def ground_of(
    lay: LayTable,
    shapes: tuple[Shape, ...],
    before: Layout,
    job: Job,
    keep_out: BaseGeometry | None,
) -> Ground:
    """Return the ground of a lay: its shapes, what stands, for a fill what is kept out."""
    if WAYS[lay.way].rounds:
        return Ground(shapes, _occupied(before, lay), keep_out, before.to_set)
    if not WAYS[lay.way].fills:
        return Ground(shapes)
    still = not (job.artwork.mirror or job.artwork.rotate_deg)
    return Ground(shapes, _occupied(before, lay), keep_out, as_laid=still)


def _occupied(before: Layout, lay: LayTable) -> Occupied:
    """Return the seats of earlier lays, each with the larger of the two lays' gaps."""
    gaps = np.array([each.gap_mm for each in before.lays], dtype=np.float64)
    return Occupied(
        before.xy,
        before.angle_deg,
        before.footprint,
        before.footprints,
        np.maximum(gaps[before.lay], lay.gap_mm) if len(before) else np.zeros(0),
    )


def filled_region(
    lay: LayTable, shapes: tuple[Shape, ...], to_layout: Affine
) -> BaseGeometry | None:
    """Return the region a lay fills, in layout millimetres, or None where it fills none."""
    if not WAYS[lay.way].fills:
        return None
    region = unary_union([region_of(shape) for shape in shapes])
    a, b, c, d, e, f = to_layout.as_list()
    return affine_transform(region, [a, c, b, d, e, f])


def selected(lay: LayTable, artwork: Artwork, marks: tuple[Shape, ...] = ()) -> tuple[Shape, ...]:
    """Return the shapes of a lay; ``*`` leaves out the garment's marks, and an error names the lay.

    Raises
    ------
    ArtworkError
        Where there is none.
    """
    try:
        found = select(artwork, lay.shapes)
        if lay.shapes.strip() == "*":
            found = tuple(shape for shape in found if shape not in marks)
        if not found:
            raise ArtworkError(
                "every shape is a mark of the garment",
                mend="Name under [garment] marks only what no piece is to go on.",
            )
    except EmbellishError as wrong:
        raise wrong.within(item=f"lay '{lay.id}'") from wrong
    return found

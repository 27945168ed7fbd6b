"""From job, artwork and catalogue to the layout: the pipeline, always in the same order.

Lay in artwork scale, before rotation and mirroring, so that turning the artwork turns the layout
exactly -> hand edits -> clashes -> holes filled -> settling where asked -> map by the transform ->
round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.selecting import select
from embellish.catalogue.catalogue import Catalogue
from embellish.errors import EmbellishError
from embellish.findings import Finding
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.job.editing import looked_up
from embellish.job.finishing import finished
from embellish.job.frames import Frames, placed
from embellish.job.grounds import filled_region, job_transform, keep_outs, page_of, selected
from embellish.job.keeping import Kept, kept_layout
from embellish.job.lay_memory import LayMemory
from embellish.job.model import Job
from embellish.job.one_lay import Site, lay_one
from embellish.job.seating import empty_layout, reduced
from embellish.job.sorts import Sorts
from embellish.job.stretching import with_room
from embellish.job.symmetry import is_symmetric, without_image
from embellish.layout.edits import Mirrors, edited
from embellish.layout.layout import Layout
from embellish.layout.mirroring import images_of
from embellish.layout.ranked import Ranked
from embellish.layout.symmetry import Axis
from embellish.layout.ways.way import Progress, no_progress


@dataclass(frozen=True, eq=False)
class Bedded:
    """A layout with what the checks need to know of where its lays were to go.

    Parameters
    ----------
    layout
        The layout, mapped and rounded.
    regions
        For each lay, the region it fills in layout millimetres, or None for other ways.
    edges_mm
        For each lay, the edge margin asked.
    shapes
        The artwork's shapes in layout millimetres, for pictures; garment marks are not among them.
    garment_marks
        The shapes that show the garment's own lines.
    gaps_mm
        For each lay, the gap the job asks; the layout's own may be wider, for cloth that narrows.
    seated
        The seats as they were laid, in artwork scale and before rounding, with the edit and the
        twin of each; row by row those of the layout. None where the places were kept.
    to_layout
        From artwork to layout millimetres.
    """

    layout: Layout
    regions: tuple[BaseGeometry | None, ...]
    edges_mm: tuple[float, ...]
    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...]
    garment_marks: tuple[Shape, ...] = ()
    gaps_mm: tuple[float, ...] = ()
    seated: Ranked | None = None
    to_layout: Affine = IDENTITY


def lay_job(
    job: Job,
    artwork: Artwork,
    catalogue: Catalogue,
    progress: Callable[[str], Progress] = lambda _: no_progress,
    *,
    kept: Kept | None = None,
    partner: bool = False,
    memory: LayMemory | None = None,
) -> Bedded:
    """Lay every lay of the job on sized artwork, or take the places that were kept.

    Parameters
    ----------
    partner
        Whether to lay the other one of a pair: the mirror image, but for what reads right.
    memory
        What earlier layings of the same artwork came to; this one is added to it.

    Raises
    ------
    JobError, ArtworkError, CatalogueError
        For what the user must mend.
    """
    sorts = Sorts.of(job, catalogue)
    asked = tuple(lay.gap_mm for lay in job.lay)
    job, widened = with_room(job, sorts)
    page = page_of(artwork)
    empty = empty_layout(sorts, job, tuple(shape.id for shape in artwork.shapes), page)
    marks = _garment_marks(job, artwork)
    chosen = [selected(lay, artwork, marks) for lay in job.lay]
    drawn_to = job_transform(job, page)
    to_layout = Affine.mirror_x(page[0] / 2.0) @ drawn_to if partner else drawn_to
    board = IDENTITY if job.cloth.as_set.relaxed else job.cloth.as_set.map(page)
    frames = Frames.reading_right(artwork, job.reads_right, drawn_to, mirrored=partner)
    images = images_of(sorts.pieces, sorts.units, sorts.footprints)
    standing = replace(artwork, shapes=frames.placed_shapes(artwork))
    site = Site(job, artwork, sorts, page, keep_outs(job, standing), frames, images)
    findings: list[Finding] = []
    seated: Ranked | None = None
    if kept is not None:
        layout = replace(kept_layout(empty, kept), to_set=board)
        findings, widened = list(kept.findings), ()
    else:
        empty = replace(empty, to_set=board.seen_through(to_layout.inverse()))
        seated, findings = _laid_afresh(site, empty, chosen, progress, memory)
        layout = reduced(seated.layout.mapped(to_layout), sorts).rounded()
        findings = [moved_finding(finding, to_layout) for finding in findings]
        findings.extend(_without_images(site, layout, mirrored=to_layout.mirrors))
    stand = {id(drawn): shape for drawn, shape in zip(artwork.shapes, standing.shapes, strict=True)}
    return Bedded(
        layout,
        tuple(
            filled_region(lay, tuple(stand[id(shape)] for shape in shapes), to_layout)
            for lay, shapes in zip(job.lay, chosen, strict=True)
        ),
        tuple(lay.edge_mm for lay in job.lay),
        tuple(stand[id(shape)].mapped(to_layout) for shape in artwork.shapes if shape not in marks),
        (*findings, *widened),
        tuple(stand[id(shape)].mapped(to_layout) for shape in marks),
        tuple(min(gap, lay.gap_mm) for gap, lay in zip(asked, layout.lays, strict=True)),
        seated,
        to_layout,
    )


def _garment_marks(job: Job, artwork: Artwork) -> tuple[Shape, ...]:
    if job.garment.marks is None:
        return ()
    try:
        return select(artwork, job.garment.marks)
    except EmbellishError as wrong:
        raise wrong.within(item="garment") from wrong


def _laid_afresh(
    site: Site,
    layout: Layout,
    chosen: list[tuple[Shape, ...]],
    progress: Callable[[str], Progress],
    memory: LayMemory | None,
) -> tuple[Ranked, list[Finding]]:
    """Return all lays laid in artwork scale, edited and clear of each other."""
    ranked = Ranked.of(layout)
    axes: dict[tuple[int, int], Axis] = {}
    findings: list[Finding] = []
    empty = layout
    for number, (lay, shapes) in enumerate(zip(site.job.lay, chosen, strict=True)):
        known = memory.recall(site, empty, number) if memory is not None else None
        try:
            laid = known or lay_one(
                site, number, shapes, ranked, progress(f"laying {lay.name or lay.id}")
            )
        except EmbellishError as wrong:
            raise wrong.within(item=f"lay '{lay.id}'") from wrong
        if memory is not None and known is None:
            memory.keep(site, empty, number, laid)
        ranked = laid.ranked
        axes |= laid.axes
        findings.extend(laid.findings)
    # Edits claim seats where they were drawn; a frame of its own moves them with its seats.
    edits = looked_up(site.job, site.artwork, site.sorts, site.page_mm)
    ranked, told = edited(ranked, edits, Mirrors(axes, site.sorts.turns))
    findings.extend(told)
    ranked = placed(site.frames, ranked)
    share = progress("clearing what stands too near, and evening out")
    ranked, last = finished(site, ranked, chosen, edits, share)
    return ranked, [*findings, *last]


def _without_images(site: Site, layout: Layout, *, mirrored: bool) -> Iterator[Finding]:
    """Tell of pieces that are to be mirrored and have no mirror image, once a lay and piece."""
    for number, lay in enumerate(site.job.lay):
        if not mirrored and not is_symmetric(site.job, lay):
            continue
        for sort in np.unique(layout.footprint[layout.rows(number)]).tolist():
            if not site.images[sort].exact:
                code = list(site.sorts.names)[sort]
                yield without_image(code, site.images[sort], lay.id)


def moved_finding(finding: Finding, affine: Affine) -> Finding:
    """Return a finding with its place mapped, to a thousandth of a millimetre."""
    if finding.where_mm is None:
        return finding
    x, y = np.round(affine(np.array(finding.where_mm)), 3).tolist()
    return replace(finding, where_mm=(x, y))

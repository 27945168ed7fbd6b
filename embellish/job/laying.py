"""From job, artwork and catalogue to the layout: the pipeline, always in the same order.

Lay in artwork scale, before rotation and mirroring, so that turning the artwork turns the layout
exactly -> hand edits -> clashes -> map by the job's transform -> round.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.selecting import select
from embellish.catalogue.catalogue import Catalogue
from embellish.errors import EmbellishError
from embellish.findings import Finding
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.job.editing import looked_up
from embellish.job.grounds import (
    filled_region,
    ground_of,
    job_transform,
    keep_outs,
    page_of,
    selected,
)
from embellish.job.keeping import Kept, kept_layout
from embellish.job.model import Job, LayTable
from embellish.job.seating import empty_layout, reduced, with_gap, with_seats
from embellish.job.sorts import Sorts
from embellish.job.stretching import with_room
from embellish.layout.clashes import without_clashes
from embellish.layout.edits import edited
from embellish.layout.keep_out import without_kept_out
from embellish.layout.layout import Layout
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import (
    Ground,
    Kit,
    Laid,
    Progress,
    no_progress,
)


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
    """

    layout: Layout
    regions: tuple[BaseGeometry | None, ...]
    edges_mm: tuple[float, ...]
    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...]
    garment_marks: tuple[Shape, ...] = ()
    gaps_mm: tuple[float, ...] = ()


def lay_job(
    job: Job,
    artwork: Artwork,
    catalogue: Catalogue,
    progress: Callable[[str], Progress] = lambda _: no_progress,
    *,
    kept: Kept | None = None,
) -> Bedded:
    """Lay every lay of the job on sized artwork, or take the places that were kept.

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
    chosen = [selected(lay, artwork) for lay in job.lay]
    marks = _garment_marks(job, artwork)
    to_layout = job_transform(job, page)
    findings: list[Finding] = []
    if kept is not None:
        layout = kept_layout(empty, kept)
        findings, widened = list(kept.findings), ()
    else:
        layout, findings = _laid_afresh(job, artwork, sorts, empty, chosen, progress)
        layout = reduced(layout.mapped(to_layout), sorts).rounded()
        findings = [moved_finding(finding, to_layout) for finding in findings]
    return Bedded(
        layout,
        tuple(
            filled_region(lay, shapes, to_layout)
            for lay, shapes in zip(job.lay, chosen, strict=True)
        ),
        tuple(lay.edge_mm for lay in job.lay),
        tuple(shape.mapped(to_layout) for shape in artwork.shapes if shape not in marks),
        (*findings, *widened),
        tuple(shape.mapped(to_layout) for shape in marks),
        tuple(min(gap, lay.gap_mm) for gap, lay in zip(asked, layout.lays, strict=True)),
    )


def _garment_marks(job: Job, artwork: Artwork) -> tuple[Shape, ...]:
    if job.garment.marks is None:
        return ()
    try:
        return select(artwork, job.garment.marks)
    except EmbellishError as wrong:
        raise wrong.within(item="garment") from wrong


def _laid_afresh(
    job: Job,
    artwork: Artwork,
    sorts: Sorts,
    layout: Layout,
    chosen: list[tuple[Shape, ...]],
    progress: Callable[[str], Progress],
) -> tuple[Layout, list[Finding]]:
    """Return all lays laid in artwork scale, edited and clear of each other."""
    index_of = {id(shape): index for index, shape in enumerate(artwork.shapes)}
    weight = np.zeros(0)
    findings: list[Finding] = []
    keep_out = keep_outs(job, artwork)
    for number, (lay, shapes) in enumerate(zip(job.lay, chosen, strict=True)):
        ground = ground_of(lay, shapes, layout, job, keep_out)
        try:
            laid = _lay_one(lay, ground, sorts, job, progress(f"laying {lay.name or lay.id}"))
        except EmbellishError as wrong:
            raise wrong.within(item=f"lay '{lay.id}'") from wrong
        seats = laid.seats
        findings.extend(replace(finding, lay=lay.id) for finding in laid.findings)
        if laid.gap_mm is not None:
            layout = with_gap(layout, number, laid.gap_mm)
        of_kit = np.array([sorts.names[code] for code in lay.codes], dtype=np.int64)
        of_shapes = np.array([index_of[id(shape)] for shape in shapes], dtype=np.int64)
        layout = with_seats(layout, seats, number, of_kit, of_shapes, sorts)
        weight = np.concatenate([weight, seats.weight])
    by_hand = edited(layout, weight, looked_up(job, artwork, sorts, page_of(artwork)))
    findings.extend(by_hand.findings)
    layout, weight, hand, kept_out = without_kept_out(
        by_hand.layout, by_hand.weight, keep_out, by_hand.by_hand
    )
    findings.extend(kept_out)
    layout, _, dropped = without_clashes(layout, weight, by_hand=hand)
    findings.extend(dropped)
    return layout, findings


def _lay_one(lay: LayTable, ground: Ground, sorts: Sorts, job: Job, progress: Progress) -> Laid:
    way = WAYS[lay.way]
    indices = [sorts.names[code] for code in lay.codes]
    kit = Kit(
        footprints=tuple(sorts.footprints[index] for index in indices),
        turns=tuple(sorts.turns[index] for index in indices),
        shares=lay.shares,
        gap_mm=lay.gap_mm,
        edge_mm=lay.edge_mm,
    )
    return way.lay(ground, kit, lay.settings, Stream.of(job.seed, lay.id), progress)


def moved_finding(finding: Finding, affine: Affine) -> Finding:
    """Return a finding with its place mapped, to a thousandth of a millimetre."""
    if finding.where_mm is None:
        return finding
    x, y = np.round(affine(np.array(finding.where_mm)), 3).tolist()
    return replace(finding, where_mm=(x, y))

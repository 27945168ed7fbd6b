"""From job, artwork and catalogue to the layout: the pipeline, always in the same order.

Lay in artwork scale, before rotation and mirroring, so that turning the artwork turns the layout
exactly -> hand edits -> clashes -> map by the job's transform -> round.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from shapely import unary_union
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Ints
from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import region_of
from embellish.artwork.selecting import select
from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.shapes import (
    reduced_angle,
)
from embellish.errors import EmbellishError
from embellish.findings import Finding
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.job.editing import looked_up
from embellish.job.keeping import Kept, kept_layout
from embellish.job.model import Job, LayTable
from embellish.job.sorts import Sorts
from embellish.layout.clashes import without_clashes
from embellish.layout.edits import edited
from embellish.layout.keep_out import keep_out_of, without_kept_out
from embellish.layout.layout import Lay, Layout, Mark, SetBy
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import (
    Ground,
    Kit,
    Laid,
    Occupied,
    Progress,
    Seats,
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
        The artwork's shapes in layout millimetres, for pictures.
    """

    layout: Layout
    regions: tuple[BaseGeometry | None, ...]
    edges_mm: tuple[float, ...]
    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...]


def job_transform(job: Job, page_mm: tuple[float, float]) -> Affine:
    """Return the rigid map of the job: mirror, then turn, about the page's centre."""
    x, y = page_mm[0] / 2.0, page_mm[1] / 2.0
    mirror = Affine.mirror_x(x) if job.artwork.mirror else Affine()
    return Affine.turn(job.artwork.rotate_deg, x, y) @ mirror


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
    page = page_of(artwork)
    empty = _empty(sorts, job, tuple(shape.id for shape in artwork.shapes), page)
    selected = [_selected(lay, artwork) for lay in job.lay]
    to_layout = job_transform(job, page)
    findings: list[Finding] = []
    if kept is not None:
        layout = kept_layout(empty, kept)
    else:
        layout, findings = _laid_afresh(job, artwork, sorts, empty, selected, progress)
        layout = _reduced(layout.mapped(to_layout), sorts).rounded()
        findings = [_moved(finding, to_layout) for finding in findings]
    return Bedded(
        layout,
        tuple(
            _region(lay, shapes, to_layout) for lay, shapes in zip(job.lay, selected, strict=True)
        ),
        tuple(lay.edge_mm for lay in job.lay),
        tuple(shape.mapped(to_layout) for shape in artwork.shapes),
        tuple(findings),
    )


def _selected(lay: LayTable, artwork: Artwork) -> tuple[Shape, ...]:
    try:
        return select(artwork, lay.shapes)
    except EmbellishError as wrong:
        raise wrong.within(item=f"lay '{lay.id}'") from wrong


def _laid_afresh(
    job: Job,
    artwork: Artwork,
    sorts: Sorts,
    layout: Layout,
    selected: list[tuple[Shape, ...]],
    progress: Callable[[str], Progress],
) -> tuple[Layout, list[Finding]]:
    """Return all lays laid in artwork scale, edited and clear of each other."""
    index_of = {id(shape): index for index, shape in enumerate(artwork.shapes)}
    weight = np.zeros(0)
    findings: list[Finding] = []
    keep_out = _keep_out(job, artwork)
    for number, (lay, shapes) in enumerate(zip(job.lay, selected, strict=True)):
        ground = _ground(lay, shapes, layout, job, keep_out)
        try:
            laid = _lay_one(lay, ground, sorts, job, progress(lay.name or lay.id))
        except EmbellishError as wrong:
            raise wrong.within(item=f"lay '{lay.id}'") from wrong
        seats = laid.seats
        findings.extend(replace(finding, lay=lay.id) for finding in laid.findings)
        if laid.gap_mm is not None:
            layout = _with_gap(layout, number, laid.gap_mm)
        chosen = np.array([sorts.names[code] for code in lay.codes], dtype=np.int64)
        of_shapes = np.array([index_of[id(shape)] for shape in shapes], dtype=np.int64)
        layout = _with_seats(layout, seats, number, chosen, of_shapes, sorts)
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


def page_of(artwork: Artwork) -> tuple[float, float]:
    """Return the page's size in mm, or that of all shapes' bounds where there is no page."""
    if artwork.page is not None:
        return artwork.page
    bounds = artwork.bounds()
    return (0.0, 0.0) if bounds is None else (bounds[2], bounds[3])


def default_set_by(fixings: set[str], *, every_round: bool) -> SetBy:
    """Return how pieces get to their places where the lay does not say (see DESIGN of lays).

    Round heat-set stones brush into a template; other heat-set shapes do not brush in turned
    right, so they go face down; what is sewn on is sewn, what is glued is set by hand.
    """
    if "sew-on" in fixings:
        return "sewn"
    if "glue" in fixings:
        return "hand"
    return "template" if every_round else "face-down"


def default_mark(set_by: SetBy, way: str, greatest_mm: float) -> Mark:
    """Return how seats are shown where the lay does not say.

    None under template stones (thread weakens the bond and tips the stone); sewn pieces each
    from 3 mm up, below that a line along rows and an outline about fills.
    """
    if set_by in ("template", "face-down"):
        return "none"
    if set_by == "hand" or greatest_mm >= 3.0:
        return "each"
    return "outline" if WAYS[way].fills else "line"


def _keep_out(job: Job, artwork: Artwork) -> BaseGeometry | None:
    if not job.keep_out:
        return None
    try:
        return unary_union(
            [keep_out_of(select(artwork, each.shapes), each.margin_mm) for each in job.keep_out]
        )
    except EmbellishError as wrong:
        raise wrong.within(item="keep_out") from wrong


def _ground(
    lay: LayTable,
    shapes: tuple[Shape, ...],
    before: Layout,
    job: Job,
    keep_out: BaseGeometry | None,
) -> Ground:
    if not WAYS[lay.way].fills:
        return Ground(shapes)
    still = not (job.artwork.mirror or job.artwork.rotate_deg)
    return Ground(shapes, _occupied(before, lay), keep_out, as_laid=still)


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


def _with_gap(layout: Layout, number: int, gap_mm: float) -> Layout:
    lays = list(layout.lays)
    lays[number] = replace(lays[number], gap_mm=gap_mm)
    return replace(layout, lays=tuple(lays))


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


def _empty(sorts: Sorts, job: Job, shape_ids: tuple[str, ...], page: tuple[float, float]) -> Layout:
    none, no = np.zeros(0), np.zeros(0, dtype=np.int64)
    count = len(sorts.pieces)
    return Layout(
        pieces=sorts.pieces,
        units=sorts.units,
        piece_footprints=sorts.footprints[:count],
        unit_footprints=sorts.footprints[count:],
        lays=tuple(lay_record(lay, sorts) for lay in job.lay),
        shape_ids=shape_ids,
        xy=np.zeros((0, 2)),
        angle_deg=none,
        piece=no,
        unit=no,
        lay=no,
        shape=no,
        row=no,
        u=none,
        page_mm=page,
    )


def lay_record(lay: LayTable, sorts: Sorts) -> Lay:
    """Return what the layout remembers of a lay, with what follows from its pieces filled in."""
    indices = [sorts.names[code] for code in lay.codes]
    fixings = set().union(*(sorts.fixings(index) for index in indices))
    every_round = all(sorts.footprints[index].round_radius_mm is not None for index in indices)
    set_by = lay.set_by or default_set_by(fixings, every_round=every_round)
    greatest = max(2.0 * sorts.footprints[index].reach_mm for index in indices)
    mark = lay.mark or default_mark(set_by, lay.way, greatest)
    return Lay(lay.id, lay.name, lay.way, set_by, mark, lay.gap_mm, lay.lapped)


def _with_seats(
    layout: Layout, seats: Seats, number: int, chosen: Ints, of_shapes: Ints, sorts: Sorts
) -> Layout:
    sort = chosen[seats.choice] if len(seats) else seats.choice
    is_piece = sort < len(sorts.pieces)

    added = Layout(
        pieces=layout.pieces,
        units=layout.units,
        piece_footprints=layout.piece_footprints,
        unit_footprints=layout.unit_footprints,
        lays=layout.lays,
        shape_ids=layout.shape_ids,
        xy=seats.xy,
        angle_deg=seats.angle_deg,
        piece=np.where(is_piece, sort, -1),
        unit=np.where(is_piece, -1, sort - len(sorts.pieces)),
        lay=np.full(len(seats), number),
        shape=of_shapes[seats.shape] if len(seats) else seats.shape,
        row=seats.row,
        u=seats.u,
        page_mm=layout.page_mm,
    )
    return layout.joined(added)


def _reduced(layout: Layout, sorts: Sorts) -> Layout:
    """Reduce each angle by the symmetry of what stands there, so that round pieces have 0."""
    if not len(layout):
        return layout
    turns = np.array(sorts.turns)[layout.footprint]
    return replace(layout, angle_deg=reduced_angle(layout.angle_deg, turns))


def _moved(finding: Finding, affine: Affine) -> Finding:
    if finding.where_mm is None:
        return finding
    x, y = np.round(affine(np.array(finding.where_mm)), 3).tolist()
    return replace(finding, where_mm=(x, y))


def _region(lay: LayTable, shapes: tuple[Shape, ...], to_layout: Affine) -> BaseGeometry | None:
    if not WAYS[lay.way].fills:
        return None
    region = unary_union([region_of(shape) for shape in shapes])
    a, b, c, d, e, f = to_layout.as_list()
    return affine_transform(region, [a, c, b, d, e, f])

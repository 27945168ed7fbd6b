"""One lay of a job: its shapes laid by its way, frame by frame, symmetric where asked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Ints
from embellish.artwork.artwork import Artwork, Shape
from embellish.errors import JobError
from embellish.findings import Finding
from embellish.geometry.mirror_images import MirrorImage
from embellish.geometry.streams import Stream
from embellish.job.frames import Frames, seen_from
from embellish.job.grounds import ground_of
from embellish.job.model import Job, LayTable
from embellish.job.seating import with_gap, with_seats
from embellish.job.sorts import Sorts
from embellish.job.symmetry import axes_of, is_symmetric, lay_about
from embellish.layout.ranked import Ranked
from embellish.layout.symmetry import Axis
from embellish.layout.ways.blends import lay_by
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, WaySettings


@dataclass(frozen=True, eq=False)
class Site:
    """What all lays of a job share.

    Parameters
    ----------
    job, artwork, sorts
        The job, its sized artwork, and what it sets.
    page_mm
        Width and height of the page.
    keep_out
        What no piece may touch, or None.
    frames
        Which shapes stand in frames of their own.
    images
        How each sort stands for its mirror image.
    """

    job: Job
    artwork: Artwork
    sorts: Sorts
    page_mm: tuple[float, float]
    keep_out: BaseGeometry | None
    frames: Frames
    images: tuple[MirrorImage, ...]


@dataclass(frozen=True, eq=False)
class LaidLay:
    """The seats so far with one lay's after them, in their frames, and the lay's axes."""

    ranked: Ranked
    findings: tuple[Finding, ...]
    axes: dict[tuple[int, int], Axis]


def lay_one(
    site: Site, number: int, shapes: tuple[Shape, ...], before: Ranked, progress: Progress
) -> LaidLay:
    """Lay one lay of a job after those before it.

    Parameters
    ----------
    site
        What all lays share.
    number
        Which lay of the job.
    shapes
        The shapes it is for.
    before
        All seats of earlier lays, each in its frame.
    progress
        Told how far it has come.
    """
    lay, sorts = site.job.lay[number], site.sorts
    index_of = {id(shape): index for index, shape in enumerate(site.artwork.shapes)}
    of_shapes = np.array([index_of[id(shape)] for shape in shapes], dtype=np.int64)
    of_kit = np.array([sorts.names[code] for code in lay.codes], dtype=np.int64)
    kit = _kit(lay, sorts, of_kit)
    images = tuple(site.images[k] for k in of_kit.tolist())
    hexes = tuple(sorts.hexes[k] for k in of_kit.tolist())
    ground = ground_of(lay, shapes, site.frames.placed(before.layout), site.job, site.keep_out)

    def by(ground: Ground, settings: WaySettings) -> Laid:
        stream = Stream.of(site.job.seed, lay.id)
        return lay_by(WAYS[lay.way], ground, kit, settings, lay.codes, hexes, stream, progress)

    result = before
    axes: dict[tuple[int, int], Axis] = {}
    findings: list[Finding] = []
    for affine, members in site.frames.parts(of_shapes):
        here = replace(seen_from(affine, ground), shapes=tuple(shapes[k] for k in members.tolist()))
        laid, twin = _evenly(site, lay, here, kit, images, by, axes, number, of_shapes[members])
        findings.extend(replace(finding, lay=lay.id) for finding in laid.findings)
        layout = result.layout
        if laid.gap_mm is not None:
            gap = min(laid.gap_mm, layout.lays[number].gap_mm)
            layout = with_gap(layout, number, gap)
        none = layout.taken(np.zeros(0, dtype=np.int64))
        more = with_seats(none, laid.seats, number, of_kit, of_shapes[members], sorts)
        result = replace(result, layout=layout).joined(Ranked.of(more, laid.seats.weight, twin))
    return LaidLay(result, tuple(findings), axes)


def _evenly(
    site: Site,
    lay: LayTable,
    ground: Ground,
    kit: Kit,
    images: tuple[MirrorImage, ...],
    by: Callable[[Ground, WaySettings], Laid],
    axes: dict[tuple[int, int], Axis],
    number: int,
    of_shapes: Ints,
) -> tuple[Laid, Ints]:
    """Lay one frame's shapes, about their axes where the lay is symmetric, and note those."""
    if not is_symmetric(site.job, lay):
        laid = by(ground, lay.settings)
        return laid, np.full(len(laid.seats), -1, dtype=np.int64)
    if lay.way == "chain":
        raise JobError(
            "what is sold by the length is not laid alike on both sides",
            item=f"lay '{lay.id}'",
            mend="Write symmetric = false in this lay.",
        )
    if lay.settings.mosaic is not None:
        raise JobError(
            "a mosaic shows a picture, and a symmetric lay is alike on both sides",
            item=f"lay '{lay.id}'",
            mend="Write symmetric = false in this lay.",
        )
    about = axes_of(site.job, lay, site.artwork, site.page_mm, ground.shapes)
    for axis, members in about:
        axes.update(((number, int(of_shapes[k])), axis) for k in members.tolist())
        if len(about) == 1:
            axes.setdefault((number, -1), axis)
    return lay_about(about, lay, ground, kit, images, by)


def _kit(lay: LayTable, sorts: Sorts, of_kit: Ints) -> Kit:
    return Kit(
        footprints=tuple(sorts.footprints[index] for index in of_kit.tolist()),
        turns=tuple(sorts.turns[index] for index in of_kit.tolist()),
        shares=lay.shares,
        gap_mm=lay.gap_mm,
        edge_mm=lay.edge_mm,
        strung=sorts.pieces_of(int(of_kit[0]))[0].strung if lay.way == "chain" else None,
    )

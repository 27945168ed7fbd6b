"""Symmetric lays of a job: their axes, looked up on the artwork, and what is laid about them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from embellish.arrays import Ints
from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.selecting import select
from embellish.errors import EmbellishError, JobError
from embellish.findings import Finding
from embellish.geometry.mirror_images import MirrorImage
from embellish.job.model import Job, LayTable
from embellish.layout.symmetric_lay import Even, Task, lay_evenly, standing_with
from embellish.layout.symmetry import Axis, middle_of
from embellish.layout.ways.fills import stacked
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Ground, Kit, Laid, Seats, WaySettings

_STRAIGHT_MM = 0.01
"""A line drawn for an axis strays from straight by no more."""

Axes = list[tuple[Axis, Ints]]
"""Each axis of a lay with the shapes laid about it, by their index in the lay."""


def is_symmetric(job: Job, lay: LayTable) -> bool:
    """Whether a lay is laid alike on both sides: as it says itself, else as the job says."""
    return job.symmetric if lay.symmetric is None else lay.symmetric


def axes_of(
    job: Job,
    lay: LayTable,
    artwork: Artwork,
    page_mm: tuple[float, float],
    shapes: tuple[Shape, ...],
) -> Axes:
    """Return the axes of a symmetric lay, in artwork millimetres.

    Raises
    ------
    JobError, ArtworkError
        For an axis that there is not, or that is not straight.
    """
    wanted = job.axis if lay.axis is None else lay.axis
    every = np.arange(len(shapes))
    width, height = page_mm
    if wanted == "own":
        return [(middle_of(shape), every[k : k + 1]) for k, shape in enumerate(shapes)]
    if wanted == "page":
        return [(Axis(width / 2.0, height / 2.0), every)]
    if isinstance(wanted, str):
        return [(_drawn(artwork, wanted), every)]
    if isinstance(wanted, tuple):
        # Shares of the page's width, as places of edits are.
        (x, y), (to_x, to_y) = wanted
        return [(_through(x * width, y * width, to_x * width, to_y * width), every)]
    return [(Axis(wanted * width, height / 2.0), every)]


def _drawn(artwork: Artwork, selector: str) -> Axis:
    try:
        shapes = select(artwork, selector)
    except EmbellishError as wrong:
        raise wrong.within(item="axis") from wrong
    paths = [path for shape in shapes for path in shape.paths]
    points = paths[0].segments.reshape(-1, 2)
    x, y = points[0].tolist()
    to_x, to_y = points[-1].tolist()
    long = float(np.hypot(to_x - x, to_y - y))
    if len(paths) == 1 and long > _STRAIGHT_MM:
        axis = _through(x, y, to_x, to_y)
        if float(np.abs(axis.beside(points)).max()) <= _STRAIGHT_MM:
            return axis
    raise JobError(
        f"the axis '{selector}' is not one straight line",
        mend='Draw one straight line for it, or write axis = "page".',
    )


def _through(x: float, y: float, to_x: float, to_y: float) -> Axis:
    angle = round(float(np.degrees(np.arctan2(to_y - y, to_x - x))), 9)
    return Axis((x + to_x) / 2.0, (y + to_y) / 2.0, angle % 180.0)


def lay_about(
    axes: Axes,
    lay: LayTable,
    ground: Ground,
    kit: Kit,
    images: tuple[MirrorImage, ...],
    by: Callable[[Ground, WaySettings], Laid],
) -> tuple[Laid, Ints]:
    """Lay a symmetric lay about its axes; return what was laid and each seat's twin.

    Parameters
    ----------
    axes
        As `axes_of` gives them.
    ground, kit
        As every way takes them.
    images
        How each of the kit's pieces stands for its mirror image.
    by
        Lays a ground by the way of the lay, under settings of the way.
    """
    way = WAYS[lay.way]
    parts: list[Even] = []
    seats: list[Seats] = []
    for axis, members in axes:
        here = replace(ground, shapes=tuple(ground.shapes[k] for k in members.tolist()))
        if way.fills and seats:
            here = replace(here, occupied=standing_with(here.occupied, stacked(seats), kit))
        laps = lay.lapped or lay.settings.laps > 0.0
        part = lay_evenly(Task(way, kit, images, lay.settings, by, axis, laps), here)
        parts.append(part)
        seats.append(replace(part.laid.seats, shape=members[part.laid.seats.shape]))
    starts = np.cumsum([0, *(len(part.twin) for part in parts)])
    twin = [
        np.where(part.twin < 0, -1, part.twin + start)
        for part, start in zip(parts, starts.tolist(), strict=False)
    ]
    gaps = [part.laid.gap_mm for part in parts if part.laid.gap_mm is not None]
    findings: tuple[Finding, ...] = tuple(f for part in parts for f in part.laid.findings)
    laid = Laid(stacked(seats), tuple(dict.fromkeys(findings)), min(gaps, default=None))
    return laid, np.concatenate(twin)


def without_image(code: str, image: MirrorImage, lay: str) -> Finding:
    """Return the finding that a piece has no mirror image."""
    return Finding(
        "no-mirror-image",
        "warning",
        f"{code} has a left and a right: its mirror image differs from it by {image.off_mm:.2f} mm"
        " however it is turned, so it stands turned as near as may be",
        lay=lay,
        mend="Take a piece that is alike on both sides, or look at the proof before you make it.",
    )

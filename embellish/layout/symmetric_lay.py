"""A symmetric lay: laid by its way on one half and folded over, alike on both sides."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import lines_of, region_of
from embellish.findings import Finding
from embellish.geometry.insets import Room
from embellish.geometry.mirror_images import MirrorImage
from embellish.layout.axis_rows import on_axis
from embellish.layout.folding import Folded, Holds, folded, in_order
from embellish.layout.mirroring import mirrored_seats
from embellish.layout.symmetry import Axis, begun_on, made_even, twins_of
from embellish.layout.ways.fills import KEPT_SLACK_MM, room_of, stacked
from embellish.layout.ways.way import Ground, Kit, Laid, Occupied, Seats, Way, WaySettings
from embellish.units import ALIKE_MM, LAY_SLACK_MM

_HALVED: Final = ("grid", "scatter")
"""Ways that are laid in one half alone; the others are laid whole, since their rows go round."""


@dataclass(frozen=True, eq=False)
class Task:
    """What is laid, and the axis to lay it about.

    Parameters
    ----------
    way, kit, settings
        As every lay has them.
    images
        How each of the kit's pieces stands for its mirror image.
    by
        Lays a ground by the way alone, under settings of the way.
    axis
        The axis.
    lapped
        Whether pieces of the lay are meant to overlap.
    """

    way: Way
    kit: Kit
    images: tuple[MirrorImage, ...]
    settings: WaySettings
    by: Callable[[Ground, WaySettings], Laid]
    axis: Axis
    lapped: bool = False


@dataclass(frozen=True, eq=False)
class Even:
    """What a symmetric lay laid.

    Parameters
    ----------
    laid
        As every way returns it, its seats those of ``twin``.
    twin : array of shape (n,)
        Index of each seat's mirror image, its own on the axis; -1 for shapes that have no image.
    shape_twin : array of shape (k,)
        Of each of the ground's shapes, which is its mirror image; -1 for none.
    """

    laid: Laid
    twin: Ints
    shape_twin: Ints


def lay_evenly(task: Task, ground: Ground) -> Even:
    """Lay a ground's shapes symmetrically about an axis.

    Shapes without a mirror image in the lay are laid as they are, with the finding
    ``not-symmetric``.

    Parameters
    ----------
    task
        The way, with what it sets.
    ground
        Its shapes, and what stands already.
    """
    axis = task.axis
    twin, off = twins_of(ground.shapes, axis)
    leads = _leads(ground.shapes, twin, axis)
    even = replace(_even_ground(ground, axis), as_laid=False)
    findings: list[Finding] = []
    result = Folded(Seats.none(), np.zeros(0, dtype=np.int64))
    gap_mm: float | None = None
    for members, settings in _calls(ground.shapes, leads, twin, task):
        shapes = tuple(_ready(ground.shapes, int(k), twin, off, task) for k in members)
        half = replace(even, shapes=shapes)
        if task.way.name in _HALVED:
            half = replace(half, keep_out=_with_second_side(half, task))
        laid = task.by(half, settings)
        gap_mm = _lesser(gap_mm, laid.gap_mm)
        findings.extend(laid.findings)
        seats = replace(laid.seats, shape=members[laid.seats.shape])
        asked = task.kit.gap_mm if laid.gap_mm is None else laid.gap_mm
        asked = -np.inf if task.lapped else asked
        holds = _rooms(ground.shapes, even, task) if task.way.fills else None
        result = _and(result, folded(seats, twin, task.kit, task.images, axis, asked, holds))
    if task.way.fills and _fills_axis(task.settings):
        result = _with_axis(result, even, ground.shapes, leads, twin, task)
    if task.way.name == "row":
        result = replace(result, seats=_addressed(result.seats, ground.shapes))
    result = in_order(result, np.lexsort((result.seats.u, result.seats.row, result.seats.shape)))
    strays = np.flatnonzero(twin < 0)
    if len(strays):
        here = replace(ground, shapes=tuple(ground.shapes[k] for k in strays))
        if task.way.fills:
            here = replace(here, occupied=standing_with(here.occupied, result.seats, task.kit))
        laid = task.by(here, task.settings)
        seats = replace(laid.seats, shape=strays[laid.seats.shape])
        result = _and(result, Folded(seats, np.full(len(seats), -1, dtype=np.int64)))
        findings.extend(laid.findings)
        findings.extend(_not_symmetric(ground.shapes[k]) for k in strays)
        gap_mm = _lesser(gap_mm, laid.gap_mm)
    return Even(Laid(result.seats, tuple(findings), gap_mm), result.twin, twin)


def _calls(
    shapes: Sequence[Shape], leads: Ints, twin: Ints, task: Task
) -> Iterator[tuple[Ints, WaySettings]]:
    """Yield which shapes are laid together, and under which settings.

    A sequence of pieces along a line that crosses the axis runs alike from both its ends.
    """
    fields = type(task.settings).model_fields
    plain = task.settings.model_copy(update={"start": 0.0} if "start" in fields else {})
    if "both_ends" not in fields or len(task.kit.footprints) == 1:
        yield from [(leads, plain)] if len(leads) else []
        return
    crosses = np.array([_crosses(shapes[k], task.axis) and twin[k] == k for k in leads.tolist()])
    for members, both_ends in ((leads[~crosses], False), (leads[crosses], True)):
        if len(members):
            update = {"both_ends": True} if both_ends else {}
            yield members, plain.model_copy(update=update)


def _crosses(shape: Shape, axis: Axis) -> bool:
    """Tell whether a shape lies on both sides of the axis, not just along it."""
    points = np.concatenate([path.segments.reshape(-1, 2) for path in shape.paths])
    return float(np.abs(axis.beside(points)).max()) > ALIKE_MM


def _lesser(one: float | None, other: float | None) -> float | None:
    return min((gap for gap in (one, other) if gap is not None), default=None)


def _and(one: Folded, other: Folded) -> Folded:
    n = len(one.seats)
    twin = np.where(other.twin < 0, -1, other.twin + n)
    return Folded(stacked([one.seats, other.seats]), np.concatenate([one.twin, twin]))


def _leads(shapes: Sequence[Shape], twin: Ints, axis: Axis) -> Ints:
    """Return the shapes that are laid: those that are their own image, one of each pair."""
    middle = np.array([axis.beside(np.array(_middle(shape))) for shape in shapes])
    index = np.arange(len(shapes))
    other = np.where(twin >= 0, twin, index)
    first = (middle < middle[other]) | ((middle == middle[other]) & (index < other))
    return np.flatnonzero((twin >= 0) & ((twin == index) | first))


def _middle(shape: Shape) -> Floats:
    points: Floats = np.concatenate([path.segments.reshape(-1, 2) for path in shape.paths])
    middle: Floats = (points.min(axis=0) + points.max(axis=0)) / 2.0
    return middle


def _ready(shapes: Sequence[Shape], k: int, twin: Ints, off: Floats, task: Task) -> Shape:
    shape = shapes[k]
    if task.way.fills:
        return made_even(shape, shapes[int(twin[k])], task.axis, float(off[k]))
    return begun_on(shape, task.axis) if twin[k] == k else shape


def _even_ground(ground: Ground, axis: Axis) -> Ground:
    """Return a ground where what stands on one side, and is kept out there, is so on both."""
    there = ground.occupied
    keep_out = ground.keep_out
    if keep_out is not None:
        keep_out = shapely.union_all([keep_out, axis.mapped(keep_out)])
    if not len(there.xy):
        return replace(ground, keep_out=keep_out)
    images = tuple(MirrorImage() for _ in there.footprints)
    xy, angle = mirrored_seats(there.xy, there.angle_deg, there.footprint, images, axis.mirror)
    both = Occupied(
        np.concatenate([there.xy, xy]),
        np.concatenate([there.angle_deg, angle]),
        np.tile(there.footprint, 2),
        there.footprints,
        np.tile(there.gap_mm, 2),
    )
    return replace(ground, occupied=both, keep_out=keep_out)


def _with_second_side(half: Ground, task: Task) -> Any:
    """Return the keep-outs with the second side, half a gap before the axis."""
    corners = np.concatenate([p.segments.reshape(-1, 2) for s in half.shapes for p in s.paths])
    far = float(np.abs(corners - (task.axis.x_mm, task.axis.y_mm)).max()) * 2.0 + 100.0
    margin = task.kit.gap_mm / 2.0 + LAY_SLACK_MM
    second = task.axis.second_side(margin, far)
    return second if half.keep_out is None else shapely.union_all([half.keep_out, second])


def _rooms(shapes: Sequence[Shape], even: Ground, task: Task) -> Holds | None:
    """Return what tells which seats of round pieces have their room in their shapes."""
    kit = task.kit
    if any(footprint.round_radius_mm is None for footprint in kit.footprints):
        return None

    # Folding asks about the same shapes again and again.
    @cache
    def room(k: int) -> Room:
        return room_of(region_of(shapes[k]), even, kit, Seats.none())

    def holds(seats: Seats) -> Bools:
        out = np.zeros(len(seats), dtype=np.bool_)
        for k in np.unique(seats.shape).tolist():
            mine = np.flatnonzero(seats.shape == k)
            reach = kit.reach_mm[seats.choice[mine]]
            out[mine] = room(k).holds(seats.xy[mine], reach, slack_mm=KEPT_SLACK_MM)
        return out

    return holds


def _fills_axis(settings: WaySettings) -> bool:
    """Tell whether a fill is to leave no room: then the axis is filled too."""
    return (
        getattr(settings, "density", "random") == "random"
        and getattr(settings, "fade", None) is None
        and getattr(settings, "rows", None) is None
    )


def _with_axis(
    result: Folded, even: Ground, shapes: Sequence[Shape], leads: Ints, twin: Ints, task: Task
) -> Folded:
    """Return a fill with pieces on the axis where there is room."""
    for k in leads[twin[leads] == leads].tolist():
        shape = made_even(shapes[k], shapes[k], task.axis, np.inf)
        region = region_of(shape)
        more = on_axis(region, even, task.kit, task.images, task.axis, result.seats, k)
        result = _and(result, Folded(more, np.arange(len(more))))
    return result


def _addressed(seats: Seats, shapes: Sequence[Shape]) -> Seats:
    """Return seats of rows with the line and the place on it that each is nearest to."""
    row, u = seats.row.copy(), seats.u.copy()
    for k in np.unique(seats.shape).tolist():
        rows = np.flatnonzero(seats.shape == k)
        lines = [shapely.LineString(line.points) for line in lines_of(shapes[k], 0.005)]
        points = shapely.points(seats.xy[rows])
        away = np.round([shapely.distance(line, points) for line in lines], 3)
        row[rows] = away.argmin(axis=0)
        for number, line in enumerate(lines):
            here = rows[row[rows] == number]
            share = shapely.line_locate_point(line, shapely.points(seats.xy[here]), normalized=True)
            u[here] = share
    return replace(seats, row=row, u=u)


def standing_with(there: Occupied, seats: Seats, kit: Kit) -> Occupied:
    """Return what stands together with seats of the lay itself."""
    return Occupied(
        np.concatenate([there.xy, seats.xy]),
        np.concatenate([there.angle_deg, seats.angle_deg]),
        np.concatenate([there.footprint, seats.choice + len(there.footprints)]),
        (*there.footprints, *kit.footprints),
        np.concatenate([there.gap_mm, np.full(len(seats), kit.gap_mm)]),
    )


def _not_symmetric(shape: Shape) -> Finding:
    x, y = _middle(shape).tolist()
    return Finding(
        "not-symmetric",
        "warning",
        f"'{shape.id}' is no mirror image of itself or of another shape of the lay about its axis,"
        " so it is laid as it is drawn",
        (round(x, 3), round(y, 3)),
        mend="Mend the drawing or the axis, or give the shape a lay of its own with"
        " symmetric = false.",
    )

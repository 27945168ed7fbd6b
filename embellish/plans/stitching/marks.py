"""Which marks a layout asks for, as paths in layout millimetres, before hoop and machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.geometry.segments import directions
from embellish.layout.layout import Layout
from embellish.layout.runs import runs_of
from embellish.plans.hooping import cuts_for
from embellish.plans.stitching.covers import cover_of
from embellish.plans.stitching.settings import StitchSettings
from embellish.plans.stitching.shapes import MarkPath, mark_path

MarkKind = Literal["each", "line", "ends", "outline", "cross"]

TICK_EVERY: Final = 10
"""Along a guide line every tenth seat is ticked, so that pieces can be counted off."""


@dataclass(frozen=True, eq=False, slots=True)
class RawMark:
    """One mark to sew.

    Parameters
    ----------
    kind
        What it is; ``cross`` is an alignment cross.
    seats
        Rows of the layout it shows.
    code
        Which block it belongs to.
    path : array of shape (k, 2)
        Where the needle goes in, layout mm.
    centre : array of shape (2,) or None
        What its bounds must be centred on, or None where they need not.
    """

    kind: MarkKind
    seats: tuple[int, ...]
    code: str
    path: Floats
    centre: Floats | None


def paths_of(layout: Layout, settings: StitchSettings) -> dict[tuple[int, int], MarkPath]:
    """Return the mark of each pair of footprint and lay that is marked seat by seat."""
    paths = {}
    for index, lay in enumerate(layout.lays):
        if lay.mark == "none":
            continue
        for footprint in np.unique(layout.footprint[layout.rows(index)]).tolist():
            paths[footprint, index] = mark_path(layout, footprint, lay.set_by, settings)
    return paths


def raw_marks(
    layout: Layout,
    settings: StitchSettings,
    paths: Mapping[tuple[int, int], MarkPath],
    outlines: Mapping[str, Sequence[Floats]],
    hoop: Hoop | None = None,
) -> tuple[list[RawMark], list[Finding]]:
    """Return the marks in table order, and what could not be hidden.

    Lines and outlines longer than the hoop's field are cut between pieces.
    """
    marks: list[RawMark] = []
    findings: list[Finding] = []
    for index, lay in enumerate(layout.lays):
        rows = layout.rows(index)
        if lay.mark == "none" or not len(rows):
            continue
        if lay.mark == "each":
            marks += seat_marks(layout, rows, index, paths, "each")
        elif lay.mark == "ends":
            ends = [run[list(dict.fromkeys((0, len(run) - 1)))] for run in _runs(layout, rows)]
            marks += seat_marks(layout, np.concatenate(ends), index, paths, "ends")
        elif lay.mark == "line":
            code = _codes(layout, rows)
            for run in _runs(layout, rows):
                marks += _line_marks(layout, run, index, paths, settings, code, hoop)
        else:
            code = _codes(layout, rows)
            seats = tuple(rows.tolist())
            for ring in outlines.get(lay.id) or _hull(layout, rows, settings):
                marks += [
                    RawMark("outline", seats, code, part, None)
                    for part in _outline_parts(ring, settings, hoop)
                ]
        if lay.mark in ("each", "ends"):
            findings += _shown(layout, rows, index, paths)
    return marks, findings


def seat_marks(
    layout: Layout,
    rows: Ints,
    lay: int,
    paths: Mapping[tuple[int, int], MarkPath],
    kind: MarkKind,
) -> list[RawMark]:
    """Return a mark for each of a lay's seats, in the order given."""
    placed: dict[int, RawMark] = {}
    footprint = layout.footprint
    for number in np.unique(footprint[rows]).tolist():
        mark = paths[number, lay]
        of = rows[footprint[rows] == number]
        cos, sin = directions(layout.angle_deg[of])
        # All marks of one footprint at once: its path turned and moved to each seat.
        points = np.concatenate([mark.path, [mark.centre_mm]])
        x = points[:, 0] * cos[:, None] - points[:, 1] * sin[:, None]
        y = points[:, 0] * sin[:, None] + points[:, 1] * cos[:, None]
        at = np.stack([x, y], axis=2) + layout.xy[of][:, None]
        code = code_of(layout, number)
        for row, mine in zip(of.tolist(), at, strict=True):
            placed[row] = RawMark(kind, (row,), code, mine[:-1], mine[-1])
    return [placed[row] for row in rows.tolist()]


def code_of(layout: Layout, footprint: int) -> str:
    """Return the code or the unit's name of a footprint."""
    if footprint < len(layout.pieces):
        return layout.pieces[footprint].code
    return layout.units[footprint - len(layout.pieces)].name


def _codes(layout: Layout, rows: Ints) -> str:
    """Return the codes on these seats, in order of first use."""
    first = dict.fromkeys(layout.footprint[rows].tolist())
    return " + ".join(code_of(layout, number) for number in first)


def _runs(layout: Layout, rows: Ints) -> Iterator[Ints]:
    """Yield the seats of each row of each shape in path order, of strung goods of each length."""
    key = np.stack([layout.shape[rows], layout.row[rows], runs_of(layout)[rows]], axis=1)
    cuts = np.flatnonzero(np.any(np.diff(key, axis=0) != 0, axis=1)) + 1
    yield from np.split(rows, cuts)


def _line_marks(
    layout: Layout,
    run: Ints,
    lay: int,
    paths: Mapping[tuple[int, int], MarkPath],
    settings: StitchSettings,
    code: str,
    hoop: Hoop | None,
) -> list[RawMark]:
    """Return the guide of a run of seats, or those of its parts where it outgrows a field."""
    parts = [run]
    if hoop is not None:
        # A tick stands out no further than the piece it is on.
        grown = min(float(layout.reach_mm[run].max()), min(hoop.field_mm) / 8.0)
        parts = np.split(run, cuts_for(hoop, layout.xy[run], grown))
    marks = []
    for part in parts:
        if len(part) == 1:
            marks += seat_marks(layout, part, lay, paths, "ends")
            continue
        path = _guide(layout, part, lay, paths, settings, whole=len(part) == len(run))
        marks.append(RawMark("line", tuple(part.tolist()), code, path, None))
    return marks


def _outline_parts(ring: Floats, settings: StitchSettings, hoop: Hoop | None) -> Iterator[Floats]:
    """Yield a line in stitches, or its parts where it outgrows a field: each on to the next."""
    line = _resampled(ring, settings.stitch_mm)
    cuts = [] if hoop is None else cuts_for(hoop, line, settings.stitch_mm).tolist()
    for first, last in zip([0, *cuts], [*cuts, len(line) - 1], strict=True):
        if last > first:
            yield line[first : last + 1]


def _guide(
    layout: Layout,
    run: Ints,
    lay: int,
    paths: Mapping[tuple[int, int], MarkPath],
    settings: StitchSettings,
    *,
    whole: bool,
) -> Floats:
    """Return a guide run through the seats, ticked at both ends and every tenth seat."""
    xy = layout.xy[run]
    steps = np.hypot(*np.diff(xy, axis=0).T)
    usual = float(np.median(steps))
    gap_back = float(np.hypot(*(xy[-1] - xy[0])))
    closes = whole and len(run) > 3 and gap_back <= 1.5 * usual
    along = np.gradient(xy, axis=0)
    span = np.hypot(along[:, 0], along[:, 1])
    along = along / np.where(span > 0.0, span, 1.0)[:, None]
    footprint = layout.footprint[run]
    points: list[Floats] = []
    for index in range(len(run)):
        ticked = index % TICK_EVERY == 0 or index == len(run) - 1
        if ticked:
            # A third of what hides it, across the row.
            girth = paths[int(footprint[index]), lay].girth_mm
            half = np.array([-along[index, 1], along[index, 0]]) * girth / 6.0
            points += [xy[index], xy[index] + half, xy[index] - half, xy[index]]
        elif float(np.hypot(*(xy[index] - points[-1]))) >= settings.stitch_mm / 2.0:
            points.append(xy[index])
    if closes:
        points.append(xy[0])
    return _divided(np.array(points), settings.stitch_mm)


def _divided(path: Floats, stitch: float) -> Floats:
    """Return a path with even stitches no longer than asked, its corners kept."""
    steps = np.hypot(*np.diff(path, axis=0).T)
    counts = np.maximum(1, np.ceil(steps / stitch - 1e-9)).astype(np.int64)
    start = np.repeat(np.arange(len(steps)), counts)
    share = np.concatenate([np.arange(count) / count for count in counts])
    inner: Floats = path[start] + (path[start + 1] - path[start]) * share[:, None]
    return np.concatenate([inner, path[-1:]])


def _resampled(line: Floats, stitch: float) -> Floats:
    """Return a finely flattened line as even stitches along its length."""
    path = LineString(line)
    count = max(2, int(np.ceil(path.length / stitch)))
    at = shapely.line_interpolate_point(path, np.arange(count + 1) / count, normalized=True)
    points: Floats = shapely.get_coordinates(at)
    return points


def _hull(layout: Layout, rows: Ints, settings: StitchSettings) -> list[Floats]:
    """Return lines around what the seats cover together, hidden under the outermost pieces."""
    xy = layout.xy[rows]
    close = 0.0
    if len(xy) > 1:
        close = float(np.median(np.asarray(cKDTree(xy).query(xy, k=2)[0])[:, 1]))
    grown = shapely.buffer(shapely.union_all(_outlines(layout, rows)), close, quad_segs=8)
    area = grown.buffer(-close - settings.inset_mm)
    lines = []
    for part in getattr(area, "geoms", [area]):
        if part.is_empty:
            continue
        lines += [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
    return lines


def _outlines(layout: Layout, rows: Ints) -> list[BaseGeometry]:
    """Return what stands on these seats, at its least size."""
    cos, sin = directions(layout.angle_deg[rows])
    which, placed = layout.footprint[rows], []
    for footprint in np.unique(which).tolist():
        mine = which == footprint
        cover = cover_of(layout, footprint, "min")
        for part in getattr(cover, "geoms", [cover]):
            x, y = shapely.get_coordinates(part.exterior).T
            turned = np.stack(
                [
                    x * cos[mine, None] - y * sin[mine, None],
                    x * sin[mine, None] + y * cos[mine, None],
                ],
                axis=2,
            )
            rings = turned + layout.xy[rows[mine]][:, None]
            placed += np.asarray(shapely.polygons(rings)).tolist()
    return placed


def _shown(
    layout: Layout, rows: Ints, lay: int, paths: Mapping[tuple[int, int], MarkPath]
) -> Iterator[Finding]:
    for number in np.unique(layout.footprint[rows]).tolist():
        mark = paths[number, lay]
        if mark.hidden:
            continue
        first = rows[layout.footprint[rows] == number][0]
        yield Finding(
            "mark-shows",
            "warning",
            f"The {mark.shape} mark of {code_of(layout, number)} does not hide under the piece "
            "at its least size.",
            where_mm=(float(layout.xy[first, 0]), float(layout.xy[first, 1])),
            lay=layout.lays[lay].id,
            mend="Mark these pieces with a tick, along a line, or not at all.",
        )

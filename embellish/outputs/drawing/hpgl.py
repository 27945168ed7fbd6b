"""A drawing's outlines as a plotter file: HP-GL, 40 units a millimetre, y up.

The unit of 0.025 mm is that of HP-GL/2 (see units.py).

Each layer has its pen. Whole circles are ``CI`` and arcs short chords by default, which every
plotter reads; with a blade that trails its pivot (a drag knife) all is drawn as the pivot's path.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.outlines import sampled
from embellish.outputs.drawing.arcs import circle_ring
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Curves,
    Drawing,
    Instances,
    Item,
    Layer,
    Lines,
    Picture,
    Stamps,
    Words,
)
from embellish.units import MM_PER_PLOTTER_UNIT

_UNITS_PER_MM: Final = 1.0 / MM_PER_PLOTTER_UNIT
_SWIVEL_FROM_RAD: Final = math.radians(15.0)
"""Below this turn the blade follows by itself."""


@dataclass(frozen=True, slots=True)
class Plotter:
    """What belongs to the machine and not to the drawing.

    Parameters
    ----------
    layers
        Ids of the layers to write, in order of cutting; empty for all.
    pens
        The pen of each of these layers; empty for one each, from 1.
    blade_offset_mm
        How far the blade's tip trails its pivot; 0 for a pen, a tangential knife, or where the
        machine corrects for it by itself.
    overcut_mm
        How far a closed cut goes on past its start, so that the last corner comes free.
    chord_tolerance_mm
        How far a chord may stray from its arc.
    """

    layers: tuple[str, ...] = ()
    pens: tuple[int, ...] = ()
    blade_offset_mm: float = 0.0
    overcut_mm: float = 0.0
    chord_tolerance_mm: float = 0.005


def hpgl_bytes(drawing: Drawing, plotter: Plotter | None = None) -> bytes:
    """Return the outlines of a drawing as the bytes of one plotter file.

    Only circles, arc-and-line outlines and straight-edged lines are cut; what else there is, see
    `lost_in_hpgl`.
    """
    plotter = plotter or Plotter()
    parts, held = ["IN;", "PA;"], 0
    for pen, layer in _chosen(drawing, plotter):
        cuts = [cut for item in layer.items for cut in _cuts(item, drawing.height_mm, plotter)]
        if cuts and pen != held:
            parts.append(f"SP{pen};")
            held = pen
        parts += cuts
    parts += ["PU;", "SP0;", ""]
    return "\n".join(parts).encode("ascii")


def lost_in_hpgl(drawing: Drawing, plotter: Plotter | None = None) -> tuple[str, ...]:
    """Return in words what a drawing has and its plotter file has not."""
    plotter = plotter or Plotter()
    chosen = [layer for _, layer in _chosen(drawing, plotter)]
    names = {layer.id for layer in chosen}
    left = [f"layer '{layer.id}'" for layer in drawing.layers if layer.id not in names]
    for item in (item for layer in chosen for item in layer.items):
        match item:
            case Circles() | Chains() | Lines():
                if item.style.fill is not None:
                    left.append("fills (their outlines are cut)")
            case Words():
                left.append("words")
            case Curves():
                left.append("Bézier curves")
            case Picture():
                left.append("pictures")
            case Instances() | Stamps():
                left.append("repeated drawings")
    return tuple(dict.fromkeys(left))


def _chosen(drawing: Drawing, plotter: Plotter) -> list[tuple[int, Layer]]:
    """Return the layers to be written in their order, each with its pen."""
    if not plotter.layers:
        return list(enumerate(drawing.layers, 1))
    by_name = {layer.id: layer for layer in drawing.layers}
    pens = plotter.pens or range(1, len(plotter.layers) + 1)
    named = zip(pens, plotter.layers, strict=True)
    return [(pen, by_name[name]) for pen, name in named if name in by_name]


def _cuts(item: Item, height_mm: float, plotter: Plotter) -> list[str]:
    tolerance = plotter.chord_tolerance_mm
    match item:
        case Circles():
            radii = np.asarray(item.radius_mm).tolist()
            if not plotter.blade_offset_mm and not plotter.overcut_mm:
                return [
                    f"PU{_place([x, y], height_mm)};CI{_units(radius)};"
                    for (x, y), radius in zip(item.xy.tolist(), radii, strict=True)
                ]
            rings = [
                circle_ring(x, y, radius, tolerance)
                for (x, y), radius in zip(item.xy.tolist(), radii, strict=True)
            ]
            return [_polyline(ring, height_mm, plotter, closed=True) for ring in rings]
        case Chains():
            return [
                _polyline(sampled(outline, tolerance), height_mm, plotter, closed=True)
                for outline in item.outlines
            ]
        case Lines():
            return [
                _polyline(np.asarray(line), height_mm, plotter, closed=item.closed)
                for line in item.lines
            ]
        case _:
            return []


def _polyline(line: Floats, height_mm: float, plotter: Plotter, *, closed: bool) -> str:
    if closed:
        line = np.vstack([line, _overcut(line, plotter.overcut_mm)])
    if plotter.blade_offset_mm:
        line = pivot_path(line, plotter.blade_offset_mm, plotter.chord_tolerance_mm)
    places = [_place(point, height_mm) for point in line.tolist()]
    # Points closer than a plotter unit fall together.
    kept = [place for i, place in enumerate(places) if i == 0 or place != places[i - 1]]
    if len(kept) == 1:
        return f"PU{kept[0]};PD;PU;"
    return f"PU{kept[0]};PD{','.join(kept[1:])};PU;"


def _overcut(ring: Floats, length_mm: float) -> Floats:
    """Return the start point again, and what is cut a second time after it."""
    again = np.vstack([ring, ring[:1]])
    steps = np.hypot(*np.diff(again, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    stop = min(length_mm, float(along[-1]))
    if stop <= 0.0:
        return ring[:1]
    at = np.concatenate([along[along < stop], [stop]])
    return np.stack([np.interp(at, along, again[:, 0]), np.interp(at, along, again[:, 1])], axis=1)


def pivot_path(line: Floats, offset_mm: float, tolerance_mm: float) -> Floats:
    """Return the path of a drag knife's pivot whose tip follows ``line``, shape (m, 2).

    The pivot goes ahead of the tip by the offset; at a corner it swings about the tip, which
    stands still, until the blade points along the next side.
    """
    steps = np.diff(line, axis=0)
    lengths = np.hypot(*steps.T)
    keep = lengths > 0.0
    tips = np.vstack([line[:1], line[1:][keep]])
    along = steps[keep] / lengths[keep][:, None]
    if not len(along):
        return line
    headings = np.arctan2(along[:, 1], along[:, 0])
    path: list[Floats] = [tips[:1] + offset_mm * along[:1]]
    for i in range(1, len(along)):
        turn = math.remainder(float(headings[i] - headings[i - 1]), 2.0 * math.pi)
        if abs(turn) > _SWIVEL_FROM_RAD:
            step = 2.0 * math.acos(max(0.0, 1.0 - tolerance_mm / offset_mm))
            count = max(1, math.ceil(abs(turn) / step))
            angles = headings[i - 1] + turn * np.arange(count + 1) / count
        else:
            angles = headings[i - 1 : i] + turn / 2.0
        path.append(tips[i] + offset_mm * np.stack([np.cos(angles), np.sin(angles)], axis=1))
    path.append(tips[-1:] + offset_mm * along[-1:])
    return np.concatenate(path)


def _units(length_mm: float) -> int:
    return math.floor(length_mm * _UNITS_PER_MM + 0.5)


def _place(point: Sequence[float], height_mm: float) -> str:
    return f"{_units(point[0])},{_units(height_mm - point[1])}"

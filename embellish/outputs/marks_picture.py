"""The picture of one file of marks: stitches by block, the pieces they hide under, the stops."""

from __future__ import annotations

import textwrap

import numpy as np

from embellish.arrays import Floats
from embellish.formats.stitches import JUMP, STITCH, ThreadBlock
from embellish.geometry.outlines import Outline
from embellish.geometry.segments import directions
from embellish.layout.layout import Layout
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Drawing,
    Item,
    Layer,
    Lines,
    Style,
    Words,
)
from embellish.plans.stitch import Hooping, StitchPlan
from embellish.plans.title import TitleBlock

_MARGIN = 8.0
_LINE = 5.0
_LETTER_MM = 1.65
"""Width of a letter of the legend, on the wide side."""
_PIECE = Style(fill=None, stroke="#b0b0b0", stroke_width_mm=0.1)
_CAUTION = (
    "A needle that strikes a bead or stone can break: sew marks before pieces are set, "
    "shield the eyes, follow the machine maker's instructions."
)
_FIELD = Style(fill=None, stroke="#808080", stroke_width_mm=0.3, dash_mm=(3.0, 2.0))


def marks_drawing(plan: StitchPlan, hooping: Hooping, layout: Layout, title: TitleBlock) -> Drawing:
    """Return a file's marks at true size, as they lie in the hoop, with its stops below."""
    x0, y0, x1, y1 = _extent(plan, hooping)
    width = max(x1 - x0 + 2 * _MARGIN, 120.0)
    words = _wrapped(_words(plan, hooping), width)
    top = _MARGIN + _LINE * 3
    height = top + (y1 - y0) + _MARGIN + _LINE * (len(words) + 1)
    shift = np.array([_MARGIN - x0, top - y0])
    layers = [
        Layer("field", tuple(_field(plan, shift))),
        Layer("pieces", tuple(_pieces(hooping, layout, shift))),
    ]
    for number, block in enumerate(hooping.design.blocks):
        layers.append(Layer(f"block-{number + 1}", (_threads(block, shift),)))
    below = top + (y1 - y0) + _MARGIN + _LINE
    text: list[Item] = [
        Words(_MARGIN, _MARGIN + 1.0, title.words, 3.0, bold=True),
        Words(_MARGIN, _MARGIN + 1.0 + _LINE, _place(plan, hooping), 2.5),
    ]
    if title.state:
        text.append(Words(_MARGIN, _MARGIN + 1.0 + 2 * _LINE, title.state, 2.5, bold=True))
    for index, (colour, line) in enumerate(words):
        y = below + _LINE * index
        text.append(Words(_MARGIN + 6.0, y, line, 2.2))
        if colour:
            bar = np.array([[_MARGIN, y - 1.0], [_MARGIN + 4.5, y - 1.0]])
            text.append(Lines((bar,), Style(stroke=colour, stroke_width_mm=1.2)))
    layers.append(Layer("words", tuple(text)))
    if title.stop:
        middle = top + (y1 - y0) / 2.0
        stamp = Words(
            width / 2.0,
            middle,
            title.stop,
            min(12.0, width / 14.0),
            "middle",
            colour="#cc0000",
            bold=True,
        )
        layers.append(Layer("stamp", (stamp,)))
    return Drawing(
        width, height, tuple(layers), f"Marks: {title.words}", _place(plan, hooping), "#ffffff"
    )


def _extent(plan: StitchPlan, hooping: Hooping) -> tuple[float, float, float, float]:
    bounds = hooping.design.bounds_mm() or (0.0, 0.0, 0.0, 0.0)
    x0, y0, x1, y1 = (bounds[0] - 5.0, bounds[1] - 5.0, bounds[2] + 5.0, bounds[3] + 5.0)
    if plan.hoop is not None:
        half_w, half_h = (side / 2.0 for side in plan.hoop.field_mm)
        x0, y0 = min(x0, -half_w), min(y0, -half_h)
        x1, y1 = max(x1, half_w), max(y1, half_h)
    return x0, y0, x1, y1


def _field(plan: StitchPlan, shift: Floats) -> list[Item]:
    cross = [np.array([[-4.0, 0.0], [4.0, 0.0]]), np.array([[0.0, -4.0], [0.0, 4.0]])]
    items: list[Item] = [
        Lines(tuple(line + shift for line in cross), Style(stroke="#808080", stroke_width_mm=0.2))
    ]
    if plan.hoop is None:
        return items
    a, b = (side / 2.0 for side in plan.hoop.field_mm)
    if plan.hoop.shape == "rectangle":
        ring = np.array([[-a, -b], [a, -b], [a, b], [-a, b]])
    else:
        cos, sin = directions(np.linspace(0.0, 357.0, 120))
        ring = np.stack([a * cos, b * sin], axis=1)
    return [*items, Lines((ring + shift,), _FIELD, closed=True)]


def _pieces(hooping: Hooping, layout: Layout, shift: Floats) -> list[Item]:
    """Return the pieces that this file's marks stand for, as they lie in the hoop."""
    rows = np.array(sorted({seat for mark in hooping.marks for seat in mark.seats}), dtype=np.int64)
    if not len(rows):
        return []
    shown = layout.taken(rows).mapped(hooping.to_stitch)
    radius = np.array([footprint.round_radius_mm or np.nan for footprint in layout.footprints])[
        shown.footprint
    ]
    ring = ~np.isnan(radius)
    items: list[Item] = [Circles(shown.xy[ring] + shift, radius[ring], _PIECE)]
    chains = []
    flip = -1.0 if hooping.mirrored else 1.0
    for row in np.flatnonzero(~ring).tolist():
        cos, sin = (float(v) for v in directions(shown.angle_deg[row]))
        for part in layout.footprints[int(shown.footprint[row])].parts:
            c, s = (float(v) for v in directions(np.array(part.angle_deg)))
            px, py = part.outline.points.T
            x, y = px * c - py * s + part.dx_mm, (px * s + py * c + part.dy_mm) * flip
            points = np.stack([x * cos - y * sin, x * sin + y * cos], axis=1)
            points = points + shown.xy[row] + shift
            bulges = part.outline.bulges
            if flip < 0.0:
                # Seen from the back a chain runs the other way round.
                points, bulges = points[::-1], np.roll(bulges[::-1], -1)
            chains.append(Outline(points, bulges))
    if chains:
        items.append(Chains(tuple(chains), _PIECE))
    return items


def _threads(block: ThreadBlock, shift: Floats) -> Lines:
    """Return a block's runs of stitches; jumps and trims part them."""
    cuts = np.flatnonzero(block.kind == JUMP)
    lines = []
    for rows in np.split(np.arange(len(block.kind)), cuts):
        points = block.xy[rows[block.kind[rows] == STITCH]]
        if len(points) > 1:
            lines.append(points + shift)
    return Lines(tuple(lines), Style(stroke=block.hex, stroke_width_mm=0.25))


def _place(plan: StitchPlan, hooping: Hooping) -> str:
    parts = [f"file {hooping.design.name}"]
    if len(plan.hoopings) > 1:
        parts.append(f"hooping {hooping.number + 1}")
    if plan.hoop is not None:
        width, height = plan.hoop.field_mm
        parts.append(f"{plan.hoop.name}, field {width:g} x {height:g} mm")
        parts.append(f"position {hooping.position}")
    if hooping.mirrored:
        parts.append("MIRRORED: sew from the wrong side")
    return " · ".join(parts)


def _wrapped(lines: list[tuple[str, str]], width_mm: float) -> list[tuple[str, str]]:
    """Return the lines cut to the page; the rest of a line goes on without its colour."""
    letters = int((width_mm - 2 * _MARGIN - 6.0) / _LETTER_MM)
    return [
        (colour if number == 0 else "", part)
        for colour, line in lines
        for number, part in enumerate(textwrap.wrap(line, letters))
    ]


def _words(plan: StitchPlan, hooping: Hooping) -> list[tuple[str, str]]:
    """Return lines of the legend with the colour of each, '' for none."""
    effort, speed = hooping.effort, plan.settings.speed_per_min
    minutes = effort.minutes(plan.settings)
    stops = [
        (stop.hex, f"block {stop.block + 1}: {stop.code}. Then {stop.words}.")
        for stop in hooping.stops
    ]
    sewn = f"{effort.stitches} stitches, {effort.trims} trims, about {minutes:.1f} min"
    return [*stops, ("", f"{sewn} at {speed:g} stitches a minute."), ("", _CAUTION)]

"""The picture of one file of marks: stitches by block, the pieces they hide under, the stops."""

from __future__ import annotations

import textwrap

import numpy as np

from embellish.arrays import Floats
from embellish.formats.stitches import ThreadBlock
from embellish.geometry.outlines import Outline
from embellish.geometry.segments import directions
from embellish.layout.layout import Layout
from embellish.outputs.colours import mix
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
from embellish.plans.hooping_moves import move_words
from embellish.plans.stitching.base import runs_of
from embellish.plans.stitching.crosses import CROSSES
from embellish.plans.stitching.stitch import Hooping, StitchPlan
from embellish.plans.title import TitleBlock

_MARGIN = 8.0
_LINE = 5.0
_SHARE = 0.75
_LETTER_MM = _SHARE * 2.2
"""Width of a letter of the legend, on the wide side."""
_PIECE = Style(fill=None, stroke="#b0b0b0", stroke_width_mm=0.1)
_CAUTION = (
    "A needle that strikes a bead or stone can break: sew marks before pieces are set, "
    "shield the eyes, follow the machine maker's instructions."
)
_BACK = "MIRRORED: hoop the cloth with its back up"
_STRIKES = (
    "A needle that strikes a bead or stone can break and fly: pieces are on the cloth while later "
    "blocks are sewn. Keep hands out of the hoop, shield the eyes, go slowly, follow the machine "
    "maker's instructions."
)
_FIELD = Style(fill=None, stroke="#808080", stroke_width_mm=0.3, dash_mm=(3.0, 2.0))


def marks_drawing(plan: StitchPlan, hooping: Hooping, layout: Layout, title: TitleBlock) -> Drawing:
    """Return a file's marks at true size, as they lie in the hoop, with its stops below."""
    x0, y0, x1, y1 = _extent(plan, hooping)
    width = max(x1 - x0 + 2 * _MARGIN, 120.0)
    words = _wrapped(_words(plan, hooping), width)
    head = _head(plan, hooping, title, width)
    top = _MARGIN + _LINE * (len(head) + 1)
    height = top + (y1 - y0) + _MARGIN + _LINE * (len(words) + 1)
    shift = np.array([_MARGIN - x0, top - y0])
    layers = [
        Layer("field", tuple(_field(plan, hooping, shift))),
        Layer("pieces", tuple(_pieces(hooping, layout, shift))),
    ]
    of_base = {stop.block for stop in hooping.stops if stop.base}
    # What lies beneath is drawn beneath, whenever it is sewn.
    for number in sorted(range(len(hooping.design.blocks)), key=lambda n: n not in of_base):
        threads = _threads(hooping.design.blocks[number], shift, faint=number in of_base)
        layers.append(Layer(f"block-{number + 1}", (threads,)))
    below = top + (y1 - y0) + _MARGIN + _LINE
    text: list[Item] = [
        Words(_MARGIN, _MARGIN + 1.0 + _LINE * row, line, size, bold=bold)
        for row, (line, size, bold) in enumerate(head)
    ]
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
        x, y = hooping.field_middle_mm
        x0, y0 = min(x0, x - half_w), min(y0, y - half_h)
        x1, y1 = max(x1, x + half_w), max(y1, y + half_h)
    return x0, y0, x1, y1


def _field(plan: StitchPlan, hooping: Hooping, shift: Floats) -> list[Item]:
    """Return the field, and a cross where the file starts."""
    cross = [np.array([[-4.0, 0.0], [4.0, 0.0]]), np.array([[0.0, -4.0], [0.0, 4.0]])]
    items: list[Item] = [
        Lines(tuple(line + shift for line in cross), Style(stroke="#808080", stroke_width_mm=0.2))
    ]
    ring = field_ring(plan, hooping)
    return items if ring is None else [*items, Lines((ring + shift,), _FIELD, closed=True)]


def field_ring(plan: StitchPlan, hooping: Hooping) -> Floats | None:
    """Return the edge of the field that a hooping can sew, in stitch mm; None without a hoop."""
    if plan.hoop is None:
        return None
    a, b = (side / 2.0 for side in plan.hoop.field_mm)
    if plan.hoop.shape == "rectangle":
        ring = np.array([[-a, -b], [a, -b], [a, b], [-a, b]])
    else:
        cos, sin = directions(np.linspace(0.0, 357.0, 120))
        ring = np.stack([a * cos, b * sin], axis=1)
    placed: Floats = ring + np.array(hooping.field_middle_mm)
    return placed


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


def _threads(block: ThreadBlock, shift: Floats, *, faint: bool) -> Lines:
    """Return a block's runs of stitches; a base design lies lightly under the marks."""
    colour = mix(block.hex, "#ffffff", 0.6) if faint else block.hex
    lines = tuple(run + shift for run in runs_of(block))
    return Lines(lines, Style(stroke=colour, stroke_width_mm=0.25))


def _head(
    plan: StitchPlan, hooping: Hooping, title: TitleBlock, width_mm: float
) -> list[tuple[str, float, bool]]:
    """Return the lines above the field: words, size in mm, whether bold."""
    lines = [
        (title.words, 3.0, True),
        (_place(plan, hooping), 2.5, False),
        (_BACK if hooping.mirrored else "", 2.5, True),
        (title.state, 2.5, True),
    ]
    return [
        (part, size, bold)
        for line, size, bold in lines
        for part in textwrap.wrap(line, int((width_mm - 2 * _MARGIN) / (_SHARE * size)))
    ]


def _place(plan: StitchPlan, hooping: Hooping) -> str:
    parts = [f"file {hooping.design.name}"]
    if len(plan.hoopings) > 1:
        parts.append(f"hooping {hooping.number + 1}")
    if plan.hoop is not None:
        width, height = plan.hoop.field_mm
        parts.append(f"{plan.hoop.name}, field {width:g} x {height:g} mm")
        parts.append(f"position {hooping.position}")
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
    then = "Stop and" if plan.sets_at_stops else "When all is sewn,"
    lines = []
    for stop in hooping.stops:
        words = f"{then} {stop.words}"
        if stop.base:
            words = f"{stop.words[0].upper()}{stop.words[1:]}, {stop.count} stitches"
        elif stop.code == CROSSES:
            words = f"Later, {stop.words}"
        lines.append((stop.hex, f"block {stop.block + 1}: {stop.code}. {words}."))
    sewn = f"{effort.stitches} stitches, {effort.trims} trims, about {minutes:.1f} min"
    lines.append(("", f"{sewn} at {speed:g} stitches a minute."))
    if plan.hoop is not None and max(abs(v) for v in hooping.field_middle_mm) > 0.05:
        start = move_words(-np.array(hooping.field_middle_mm))
        lines.append(("", f"The file starts {start} of the field's middle: set the machine so."))
    return [*lines, ("", _STRIKES if plan.sets_at_stops else _CAUTION)]

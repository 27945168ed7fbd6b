"""A template's sheet as it is looked at before it is cut: with the walls that are too thin."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.layout.layout import Layout
from embellish.outputs.drawing.drawing import Chains, Circles, Drawing, Item, Layer, Lines, Style
from embellish.outputs.template_drawing import part_drawing
from embellish.plans.templates.parts import Template, TemplatePart
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.templates.walls import thin_walls

_RING_MM: Final = 2.0
_SEEN_MM: Final = 0.35
"""A cut is drawn as thin as a blade; on a screen, that small, it would hardly be seen."""
_LOOK: Final = Style(stroke="#a3201a", stroke_width_mm=0.5)


def thin_places(plan: TemplatePlan, template: Template, layout: Layout) -> Floats:
    """Return the middles of the seats between which a template's wall is too thin.

    Parameters
    ----------
    layout
        That the plan is of.

    Returns
    -------
    array of shape (m, 2, 2)
        Both seats of each pair, layout mm.
    """
    walls = thin_walls(layout, template.rows, plan.clearance_mm, plan.settings.wall_mm)
    found: Floats = layout.xy[walls.seats].reshape(-1, 2, 2)
    return found


def part_look(part: TemplatePart, plan: TemplatePlan, thin: Floats, stop: str = "") -> Drawing:
    """Return a part's drawing with a ring about each wall that is too thin.

    Parameters
    ----------
    thin : array of shape (m, 2, 2)
        As `thin_places` returns them.
    stop
        Words stamped across it.
    """
    drawing = part_drawing(part, plan.settings, stop)
    ends = part.to_template(thin.reshape(-1, 2)).reshape(-1, 2, 2)
    middle = ends.mean(axis=1)
    size = np.array([part.width_mm, part.height_mm])
    here = ((middle >= 0.0) & (middle <= size)).all(axis=1)
    if not here.any():
        return drawing
    rings = Circles(middle[here], np.full(int(here.sum()), _RING_MM), _LOOK)
    layer = Layer("too-thin", (rings, Lines(tuple(ends[here]), _LOOK)))
    return replace(drawing, layers=(*drawing.layers, layer))


def bolder(drawing: Drawing) -> Drawing:
    """Return a drawing for the eye: its thinnest lines wide enough to be seen on a screen."""
    layers = tuple(
        replace(layer, items=tuple(_bolder(item) for item in layer.items))
        for layer in drawing.layers
    )
    return replace(drawing, layers=layers)


def _bolder(item: Item) -> Item:
    if not isinstance(item, (Circles, Chains, Lines)) or item.style.stroke is None:
        return item
    width = max(item.style.stroke_width_mm, _SEEN_MM)
    return replace(item, style=replace(item.style, stroke_width_mm=width))

"""How long templates take. Run ``python -m tests.benchmarks templates``.

Targets are those of large jobs: a template of 1e5 holes is planned and written in a few looks at
every neighbour pair (kd, see ``tests.benchmarks.yardstick``).
"""

from __future__ import annotations

import numpy as np

from embellish.outputs.drawing.drawing import Circles, Drawing, Layer, Style
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.template_drawing import part_drawing
from embellish.outputs.templates import template_files
from embellish.plans.lifts import plan_lifts
from embellish.plans.sheets import Sheetful, nest
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from tests.benchmarks.yardstick import kd_seconds, seconds, tell
from tests.plans.template_cases import SS6, SS10_CLEAR, lattice

PITCH_MM = 3.8


def many_holes() -> None:
    """One template of about 1e5 round holes of two sizes."""
    layout = lattice([SS10_CLEAR, SS6], 316, 316, PITCH_MM, (0, 1, 0, 0))
    kd = kd_seconds(layout.xy, PITCH_MM)
    plan = plan_templates(layout, TemplateSettings(), 24)
    took = seconds(lambda: plan_templates(layout, TemplateSettings(), 24))
    tell("plan a template of 1e5 holes", took / kd, 3.0, "kd")
    part = plan.templates[0].parts[0]
    tell("its SVG", seconds(lambda: svg_bytes(part_drawing(part, plan.settings))) / kd, 1.0, "kd")
    like = plan_templates(lattice([SS10_CLEAR], 316, 316, PITCH_MM), TemplateSettings())
    one = like.templates[0].parts[0]
    tell(
        "SVG of one size",
        seconds(lambda: svg_bytes(part_drawing(one, like.settings))) / kd,
        1.0,
        "kd",
    )
    tell("all its files", seconds(lambda: template_files(plan)) / kd, 3.0, "kd")
    tell("its lifts", seconds(lambda: plan_lifts(layout, plan)) / kd, 1.0, "kd")


def more_rows() -> None:
    """The SVG of 1e6 holes, to see how cost grows: the rows alone, not the plan."""
    side = np.arange(1000) * PITCH_MM
    xy = np.round(np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2), 6)
    style = Style(stroke="#ff0000", stroke_width_mm=0.1)
    circles = Circles(xy, np.full(len(xy), 1.6), style)
    drawing = Drawing(3800.0, 3800.0, (Layer("cut", (circles,)),))
    kd = kd_seconds(xy, PITCH_MM)
    tell("SVG of 1e6 holes", seconds(lambda: svg_bytes(drawing), 1) / kd, 1.0, "kd")


def sheets() -> None:
    """Forty templates of different sizes, a hundred copies each, on mats."""
    sizes = np.random.default_rng(3).uniform(30.0, 140.0, (40, 2)).tolist()
    things = [Sheetful(str(n), w, h, 100) for n, (w, h) in enumerate(sizes)]
    tell("nest 4 000 parts", seconds(lambda: nest(things, (304.8, 304.8)), 1), 30.0, "s")
    nesting = nest(things[:40], (304.8, 304.8))
    tell("their waste", 100.0 * nesting.waste, 15.0, "%")


def tiles() -> None:
    """A template of 1e4 holes cut into tiles of a craft cutter's mat."""
    layout = lattice([SS10_CLEAR], 100, 100, PITCH_MM)
    asked = TemplateSettings(sheet=(304.8, 304.8))
    tell("cut 1e4 holes into tiles", seconds(lambda: plan_templates(layout, asked), 1), 10.0, "s")


BENCHMARKS = (many_holes, more_rows, sheets, tiles)

"""Templates against sizes, standards and a reference library from outside the project."""

from __future__ import annotations

import io
import math
import re

import numpy as np
import pytest
from lxml import etree
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate

from embellish.catalogue.shapes import piece_outline
from embellish.geometry.outlines import Outline
from embellish.layout.layout import Layout
from embellish.outputs.templates import template_files
from embellish.plans.templates.groups import extent_of
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from embellish.units import MM_PER_INCH
from tests.plans.template_cases import NAVETTE, layout_of, stone


@pytest.mark.parametrize(
    ("label", "least", "most"),
    # Two published tables of stone sizes disagree on SS10: 2.70-2.90 and 2.70-2.80 mm.
    [("SS10", 2.7, 2.9), ("SS10", 2.7, 2.8)],
)
def test_millimetres_decide_and_not_the_label(label, least, most):
    layout = layout_of([stone("A", least, most, size=label)], [(0.0, 0.0)])
    plan = plan_templates(layout, TemplateSettings(clearance_mm=0.3))
    radius = plan.templates[0].parts[0].holes.radius_mm
    assert radius[0] == pytest.approx((most + 0.3) / 2)


def test_a_template_fits_the_mats_of_craft_cutters():
    """Mats of 12 x 12 in (304.8 mm), read in a user forum; 1 in = 25.4 mm exactly."""
    mat = 12 * MM_PER_INCH
    assert mat == pytest.approx(304.8)
    wide = layout_of(
        [stone("A", 3.8, 4.0)], [(6.0 * x, 6.0 * y) for x in range(70) for y in range(10)]
    )
    for part in plan_templates(wide, TemplateSettings(sheet=(mat, mat))).templates[0].parts:
        assert max(part.width_mm, part.height_mm) <= mat + 1e-6


def test_one_user_unit_is_a_millimetre():
    """SVG 2, 8.2: width in mm over a viewBox of as many units makes a unit a millimetre."""
    plan = plan_templates(layout_of([stone("A", 3.8, 4.0)], [(0.0, 0.0)]), TemplateSettings())
    root = etree.fromstring(template_files(plan)["templates/template-1.svg"])
    _, _, width, height = str(root.get("viewBox")).split()
    assert (root.get("width"), root.get("height")) == (f"{width}mm", f"{height}mm")
    (part,) = plan.templates[0].parts
    assert (float(width), float(height)) == (part.width_mm, part.height_mm)


def test_a_shaped_hole_is_the_buffer_that_a_geometry_library_makes():
    """shapely.buffer with many segments: inside the true offset by at most the sagitta."""
    layout = layout_of([NAVETTE], [(0.0, 0.0)], angle=[30.0])
    plan = plan_templates(layout, TemplateSettings(clearance_mm=0.4))
    (part,) = plan.templates[0].parts
    own = Polygon(part.to_template.inverse()(part.holes.ring(0, 0.005)))
    # A navette of 8 x 4 mm: two arcs of radius (8² + 4²) / (4 · 4) = 5 mm.
    centre, radius = 3.0, 5.0
    lens = Polygon(_arc(0.0, centre, radius)).intersection(Polygon(_arc(0.0, -centre, radius)))
    grown = rotate(lens.buffer(0.2, quad_segs=128), 30.0, origin=(0, 0))
    # Chords 0.6 micrometres inside their arcs, around 21 mm of outline.
    assert own.symmetric_difference(grown).area < 0.015
    assert own.hausdorff_distance(grown) < 2e-3


def _arc(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    turns = np.linspace(0.0, 2.0 * math.pi, 4000, endpoint=False)
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns.tolist()]


def test_extents_are_those_of_textbook_shapes():
    """A circle: width = diameter, perimeter pi d. A square of side s: width s, diagonal s√2."""
    round_one = extent_of(plan_outline("round", 4.0))
    assert round_one.width_mm == round_one.diameter_mm == 4.0
    assert round_one.perimeter_mm == pytest.approx(4.0 * math.pi)
    square = extent_of(plan_outline("square", 4.0))
    assert square.width_mm == pytest.approx(4.0, abs=0.01)
    assert square.diameter_mm == pytest.approx(4.0 * math.sqrt(2.0), rel=0.2)
    assert square.area_mm2 <= 16.0 + 1e-6


def plan_outline(shape: str, size: float) -> Outline:
    return piece_outline(stone("A", size, size, shape=shape))


def test_shaped_holes_read_by_another_library_are_true_in_dxf():
    """ezdxf flattens the bulges itself; shapely measures how far its line strays from ours."""
    ezdxf = pytest.importorskip("ezdxf")
    from ezdxf import path as ezdxf_path

    plan = plan_templates(turned_navettes(), TemplateSettings(formats=("dxf",), clearance_mm=0.4))
    (part,) = plan.templates[0].parts
    text = template_files(plan)["templates/template-1.dxf"].decode()
    holes = ezdxf.read(io.StringIO(text)).modelspace().query('LWPOLYLINE[layer=="cut"]')
    assert len(holes) == len(part.rows)
    for number, hole in enumerate(holes):
        line = np.array(
            [[v.x, part.height_mm - v.y] for v in ezdxf_path.make_path(hole).flattening(1e-4)]
        )
        own = Polygon(part.holes.ring(number, 0.005))
        assert own.hausdorff_distance(Polygon(line)) < 0.01


def test_shaped_holes_of_a_plotter_file_keep_to_half_a_unit():
    """HP-GL/2: a plotter unit is 0.025 mm; the parser is this test's own."""
    plan = plan_templates(turned_navettes(), TemplateSettings(formats=("plt",), clearance_mm=0.4))
    (part,) = plan.templates[0].parts
    text = template_files(plan)["templates/template-1.plt"].decode()
    strokes = re.findall(r"PU(\d+,\d+);PD([\d,]+);PU;", text)[: len(part.rows)]
    for number, (start, rest) in enumerate(strokes):
        spots = (
            np.array([int(each) for each in f"{start},{rest}".split(",")]).reshape(-1, 2) * 0.025
        )
        spots[:, 1] = part.height_mm - spots[:, 1]
        own = LineString(
            np.vstack([part.holes.ring(number, 0.002), part.holes.ring(number, 0.002)[:1]])
        )
        far = max(own.distance(Point(spot)) for spot in spots)
        # Half a unit each way, and what our own ring's chords stray.
        assert far <= 0.0125 * math.sqrt(2.0) + 1e-3
        assert own.hausdorff_distance(LineString(spots)) < 0.0125 * math.sqrt(2.0) + 0.006


def turned_navettes() -> Layout:
    xy = [(14.0 * x, 13.0 * y) for x in range(4) for y in range(3)]
    return layout_of([NAVETTE], xy, angle=[30.0 * index for index in range(len(xy))])

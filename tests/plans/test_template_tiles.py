from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, union_all

from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.plans.templates.parts import TemplatePart
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import TemplatePlan, plan_templates
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS16, lattice, layout_of


def trim_in_layout(part: TemplatePart) -> Polygon:
    return Polygon(part.to_template.inverse()(part.trim))


def hole_distances(part: TemplatePart) -> np.ndarray:
    """Distance of each hole from the edge of its own sheet; below 0 where it is cut."""
    edge = Polygon(part.trim)
    free = []
    for index, (x, y) in enumerate(part.holes.xy.tolist()):
        if index in part.holes.shaped:
            ring = Polygon(part.holes.ring(index, 0.05))
            free.append(edge.exterior.distance(ring) if edge.contains(ring) else -1.0)
        else:
            radius = float(part.holes.radius_mm[index])
            inside = edge.contains(Point(x, y))
            free.append(edge.exterior.distance(Point(x, y)) - radius if inside else -1.0)
    return np.array(free)


def check_tiling(layout: Layout, plan: TemplatePlan, sheet: tuple[float, float]) -> None:
    for template in plan.templates:
        rows = np.concatenate([part.rows for part in template.parts])
        assert sorted(rows.tolist()) == sorted(template.rows.tolist())
        for part in template.parts:
            assert max(part.width_mm, part.height_mm) <= max(sheet) + 1e-6
            assert min(part.width_mm, part.height_mm) <= min(sheet) + 1e-6
            np.testing.assert_allclose(
                part.holes.xy, part.to_template(layout.xy[part.rows]), atol=1e-9
            )
        regions = [trim_in_layout(part) for part in template.parts]
        total = sum(region.area for region in regions)
        # Tiles do not overlap, but for the rounding of their corners.
        assert total - union_all(regions).area < 1e-3


@given(
    turn=st.floats(0.0, 60.0),
    gap=st.floats(0.9, 3.0),
    columns=st.integers(8, 26),
    rows=st.integers(8, 26),
    side=st.sampled_from([(90.0, 90.0), (110.0, 80.0), (200.0, 75.0)]),
)
@settings(max_examples=25, deadline=None)
def test_seams_run_between_holes(turn, gap, columns, rows, side):
    layout = lattice([SS10_CLEAR], columns, rows, 2.9 + gap).mapped(Affine.turn(turn)).rounded()
    plan = plan_templates(layout, TemplateSettings(sheet=side))
    assert [each.code for each in plan.findings if each.severity == "error"] == []
    check_tiling(layout, plan, side)
    for part in plan.templates[0].parts:
        assert (hole_distances(part) > 0.2).all()


def scattered(count: int, seed: int) -> Layout:
    """Mixed round and shaped pieces, each kept only where it leaves 0.9 mm to those before."""
    random = np.random.default_rng(seed)
    kept: list[tuple[float, float, int]] = []
    reach = [1.45, 2.0, 4.0]
    for x, y in random.uniform(0.0, 130.0, (count, 2)).tolist():
        sort = int(random.integers(0, 3))
        if all(np.hypot(x - a, y - b) > reach[sort] + reach[other] + 0.9 for a, b, other in kept):
            kept.append((x, y, sort))
    return layout_of(
        [SS10_CLEAR, SS16, NAVETTE],
        [(x, y) for x, y, _ in kept],
        [sort for _, _, sort in kept],
        angle=random.uniform(0.0, 360.0, len(kept)).round(3).tolist(),
    ).rounded()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_seams_run_between_shaped_holes_too(seed):
    layout = scattered(1500, seed)
    plan = plan_templates(layout, TemplateSettings(sheet=(100.0, 100.0), group="one"))
    assert len(plan.templates[0].parts) > 1
    check_tiling(layout, plan, (100.0, 100.0))
    for part in plan.templates[0].parts:
        assert (hole_distances(part) > 0.1).all()


def test_ticks_fall_together_on_the_tiles_of_a_seam():
    layout = lattice([SS10_CLEAR], 30, 10, 5.0)
    plan = plan_templates(layout, TemplateSettings(sheet=(110.0, 130.0)))
    left, right = plan.templates[0].parts
    first, second = (
        np.array([part.to_template.inverse()(tick) for tick in part.matches])
        for part in (left, right)
    )
    assert len(first) == len(second) >= 2
    np.testing.assert_allclose(first[:, 0], second[:, 0], atol=1e-9)
    # Each runs from the seam into its own tile, and cuts no hole.
    assert (first[:, 1, 0] < first[:, 0, 0]).all()
    assert (second[:, 1, 0] > second[:, 0, 0]).all()
    for part in (left, right):
        for tick in part.matches:
            line = LineString(tick)
            free = [line.distance(Point(*xy)) for xy in part.holes.xy.tolist()]
            assert (np.array(free) > part.holes.radius_mm).all()


def test_a_sheet_is_turned_before_it_is_cut():
    layout = lattice([SS10_CLEAR], 30, 8, 5.0)
    plan = plan_templates(layout, TemplateSettings(sheet=(120.0, 200.0)))
    (part,) = plan.templates[0].parts
    assert part.width_mm > 120.0


def test_tiles_carry_the_registration_holes_that_lie_on_them():
    layout = lattice([SS10_CLEAR], 40, 30, 5.0)
    plan = plan_templates(layout, TemplateSettings(sheet=(130.0, 130.0)))
    parts = plan.templates[0].parts
    assert len(parts) > 2
    found = np.concatenate([part.to_template.inverse()(part.registration) for part in parts])
    order = np.lexsort(found.T)
    wanted = plan.registration_mm[np.lexsort(plan.registration_mm.T)]
    np.testing.assert_allclose(found[order], wanted, atol=1e-9)


def test_tiles_that_one_press_takes_are_lifted_at_once():
    layout = lattice([SS10_CLEAR], 30, 10, 5.0)
    at_once = plan_templates(layout, TemplateSettings(sheet=(110.0, 130.0), platen=(400.0, 500.0)))
    assert (len(at_once.templates[0].parts), at_once.templates[0].lifts) == (2, 1)
    apart = plan_templates(layout, TemplateSettings(platen=(110.0, 130.0)))
    assert (len(apart.templates[0].parts), apart.templates[0].lifts) == (2, 2)


def test_a_sheet_too_small_for_a_tile_is_told():
    plan = plan_templates(lattice([SS16], 20, 20, 6.0), TemplateSettings(sheet=(30.0, 25.0)))
    (found,) = plan.findings
    assert (found.code, found.severity) == ("sheet-too-small", "error")
    assert len(plan.templates[0].parts) == 1


def test_holes_that_run_into_each_other_leave_no_seam():
    layout = lattice([SS6], 60, 60, 2.05)
    plan = plan_templates(layout, TemplateSettings(sheet=(100.0, 100.0)))
    codes = {each.code for each in plan.findings}
    assert "wall-too-thin" in codes
    assert codes & {"no-seam", "seam-too-near"}

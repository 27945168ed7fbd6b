from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from embellish.layout.layout import Layout
from embellish.plans.lifts import plan_lifts
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from embellish.plans.transfer import TransferPlan, plan_transfer
from tests.plans.template_cases import NAVETTE, SS10_CLEAR, SS10_RED, SS16, layout_of

PLACES = (
    {"mark": "collar seam", "down_mm": 90.0},
    {"mark": "centre front", "right_mm": 0.0},
    {"mark": "left shoulder point", "right_mm": -120.0, "down_mm": 140.0},
)


def laid(layout: Layout, **asked: Any) -> TransferPlan | None:
    plan = plan_templates(layout, TemplateSettings.model_validate(asked), 24)
    return plan_transfer(layout, plan, plan_lifts(layout, plan))


def two_far_apart() -> Layout:
    return layout_of([SS10_CLEAR, SS10_RED], [(10.0, 20.0), (110.0, 60.0)], [0, 1])


def test_distances_run_from_each_mark_to_the_middle_and_to_the_pieces():
    plan = laid(two_far_apart(), place=PLACES)
    assert plan is not None
    assert plan.centre_mm == pytest.approx((60.0, 40.0))
    first, second = plan.sheets
    # The first piece is 2.9 mm at most: it begins at 8.55 and 18.55.
    assert [(each.mark, each.way, each.to_centre_mm) for each in first.marks] == [
        ("collar seam", "down", 90.0),
        ("centre front", "right", 0.0),
        ("left shoulder point", "right", -120.0),
        ("left shoulder point", "down", 140.0),
    ]
    # The collar seam lies at y = 40 − 90, the centre front at x = 60, the point at (180, −100).
    assert [each.to_pieces_mm for each in first.marks] == pytest.approx(
        [18.55 + 50.0, 8.55 - 60.0, 8.55 - 180.0, 18.55 + 100.0]
    )
    assert first.middle_from_centre_mm == pytest.approx((-50.0, -20.0))
    assert second.middle_from_centre_mm == pytest.approx((50.0, 20.0))


def test_a_sheet_reaches_over_its_pieces_and_pins_are_those_of_the_templates():
    layout = two_far_apart()
    templates = plan_templates(layout, TemplateSettings(), 24)
    plan = laid(layout)
    assert plan is not None
    for sheet in plan.sheets:
        assert np.subtract(sheet.pieces_mm, sheet.sheet_mm) == pytest.approx([10, 10, -10, -10])
    np.testing.assert_array_equal(plan.registration_mm, templates.registration_mm)
    assert plan.quantity == 24


def test_face_down_sheets_are_laid_too_and_without_any_there_is_no_plan():
    face_down = laid(layout_of([NAVETTE], [(0.0, 0.0)], set_by=("face-down",)))
    assert face_down is not None
    assert len(face_down.registration_mm) == 0
    assert laid(layout_of([SS16], [(0.0, 0.0)], set_by=("sewn",))) is None


def test_a_place_says_at_least_one_way():
    with pytest.raises(ValidationError, match="no distance from its mark"):
        TemplateSettings.model_validate({"place": [{"mark": "hem"}]})

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from embellish.errors import JobError
from embellish.plans.cut_sheets import SheetPlan, plan_sheets
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import TemplatePlan, plan_templates
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS10_RED, SS16, lattice

MIX = [SS10_CLEAR, SS10_RED, SS16, SS6]


def planned(pitch: float = 6.0, **asked: Any) -> TemplatePlan:
    layout = lattice(MIX, 10, 8, pitch, (0, 1, 2, 3))
    return plan_templates(layout, TemplateSettings(**asked), 24)


def laid(*plans: TemplatePlan) -> SheetPlan:
    sheets = plan_sheets(plans)
    assert sheets is not None
    return sheets


@pytest.mark.parametrize("asked", [{}, {"cut_from": "back"}, {"copies": 3}, {"roll": True}])
def test_every_copy_lies_on_a_sheet_clear_of_the_others(asked):
    plan = planned(sheet=(200.0, 180.0), sheet_gap_mm=4.0, **asked)
    sheets = laid(plan)
    parts = [part.name for template in plan.templates for part in template.parts]
    counted = sorted(each.part.name for each in sheets.parts)
    assert counted == sorted(parts * asked.get("copies", 1))
    for sheet in sheets.sheets:
        trims = [Polygon(each.to_sheet(each.part.trim)) for each in sheet.parts]
        for each in trims:
            x0, y0, x1, y1 = each.bounds
            assert min(x0, y0) >= 0.0
            assert x1 <= sheet.width_mm + 1e-6
            assert y1 <= sheet.height_mm + 1e-6
        assert all(a.distance(b) >= 4.0 - 1e-6 for a, b in combinations(trims, 2))
    assert {each.copy for each in sheets.parts} == set(range(1, asked.get("copies", 1) + 1))


def test_maps_lead_from_the_layout_to_the_holes_on_the_sheet_and_keep_its_side():
    layout = lattice([SS10_CLEAR, NAVETTE], 8, 3, 12.0, (0, 1))
    for back, sheet in (("front", (140.0, 200.0)), ("back", (140.0, 200.0)), ("front", (90, 130))):
        plan = plan_templates(layout, TemplateSettings(sheet=sheet, cut_from=back, group="size"))
        sheets = laid(plan)
        assert {each.to_sheet.b for each in sheets.parts} == ({1.0} if sheet[0] == 90 else {0.0})
        for each in sheets.parts:
            here = each.part.holes.mapped(each.to_sheet)
            np.testing.assert_allclose(here.xy, each.to_template(layout.xy[each.part.rows]))
            assert each.to_template.mirrors == (back == "back")
            for number, outline in here.shaped.items():
                own = each.to_sheet(each.part.holes.shaped[number].points)
                np.testing.assert_allclose(
                    np.sort(outline.points, axis=0), np.sort(own, axis=0), atol=1e-9
                )


def test_jobs_share_sheets_and_copies_are_each_jobs_own():
    one, two = planned(sheet=(600.0, 600.0)), planned(5.5, sheet=(600.0, 600.0), copies=2)
    sheets = laid(one, two)
    assert len(sheets.sheets) == 1
    jobs = [each.job for each in sheets.parts]
    assert jobs.count(0) == len([p for t in one.templates for p in t.parts])
    assert jobs.count(1) == 2 * len([p for t in two.templates for p in t.parts])
    apart = laid(one).nesting.taken_mm2 + laid(two).nesting.taken_mm2
    assert sheets.nesting.taken_mm2 < apart


def test_jobs_on_unlike_sheets_are_refused():
    with pytest.raises(JobError, match="300 x 200 as sheet, another 200 x 200"):
        plan_sheets([planned(sheet=(300.0, 200.0)), planned(sheet=(200.0, 200.0))])
    with pytest.raises(JobError, match="thickness"):
        plan_sheets(
            [planned(sheet=(300.0, 200.0)), planned(sheet=(300.0, 200.0), thickness_mm=0.4)]
        )


def test_without_a_sheet_or_a_template_there_is_none():
    assert plan_sheets([planned()]) is None
    assert plan_sheets([]) is None


def test_a_part_that_no_sheet_takes_is_told_by_name():
    sheets = laid(planned(sheet=(40.0, 40.0)))
    assert sheets.parts == ()
    assert {(each.code, each.severity) for each in sheets.findings} == {
        ("sheet-too-small", "error")
    }
    assert "template-1" in sheets.findings[0].message


def test_a_roll_is_cut_off_where_its_last_part_ends():
    sheets = laid(planned(sheet=(200.0, 1000.0), roll=True))
    (sheet,) = sheets.sheets
    ends = [each.to_sheet(each.part.trim)[:, 1].max() for each in sheet.parts]
    # The page reaches 2 mm over the trim.
    assert sheet.height_mm == pytest.approx(max(ends) + 2.0)
    assert sheets.nesting.taken_mm2 == pytest.approx(200.0 * sheet.height_mm)
    assert sheets.words.startswith(f"{sheet.height_mm:.0f} mm of a roll 200 mm wide")

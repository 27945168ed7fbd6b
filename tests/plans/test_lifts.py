from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.layout.layout import Layout
from embellish.plans.lift_parts import in_parts
from embellish.plans.lifts import LiftPlan, plan_lifts
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS10_RED, SS16, lattice, layout_of


def lifted(layout: Layout, quantity: int = 24, **asked: object) -> LiftPlan:
    settings = TemplateSettings.model_validate(asked)
    return plan_lifts(layout, plan_templates(layout, settings, quantity))


def test_one_logo_for_24_garments_is_one_template_and_24_lifts():
    layout = lattice([SS10_CLEAR], 8, 8, 4.0)
    plan = plan_templates(layout, TemplateSettings(), 24)
    lifts = plan_lifts(layout, plan)
    assert len(plan.templates) == 1
    assert (lifts.lift_count, lifts.pass_count) == (24, 24)


@pytest.mark.parametrize("asked", [{}, {"platen": (120.0, 120.0)}, {"neighbours": "split"}])
def test_every_template_seat_is_lifted_once_a_garment(asked):
    layout = lattice([SS10_CLEAR, SS10_RED, SS16, SS6], 20, 20, 6.0, (0, 1, 2, 3))
    rows = np.concatenate([lift.rows for lift in lifted(layout, **asked).lifts])
    assert sorted(rows.tolist()) == list(range(len(layout)))


def test_neighbours_of_two_templates_share_a_transfer_sheet():
    layout = lattice([SS10_CLEAR, SS10_RED], 8, 8, 5.0, (0, 1))
    plan = lifted(layout)
    (lift,) = plan.lifts
    assert lift.sources == ("template-1", "template-2")
    assert plan.findings == ()


def test_splitting_neighbours_is_told_as_a_note_where_it_was_asked_for():
    layout = lattice([SS10_CLEAR, SS10_RED], 8, 8, 5.0, (0, 1))
    plan = lifted(layout, neighbours="split")
    assert len(plan.lifts) == 2
    (found,) = plan.findings
    assert (found.code, found.severity) == ("neighbours-split", "note")


def test_tiles_lifted_one_by_one_split_neighbours_and_say_so():
    layout = lattice([SS10_CLEAR], 30, 10, 5.0)
    plan = lifted(layout, platen=(110.0, 130.0))
    assert [lift.sources for lift in plan.lifts] == [
        ("template-1_tile-1",),
        ("template-1_tile-2",),
    ]
    (found,) = plan.findings
    assert (found.code, found.severity) == ("neighbours-split", "warning")
    assert len(plan.passes) == 2


def far_apart() -> Layout:
    return layout_of([SS10_CLEAR, SS10_RED], [(0.0, 0.0), (100.0, 0.0)], [0, 1], lay=[0, 0])


def test_templates_far_apart_are_lifted_and_pressed_together_where_the_platen_takes_both():
    assert len(lifted(far_apart()).lifts) == 2
    assert len(lifted(far_apart()).passes) == 2
    together = lifted(far_apart(), platen=(380.0, 380.0), registration_count=0)
    assert [each.lifts for each in together.passes] == [(0, 1)]
    assert together.pass_count == 24


def test_lowest_pieces_are_lifted_first():
    layout = lattice([SS16, SS6], 8, 8, 5.0, (0, 1))
    plan = plan_templates(layout, TemplateSettings(group="size"))
    (lift,) = plan_lifts(layout, plan).lifts
    first = next(each for each in plan.templates if each.name == lift.sources[0])
    assert first.order == ("SS6-A",)


def test_face_down_lays_take_a_transfer_sheet_of_their_own():
    layout = layout_of(
        [NAVETTE, SS16],
        [(0.0, 0.0), (60.0, 0.0), (63.0, 5.0)],
        [0, 1, 0],
        lay=[0, 1, 2],
        set_by=("face-down", "template", "hand"),
    )
    plan = lifted(layout, 2)
    assert [(lift.kind, lift.rows.tolist()) for lift in plan.lifts] == [
        ("template", [1]),
        ("face-down", [0]),
    ]
    assert plan.lift_count == 4


def test_a_pass_knows_its_heights_and_what_must_wait():
    layout = layout_of(
        [SS6, SS16, NAVETTE],
        [(0.0, 0.0), (20.0, 0.0), (10.0, 3.0), (90.0, 0.0)],
        [0, 1, 2, 2],
        lay=[0, 0, 1, 1],
        set_by=("template", "hand"),
    )
    (each,) = lifted(layout, 1).passes
    assert each.heights_mm == (1.0, 1.7)
    assert each.keep_out == ("NAV",)
    assert each.bounds_mm == pytest.approx((-1.05, -2.0, 22.0, 2.0))


def test_all_templates_go_on_one_sheet_where_that_is_asked():
    assert len(lifted(far_apart(), neighbours="all").lifts) == 1
    assert lifted(far_apart(), neighbours="all").lift_count == 24


def test_gathered_templates_need_registration():
    layout = lattice([SS10_CLEAR, SS10_RED], 8, 8, 5.0, (0, 1))
    (found,) = lifted(layout, registration_count=0).findings
    assert (found.code, found.severity) == ("gathered-unregistered", "error")
    assert "2 templates" in found.message
    assert lifted(layout, registration_count=4).findings == ()
    assert lifted(far_apart(), registration_count=0).findings == ()


def test_a_face_down_lay_larger_than_sheet_or_platen_takes_several():
    xy = [(6.0 * x, 9.0 * y) for x in range(40) for y in range(12)]
    layout = layout_of([NAVETTE], xy, set_by=("face-down",))
    plan = lifted(layout, 2, transfer=(150.0, 120.0), platen=(380.0, 380.0))
    assert [lift.sources for lift in plan.lifts] == [
        ("lay-0", "part 1 of 2"),
        ("lay-0", "part 2 of 2"),
    ]
    rows = np.concatenate([lift.rows for lift in plan.lifts])
    assert sorted(rows.tolist()) == list(range(len(layout)))
    for lift in plan.lifts:
        x0, y0, x1, y1 = lift.bounds_mm
        assert max(x1 - x0, y1 - y0) <= 150.0
        assert min(x1 - x0, y1 - y0) <= 120.0
    assert "neighbours-split" in [each.code for each in plan.findings]


@given(
    xy=st.lists(st.tuples(st.floats(0, 900), st.floats(0, 900)), min_size=1, max_size=60),
    long=st.floats(60, 500),
    share=st.floats(0.3, 1.0),
)
@settings(max_examples=60, deadline=None)
def test_parts_of_a_lift_fit_and_hold_every_piece_once(xy, long, share):
    layout = layout_of([SS16], xy, set_by=("face-down",))
    parts = in_parts(layout, np.arange(len(xy)), (long, long * share))
    assert sorted(np.concatenate(parts).tolist()) == list(range(len(xy)))
    for rows in parts:
        size = sorted(np.ptp(layout.xy[rows], axis=0) + 4.0)
        assert size[0] <= long * share + 1e-5
        assert size[1] <= long + 1e-5


def test_what_stands_anywhere_under_the_platen_waits():
    layout = layout_of(
        [SS16, NAVETTE],
        [(0.0, 0.0), (30.0, 0.0), (0.0, 175.0)],
        [0, 0, 1],
        lay=[0, 0, 1],
        set_by=("template", "sewn"),
    )
    assert lifted(layout, 1).passes[0].keep_out == ()
    # 380 mm about the middle at (15, 0) reach down to y = 190, and turned 230 mm to y = 115.
    assert lifted(layout, 1, platen=(380.0, 380.0)).passes[0].keep_out == ("NAV",)
    assert lifted(layout, 1, platen=(300.0, 230.0)).passes[0].keep_out == ()


def test_tiles_of_all_templates_have_the_same_seams_and_share_transfer_sheets():
    layout = lattice([SS10_CLEAR, SS10_RED], 40, 30, 5.0, (0, 1))
    asked = TemplateSettings(platen=(130.0, 130.0))
    plan = plan_templates(layout, asked, 24)
    first, second = plan.templates
    assert len(first.parts) == len(second.parts) > 2
    for one, two in zip(first.parts, second.parts, strict=True):
        assert one.tile == two.tile > 0
        np.testing.assert_allclose(
            one.to_template.inverse()(one.trim), two.to_template.inverse()(two.trim), atol=1e-9
        )
    lifts = plan_lifts(layout, plan)
    assert [len(lift.sources) for lift in lifts.lifts] == [2] * len(first.parts)
    assert lifts.lift_count == 24 * len(first.parts)
    apart = plan_lifts(
        layout, plan_templates(layout, asked.model_copy(update={"neighbours": "split"}))
    )
    assert len(apart.lifts) == 2 * len(first.parts)


def test_where_no_seam_suits_all_templates_each_has_its_own():
    # Holes of the two colours run into each other, and are kept apart in two templates.
    layout = lattice([SS10_CLEAR, SS10_RED], 60, 8, 3.1, (0, 1))
    plan = plan_templates(layout, TemplateSettings(platen=(110.0, 110.0), wall_mm=0.3))
    assert {part.tile for each in plan.templates for part in each.parts} == {0}
    lifts = plan_lifts(layout, plan)
    rows = np.concatenate([lift.rows for lift in lifts.lifts])
    assert sorted(rows.tolist()) == list(range(len(layout)))
    assert "neighbours-split" in [each.code for each in lifts.findings]

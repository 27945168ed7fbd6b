from __future__ import annotations

import numpy as np
import pytest

from embellish.layout.layout import Layout
from embellish.plans.lifts import LiftPlan, plan_lifts
from embellish.plans.template import plan_templates
from embellish.plans.template_settings import TemplateSettings
from tests.plans.template_cases import (
    NAVETTE,
    SS6,
    SS10_CLEAR,
    SS10_RED,
    SS16,
    lattice,
    layout_of,
)


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

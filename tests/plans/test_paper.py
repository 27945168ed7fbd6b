"""Patterns on paper: holes on seats, as near as the paper holds and no nearer, none left out."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.outlines import contains, placed
from embellish.layout.layout import Layout
from embellish.plans.paper import Pattern, plan_paper
from embellish.plans.paper_settings import PaperSettings
from embellish.plans.templates.holes import whole_outline
from tests.outputs.cast import ALL, layout

BOTH = PaperSettings(pounce=True, stencil=True, wash_away=True)


def samples(pattern: Pattern, hole: int) -> np.ndarray:
    """Points along the middle of one hole."""
    turn = np.radians(pattern.angle_deg[hole])
    steps = np.linspace(-0.5, 0.5, 41) * pattern.slot_mm[hole]
    along = np.array([np.cos(turn), np.sin(turn)])
    found: np.ndarray = pattern.xy[hole] + steps[:, None] * along
    return found


def free_mm(pattern: Pattern) -> float:
    """The least that stays between two holes."""
    points = [samples(pattern, hole) for hole in range(len(pattern.xy))]
    least = np.inf
    for one in range(len(points)):
        for two in range(one):
            apart = np.hypot(*(points[one][:, None] - points[two][None]).transpose(2, 0, 1))
            least = min(least, float(apart.min()))
    return least - pattern.hole_mm


@given(
    seats=st.lists(
        st.tuples(
            st.floats(0, 40),
            st.floats(0, 30),
            st.floats(0, 359.9),
            st.sampled_from([*[each.code for each in ALL], "SPRIG"]),
        ),
        min_size=1,
        max_size=12,
    )
)
@settings(max_examples=40, deadline=None)
def test_holes_lie_on_their_pieces_and_keep_apart(seats):
    laid = layout(seats)
    for pattern in plan_paper(laid, BOTH).patterns:
        assert len(pattern.xy) >= 1
        assert free_mm(pattern) >= pattern.apart_mm - 1e-3
        turn = np.radians(laid.angle_deg[pattern.seat])
        along = np.stack([np.cos(turn), np.sin(turn)], axis=1)
        wanted = laid.xy[pattern.seat] + along * pattern.along_mm[:, None]
        assert pattern.xy == pytest.approx(wanted, abs=2e-6)
        for hole, seat in enumerate(pattern.seat.tolist()):
            outline = whole_outline(laid.footprints[int(laid.footprint[seat])])
            x, y = laid.xy[seat].tolist()
            ground = placed(outline, x, y, float(laid.angle_deg[seat]))
            assert contains(ground, *samples(pattern, hole).T).all()


@given(pitch=st.floats(0.5, 6.0), count=st.integers(2, 60))
@settings(max_examples=40, deadline=None)
def test_a_row_of_any_pitch_is_a_line_of_holes_with_both_its_ends(pitch: float, count: int):
    """No seat is passed over but for a hole that is nearer to it than two holes may be."""
    laid = layout([(pitch * i, 0.0, 0.0, "BEAD") for i in range(count)])
    for pattern in plan_paper(laid, BOTH).patterns:
        room = pattern.hole_mm + pattern.apart_mm
        near = np.abs(laid.xy[:, None, 0] - pattern.xy[None, :, 0]).min(axis=1)
        assert near.max() < room
        assert 0 in pattern.seat
        assert (count - 1 in pattern.seat) or pitch * (count - 1) < room


def test_long_pieces_show_their_turn():
    laid = layout([(0.0, 0.0, 30.0, "NAVETTE"), (40.0, 0.0, 0.0, "STONE")])
    pounce, stencil = plan_paper(laid, BOTH).patterns
    assert pounce.seat.tolist().count(0) == 3
    assert sorted(np.sign(pounce.along_mm[pounce.seat == 0]).tolist()) == [-1.0, 0.0, 1.0]
    assert pounce.seat.tolist().count(1) == 1
    assert stencil.slot_mm[stencil.seat.tolist().index(0)] > 2.0
    assert stencil.slot_mm[stencil.seat.tolist().index(1)] == 0.0


def two_sides() -> Layout:
    laid = layout([(10.0, 0.0, 0.0, "STONE"), (30.0, 0.0, 0.0, "BEAD"), (50.0, 0.0, 0.0, "PEAR")])
    lays = (
        dataclasses.replace(laid.lays[0], set_by="template"),
        dataclasses.replace(laid.lays[0], set_by="sewn", worked_from="back"),
        dataclasses.replace(laid.lays[0], set_by="hand"),
    )
    return dataclasses.replace(laid, lays=lays, lay=np.array([0, 1, 2]))


def test_each_side_has_its_own_and_what_a_template_sets_has_none():
    plan = plan_paper(two_sides(), BOTH)
    assert [(each.kind, each.side) for each in plan.patterns] == [
        ("pounce", "front"),
        ("stencil", "front"),
        ("pounce", "back"),
        ("stencil", "back"),
    ]
    for pattern in plan.patterns:
        assert set(pattern.seat.tolist()) == ({2} if pattern.side == "front" else {1})
    assert {side: rows.tolist() for side, rows in plan.wash_away.items()} == {
        "front": [2],
        "back": [1],
    }


def test_nothing_is_made_where_nothing_is_asked_and_told_where_nothing_can_be():
    assert plan_paper(two_sides(), PaperSettings()).patterns == ()
    stones = layout([(0.0, 0.0, 0.0, "STONE")], set_by="template")
    plan = plan_paper(stones, BOTH)
    assert plan.patterns == ()
    assert [finding.code for finding in plan.findings] == ["paper-empty"]
    assert plan_paper(stones, PaperSettings()).findings == ()


def test_a_stencil_larger_than_the_sheet_is_told():
    laid = layout([(0.0, 0.0, 0.0, "BEAD"), (250.0, 20.0, 0.0, "BEAD")])
    stencil = PaperSettings(stencil=True)
    for sheet, told in (((100.0, 200.0), 1), ((30.0, 260.0), 0), (None, 0)):
        codes = [finding.code for finding in plan_paper(laid, stencil, sheet).findings]
        assert codes == ["stencil-too-large"] * told
    assert not plan_paper(laid, PaperSettings(pounce=True), (100.0, 200.0)).findings

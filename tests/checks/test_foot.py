"""Pieces set at the stops and what is sewn after: under the needle, the foot, clear of both."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from embellish.checks.foot import foot_stays_clear, marks_stay_seen
from embellish.checks.site import Site
from embellish.layout.layout import Layout
from embellish.plans.stitching.base import BaseDesign
from embellish.plans.stitching.stitch import StitchSettings, plan_stitches
from tests.plans.stitch_cases import BUGLE, LARGE, NAVETTE, layout_of
from tests.plans.test_stitch_base import bar


def told(layout: Layout, base: BaseDesign | None = None, **settings: Any) -> list[str]:
    plan = plan_stitches(layout, StitchSettings.model_validate(settings), base=base)
    return [finding.message for finding in foot_stays_clear(Site(layout, (), (), stitches=plan))]


def line(order: Any, y: float) -> BaseDesign:
    """A base of stitches from (-15, y) to (15, y)."""
    return BaseDesign.placed(bar(), order, np.array([0.0, y]))


@pytest.mark.parametrize(
    ("y", "words"),
    [
        # A round piece of 6 mm about (0, 0); half the foot is 5 mm.
        (0.0, "1 of these pieces lies under the needle"),
        (2.95, "1 of these pieces lies under the needle"),
        (3.2, "1 of these pieces lies nearer to it than the foot's 5 mm"),
        (7.9, "1 of these pieces lies nearer to it than the foot's 5 mm"),
        (8.1, None),
    ],
)
def test_a_base_sewn_last_over_or_beside_a_piece(y, words):
    layout = layout_of([(0.0, 0.0, 0.0, 1)])
    found = told(layout, line("last", y))
    assert len(found) == (words is not None)
    if words is not None:
        assert found[0].startswith(f"{words} while the base design is sewn")


def test_the_true_outline_counts():
    # A navette of 10 x 5 mm upright reaches 5 mm up and down, 2.5 mm to the sides.
    for angle, near in ((90.0, True), (0.0, False)):
        layout = layout_of([(0.0, 0.0, angle, 0)], pieces=(NAVETTE,))
        assert bool(told(layout, line("last", 9.0))) is near


def test_pieces_set_in_the_end_are_safe():
    layout = layout_of([(0.0, 0.0, 0.0, 1)])
    assert told(layout, line("first", 0.0)) == []
    assert told(layout, line("last", 0.0), set_pieces="end") == []


def test_the_foot_is_the_makers_entry():
    layout = layout_of([(0.0, 0.0, 0.0, 1)])
    assert told(layout, line("last", 6.5), foot_mm=6.0) == []
    assert told(layout, line("last", 6.5), foot_mm=8.0)


def test_later_marks_beside_pieces_set_at_a_stop():
    other = LARGE.model_copy(update={"code": "OTHER"})
    near = layout_of([(0.0, 0.0, 0.0, 0), (8.0, 0.0, 0.0, 1)], pieces=(LARGE, other))
    (words,) = told(near, set_pieces="stops")
    assert "while a later block is sewn" in words
    # In one block nothing is sewn after its stop; at the end nothing at all.
    assert told(near, set_pieces="stops", blocks="one") == []
    assert told(near) == []
    far = layout_of([(0.0, 0.0, 0.0, 0), (14.0, 0.0, 0.0, 1)], pieces=(LARGE, other))
    assert told(far, set_pieces="stops") == []


def test_marks_that_a_base_hides_are_told_where_pieces_are_set_in_the_end():
    # Upon the line of the base, and 4 mm beside it.
    layout = layout_of([(0.0, 0.0, 0.0, 0), (0.0, 4.0, 0.0, 0)], pieces=(BUGLE,))
    for order, when, expected in (
        ("last", "end", ["mark-under-base"]),
        ("last", "stops", []),
        ("first", "end", []),
    ):
        settings = StitchSettings.model_validate({"set_pieces": when})
        plan = plan_stitches(layout, settings, base=line(order, 0.0))
        found = list(marks_stay_seen(Site(layout, (), (), stitches=plan)))
        assert [finding.code for finding in found] == expected
        assert all("mark of 1 piece" in finding.message for finding in found)


def test_it_is_an_error_that_tells_of_the_needle():
    layout = layout_of([(0.0, 0.0, 0.0, 1), (5.0, 0.5, 0.0, 1)])
    plan = plan_stitches(layout, StitchSettings(), base=line("last", 0.0))
    (finding,) = foot_stays_clear(Site(layout, (), (), stitches=plan))
    assert (finding.code, finding.severity) == ("piece-under-needle", "error")
    assert "strikes a piece can break" in finding.message
    assert "order = 'first'" in finding.mend
    assert finding.where_mm == (0.0, 0.0)

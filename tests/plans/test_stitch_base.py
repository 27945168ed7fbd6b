"""Base designs kept stitch for stitch, marks before or after them; the two sides of the cloth."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.equipment import Hoop
from embellish.formats.stitches import JUMP, STITCH, TRIM, StitchDesign, ThreadBlock, decode, encode
from embellish.plans.stitching.base import BaseDesign, BaseOrder
from embellish.plans.stitching.stitch import StitchPlan, StitchSettings, plan_stitches
from tests.decoders import decode_dst, decode_exp
from tests.plans.stitch_cases import grid, layout_of

FIELD = Hoop(name="invented", field_mm=(100.0, 80.0))
steps = st.lists(
    st.tuples(st.integers(-60, 60), st.integers(-60, 60)).filter(lambda s: s != (0, 0)),
    min_size=2,
    max_size=30,
)
parts = st.lists(
    st.tuples(st.tuples(st.integers(-300, 300), st.integers(-300, 300)), steps),
    min_size=1,
    max_size=3,
)


def design_of(given_parts: list[tuple[tuple[int, int], list[tuple[int, int]]]]) -> StitchDesign:
    blocks = []
    for number, (start, moves) in enumerate(given_parts):
        path = np.array(start) + np.cumsum([(0, 0), *moves], axis=0)
        xy = np.concatenate([path[:1], path, path[-1:]]) / 10.0
        kind = np.array([JUMP, *[STITCH] * len(path), TRIM])
        blocks.append(ThreadBlock(f"part {number}", f"#{number:02x}4488", xy, kind))
    return StitchDesign("base", tuple(blocks))


def bar(length: float = 30.0, y: float = 0.0) -> StitchDesign:
    """A line of stitches of 2 mm along x, about its own start."""
    x = np.arange(-length / 2, length / 2 + 0.1, 2.0)
    xy = np.column_stack([np.append(x[0], x), np.full(len(x) + 1, y)])
    block = ThreadBlock("line", "#884422", xy, np.array([JUMP, *[STITCH] * len(x)]))
    return StitchDesign("bar", (block,))


def planned(
    design: StitchDesign, order: BaseOrder, at: tuple[float, float] = (0.0, 0.0), **more: Any
) -> StitchPlan:
    layout = layout_of(more.pop("seats", [(0.0, 20.0, 0.0, 1), (8.0, 20.0, 0.0, 1)]))
    base = BaseDesign.placed(design, order, np.array(at))
    return plan_stitches(layout, StitchSettings(), more.pop("hoop", None), base=base, **more)


@settings(max_examples=30, deadline=None)
@given(parts, st.sampled_from(["dst", "exp", "pes"]), st.sampled_from(["first", "last"]))
def test_a_base_that_was_read_is_sewn_stitch_for_stitch(given_parts, extension, order):
    data, _ = encode(design_of(given_parts), extension)
    base = decode(data, extension)
    if extension == "pes":
        alone = [tuple(point) for point in np.round(base.stitches, 1).tolist()]
    else:
        alone = {"dst": decode_dst, "exp": decode_exp}[extension](data).stitches_mm
    plan = planned(base, order, (31.7, -4.2))
    (hooping,) = plan.hoopings
    found = decode_dst(encode(hooping.design, "dst")[0])
    count = len(alone)
    assert (hooping.base_records, hooping.base_records_after) == (
        (count, 0) if order == "first" else (0, count)
    )
    own = found.stitches_mm[:count] if order == "first" else found.stitches_mm[-count:]
    assert own == alone
    # Between base and marks the thread is cut, and the colour changes.
    assert found.colour_changes == len(base.blocks)
    firsts = [mark.first for mark in hooping.marks]
    assert min(firsts) >= hooping.base_records
    assert max(mark.last for mark in hooping.marks) < len(found.stitches_mm) - (
        0 if order == "first" else count
    )


@pytest.mark.parametrize("order", ["first", "last"])
def test_marks_lie_where_the_layout_puts_them_against_the_base(order):
    plan = planned(bar(), order, (5.0, 3.0))
    (hooping,) = plan.hoopings
    points = np.array(decode_dst(encode(hooping.design, "dst")[0]).stitches_mm)
    assert hooping.to_stitch.as_list()[:4] == [1.0, 0.0, 0.0, 1.0]
    for mark, seat in zip(hooping.marks, [(0.0, 20.0), (8.0, 20.0)], strict=True):
        own = points[mark.first : mark.last + 1]
        middle = (own.min(axis=0) + own.max(axis=0)) / 2.0
        # The bar's middle lies at (5, 3) of the layout, at (0, 0) of the file.
        assert middle == pytest.approx(np.array(seat) - [5.0, 3.0], abs=0.1)
    stops = [(stop.base, stop.block) for stop in hooping.stops]
    assert stops == ([(True, 0), (False, 1)] if order == "first" else [(False, 0), (True, 1)])
    assert hooping.effort.stitches == len(points)


def test_a_base_and_its_marks_share_the_field_about_its_start_where_that_serves():
    plan = planned(bar(), "first", hoop=FIELD)
    assert plan.findings == ()
    (hooping,) = plan.hoopings
    assert hooping.field_middle_mm == (0.0, 0.0)
    # 45 mm below the base's start the field has to be shifted, and what it says is true.
    plan = planned(bar(), "first", hoop=FIELD, seats=[(0.0, 45.0, 0.0, 1)])
    (hooping,) = plan.hoopings
    x, y = hooping.field_middle_mm
    assert y > 5.0
    assert (np.abs(hooping.design.stitches - [x, y]) <= [50.05, 40.05]).all()


def test_marks_too_far_from_the_base_are_sewn_apart_and_the_move_is_told():
    seats = [(0.0, 20.0, 0.0, 1), (0.0, 90.0, 0.0, 1)]
    plan = planned(bar(), "first", hoop=FIELD, seats=seats)
    assert len(plan.hoopings) == 2
    with_base = [hooping for hooping in plan.hoopings if hooping.base_records]
    assert len(with_base) == 1
    (told,) = [finding for finding in plan.findings if finding.code == "several-hoopings"]
    move = float(told.mend.split("Move the design ")[1].split(" mm up")[0])
    nearer = planned(
        bar(), "first", hoop=FIELD, seats=[(x, y - move, a, n) for x, y, a, n in seats]
    )
    assert len(nearer.hoopings) == 1


def test_a_base_larger_than_the_field_is_an_error():
    plan = planned(bar(120.0), "first", hoop=FIELD)
    (told,) = [finding for finding in plan.findings if finding.code == "outside-hoop"]
    assert told.severity == "error"
    assert told.message.startswith("The base design reaches 10.0 mm out")


def test_a_base_alone_is_sewn_as_it_is():
    layout = replace(layout_of([(0.0, 0.0, 0.0, 1)]))
    layout = replace(layout, lays=tuple(replace(lay, mark="none") for lay in layout.lays))
    base = BaseDesign.placed(bar(), "first", np.zeros(2))
    (hooping,) = plan_stitches(layout, StitchSettings(), base=base).hoopings
    assert hooping.marks == ()
    assert len(hooping.design.blocks) == 1


def test_stitches_that_the_format_cannot_hold_are_split_and_told():
    points = np.array([[0.0, 0.0], [0.0, 0.0], [30.0, 0.0], [30.0, 2.0], [31.0, 3.0]])
    block = ThreadBlock("long", "#000000", points, np.array([JUMP, *[STITCH] * 4]))
    plan = planned(StitchDesign("long", (block,)), "first")
    assert "base-split" in [finding.code for finding in plan.findings]
    (hooping,) = plan.hoopings
    found = decode_dst(encode(hooping.design, "dst")[0])
    assert hooping.base_records == 6
    own = np.array(found.stitches_mm[:6])
    assert own[:, 0].tolist() == [0.0, 10.0, 20.0, 30.0, 30.0, 31.0]
    firsts = [mark.first for mark in hooping.marks]
    assert [found.stitch_blocks[first] for first in firsts] == [1] * len(firsts)


def test_lays_worked_from_the_back_have_mirrored_hoopings_of_their_own():
    layout = layout_of([*grid(4, 3, 12.0), *grid(3, 2, 14.0, 2)], lays=[0] * 12 + [1] * 6)
    lays = (layout.lays[0], replace(layout.lays[1], worked_from="back"))
    layout = replace(layout, lays=lays)
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    front, back = plan.hoopings
    assert (front.mirrored, back.mirrored) == (False, True)
    assert front.number != back.number
    assert back.to_stitch.determinant == -1.0
    for hooping, rows in ((front, range(12)), (back, range(12, 18))):
        each = [mark for mark in hooping.marks if mark.kind == "each"]
        assert sorted(seat for mark in each for seat in mark.seats) == list(rows)
        points = np.array(decode_dst(encode(hooping.design, "dst")[0]).stitches_mm)
        for mark in each:
            own = points[mark.first : mark.last + 1]
            middle = (own.min(axis=0) + own.max(axis=0)) / 2.0
            wanted = hooping.to_stitch(layout.xy[mark.seats[0]])
            assert np.abs(middle - wanted).max() <= 0.1
    # Both sides share two crosses, at the same places of the cloth.
    places = []
    for hooping in (front, back):
        undo = hooping.to_stitch.inverse()
        crosses = [mark for mark in hooping.marks if mark.kind == "cross"]
        places.append(sorted(tuple(np.round(undo(np.array(m.centre)), 3)) for m in crosses))
    assert len(places[0]) == 2
    assert places[0] == places[1]

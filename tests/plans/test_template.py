from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.equipment import Equipment, Press, Sheet
from embellish.catalogue.piece import Member, Unit
from embellish.errors import CatalogueError
from embellish.geometry.outlines import bounds
from embellish.geometry.transforms import Affine
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from embellish.plans.title import TitleBlock
from tests.plans.template_cases import (
    NAVETTE,
    SS6,
    SS10_CLEAR,
    SS10_RED,
    SS16,
    lattice,
    layout_of,
    stone,
)

TITLE = TitleBlock("Invented moth", "A", "3fa9c1")
MIX = [SS10_CLEAR, SS10_RED, SS16, SS6]


def codes_of(found) -> list[str]:
    return [finding.code for finding in found]


@st.composite
def mixes(draw):
    """A lattice of up to five sorts of round stones of random ranges, in random order."""
    sorts = []
    for index in range(draw(st.integers(1, 5))):
        least = draw(st.floats(1.5, 5.0))
        sorts.append(stone(f"P{index}", least, least + draw(st.floats(0.0, 0.4))))
    cycle = draw(st.lists(st.integers(0, len(sorts) - 1), min_size=1, max_size=12))
    return lattice(sorts, draw(st.integers(1, 9)), draw(st.integers(1, 9)), 7.0, cycle)


def drops_wrongly(layout, clearance, order, rows) -> bool:
    """Brush the codes in the order told, trying every piece on every open hole at its least size.

    A simulation that knows nothing of conflict graphs: what is open is a set of holes.
    """
    piece = layout.piece[rows]
    index = {each.code: number for number, each in enumerate(layout.pieces)}
    open_holes = set(range(len(rows)))
    for code in order:
        mine = index[code]
        least = layout.pieces[mine].length_mm.min
        for hole in sorted(open_holes):
            other = int(piece[hole])
            wide = layout.pieces[other].length_mm.max + float(clearance[other])
            if other != mine and least <= wide:
                return True
        open_holes -= {hole for hole in open_holes if int(piece[hole]) == mine}
    return bool(open_holes)


@given(layout=mixes(), group=st.sampled_from(["fewest", "one", "colour", "size", "lay", "area"]))
@settings(max_examples=60, deadline=None)
def test_every_seat_is_a_hole_in_one_part_of_one_template(layout, group):
    plan = plan_templates(layout, TemplateSettings(group=group), 3, TITLE)
    rows = np.concatenate([part.rows for each in plan.templates for part in each.parts])
    assert sorted(rows.tolist()) == list(range(len(layout)))
    assert plan.holes == len(layout)
    for template in plan.templates:
        assert sum(template.counts) == len(template.rows)
        for part in template.parts:
            assert len(part.holes) == len(part.rows)


@given(layout=mixes())
@settings(max_examples=80, deadline=None)
def test_nothing_drops_wrongly_in_the_order_told(layout):
    plan = plan_templates(layout, TemplateSettings(), 1, TITLE)
    for template in plan.templates:
        assert not drops_wrongly(layout, plan.clearance_mm, template.order, template.rows)
    assert "wrong-drop" not in codes_of(plan.findings)


@given(layout=mixes())
@settings(max_examples=40, deadline=None)
def test_one_template_for_all_is_told_where_it_drops_wrongly(layout):
    plan = plan_templates(layout, TemplateSettings(group="one"))
    (template,) = plan.templates
    wrong = drops_wrongly(layout, plan.clearance_mm, template.order, template.rows)
    assert ("wrong-drop" in codes_of(plan.findings)) == wrong


@given(layout=mixes())
@settings(max_examples=40, deadline=None)
def test_fewest_is_fewest(layout):
    """No way to put the codes into fewer templates avoids wrong drops: all are tried."""
    plan = plan_templates(layout, TemplateSettings())
    present = sorted({layout.pieces[index].code for index in layout.piece.tolist()})

    def ways(codes, groups) -> Iterator[list[list[str]]]:
        if not codes:
            yield groups
            return
        for number in range(len(groups)):
            yield from ways(
                codes[1:], [*groups[:number], [*groups[number], codes[0]], *groups[number + 1 :]]
            )
        yield from ways(codes[1:], [*groups, [codes[0]]])

    index = {piece.code: number for number, piece in enumerate(layout.pieces)}

    def works(group) -> bool:
        order = sorted(
            group,
            key=lambda c: (-layout.pieces[index[c]].length_mm.max - plan.clearance_mm[index[c]], c),
        )
        rows = np.flatnonzero(np.isin(layout.piece, [index[code] for code in group]))
        return not drops_wrongly(layout, plan.clearance_mm, order, rows)

    least = min(len(way) for way in ways(present, []) if all(works(group) for group in way))
    assert len(plan.templates) == least


def test_near_sizes_fit_both_ways_and_are_kept_apart():
    plan = plan_templates(lattice(MIX, 8, 8, 6.0, (0, 1, 2, 3)), TemplateSettings())
    homes = {code: index for index, each in enumerate(plan.templates) for code in each.order}
    assert homes["SS10-CLEAR"] != homes["SS10-RED"]
    assert homes["SS16-A"] == homes["SS6-A"]
    assert plan.templates[homes["SS16-A"]].order[0] == "SS16-A"
    assert len(plan.templates) == 2


def test_a_template_a_colour_a_size_a_lay_an_area():
    layout = layout_of(
        MIX,
        [(10.0 * index, 0.0) for index in range(8)],
        [0, 1, 2, 3, 0, 1, 2, 3],
        lay=[0, 0, 0, 0, 1, 1, 1, 1],
        set_by=("template", "template"),
        lay_ids=("edge", "fill"),
    )
    count = {
        group: len(plan_templates(layout, TemplateSettings(group=group)).templates)
        for group in ("one", "colour", "size", "lay", "area")
    }
    assert count == {"one": 1, "colour": 2, "size": 3, "lay": 2, "area": 2}
    named = plan_templates(layout, TemplateSettings(group="lay")).templates
    assert [each.name for each in named] == ["edge", "fill"]


def test_names_are_plain_and_differ_even_without_case():
    layout = layout_of(
        [SS16],
        [(0.0, 0.0), (9.0, 0.0), (18.0, 0.0)],
        lay=[0, 1, 2],
        set_by=("template",) * 3,
        lay_ids=("Flügel/1", "flugel-1", "翼"),
    )
    names = [each.name for each in plan_templates(layout, TemplateSettings(group="lay")).templates]
    assert names == ["flugel-1", "flugel-1-2", "template-3"]


def test_only_lays_set_by_template_have_holes():
    layout = layout_of(
        [SS16],
        [(0.0, 0.0), (9.0, 0.0), (18.0, 0.0), (27.0, 0.0)],
        lay=[0, 1, 2, 3],
        set_by=("face-down", "template", "hand", "sewn"),
    )
    plan = plan_templates(layout, TemplateSettings())
    assert [each.rows.tolist() for each in plan.templates] == [[1]]
    none = plan_templates(layout.taken(np.array([0, 2, 3])), TemplateSettings())
    assert none.templates == ()
    assert none.holes == 0


@given(
    gap=st.floats(0.2, 2.0),
    clearance=st.floats(0.0, 0.8),
    wall=st.floats(0.1, 1.2),
)
@settings(max_examples=80, deadline=None)
def test_walls_are_as_promised_or_told(gap, clearance, wall):
    layout = lattice([SS10_CLEAR], 4, 3, 2.9 + gap)
    asked = TemplateSettings(clearance_mm=clearance, wall_mm=wall)
    plan = plan_templates(layout, asked)
    (part,) = plan.templates[0].parts
    apart = np.hypot(*(part.holes.xy[:, None] - part.holes.xy[None, :]).transpose(2, 0, 1))
    apart[np.diag_indices(len(apart))] = np.inf
    least = float((apart - 2.0 * part.holes.radius_mm[0]).min())
    thin = [each for each in plan.findings if each.code == "wall-too-thin"]
    # Coordinates are rounded to a millionth; within that either answer is right.
    if abs(least - wall) > 5e-6:
        assert bool(thin) == (least < wall)
    for each in thin:
        assert each.severity == "error"
        assert each.where_mm is not None


def test_the_gap_told_cures_the_wall():
    xy = [(0.0, 0.0), (4.0, 0.0), (9.0, 0.0)]
    (found,) = plan_templates(layout_of([SS10_CLEAR], xy), TemplateSettings(wall_mm=1.2)).findings
    assert found.code == "wall-too-thin"
    assert found.where_mm == (2.0, 0.0)
    assert "seats 0 and 1; 1 such pair" in found.message
    assert "at least 1.5," in found.mend
    cured = layout_of([SS10_CLEAR], [(0.0, 0.0), (2.9 + 1.5, 0.0), (9.0, 0.0)])
    assert not plan_templates(cured, TemplateSettings(wall_mm=1.2)).findings


def test_a_wall_between_two_codes_is_cured_by_another_template():
    layout = layout_of([SS16, SS6], [(0.0, 0.0), (3.3, 0.0)], [0, 1])
    together = plan_templates(layout, TemplateSettings(group="one"))
    assert codes_of(together.findings) == ["wall-too-thin"]
    apart = plan_templates(layout, TemplateSettings())
    assert len(apart.templates) == 2
    assert apart.findings == ()


def test_clearance_by_size_by_code_and_by_custom():
    layout = layout_of(MIX, [(9.0 * index, 0.0) for index in range(4)], [0, 1, 2, 3])
    usual = plan_templates(layout, TemplateSettings())
    assert usual.clearance_mm.tolist() == [0.3, 0.3, 0.4, 0.3]
    table = TemplateSettings(clearance_mm={"SS10": 0.35, "SS10-RED": 0.2, "SS66": 0.4})
    own = plan_templates(layout, table)
    assert own.clearance_mm.tolist() == [0.35, 0.2, 0.4, 0.3]
    (unused,) = own.findings
    assert (unused.code, unused.severity) == ("clearance-unused", "note")
    assert "SS6" in unused.mend
    assert set(plan_templates(layout, TemplateSettings(clearance_mm=0.1)).clearance_mm) == {0.1}


@given(layout=mixes(), back=st.booleans())
@settings(max_examples=40, deadline=None)
def test_maps_are_rigid_and_bring_each_hole_to_its_seat(layout, back):
    asked = TemplateSettings(cut_from="back" if back else "front")
    for template in plan_templates(layout, asked, 1, TITLE).templates:
        for part in template.parts:
            a, b, c, d, _, _ = part.to_template.as_list()
            assert abs(a * a + b * b - 1) <= 1e-9
            assert abs(c * c + d * d - 1) <= 1e-9
            assert abs(a * c + b * d) <= 1e-9
            assert part.mirrored == back == (a * d - b * c < 0)
            np.testing.assert_allclose(
                part.holes.xy, part.to_template(layout.xy[part.rows]), atol=1e-9
            )
            said = " ".join(part.label)
            assert ("NOT MIRRORED" in said) != back
            assert ("MIRRORED: cut face down" in said) == back


def test_registration_is_the_same_for_all_templates_of_a_job():
    plan = plan_templates(lattice(MIX, 8, 8, 6.0, (0, 1, 2, 3)), TemplateSettings(), 1, TITLE)
    assert len(plan.templates) == 2
    for template in plan.templates:
        (part,) = template.parts
        back = part.to_template.inverse()(part.registration)
        np.testing.assert_allclose(back, plan.registration_mm, atol=1e-9)
    for part in (part for each in plan.templates for part in each.parts):
        for x, y in part.registration.tolist():
            free = np.hypot(part.holes.xy[:, 0] - x, part.holes.xy[:, 1] - y)
            assert (free - part.holes.radius_mm - 1.5 > 0.5).all()


def test_holes_keep_their_distance_from_the_edge():
    plan = plan_templates(
        lattice(MIX, 5, 5, 6.0), TemplateSettings(edge_mm=7.0, registration_count=0)
    )
    (part,) = plan.templates[0].parts
    low, high = part.trim.min(axis=0), part.trim.max(axis=0)
    reach = part.holes.radius_mm[:, None]
    assert (part.holes.xy - reach - low >= 7.0 - 2e-6).all()
    assert (high - part.holes.xy - reach >= 7.0 - 2e-6).all()


def test_shaped_holes_are_offset_outlines_turned_with_the_piece():
    layout = layout_of([NAVETTE], [(0.0, 0.0), (20.0, 0.0)], angle=[0.0, 90.0])
    plan = plan_templates(layout, TemplateSettings(clearance_mm=0.4))
    (part,) = plan.templates[0].parts
    assert np.isnan(part.holes.radius_mm).all()
    x0, y0, x1, y1 = bounds(part.holes.shaped[0])
    assert (x1 - x0, y1 - y0) == pytest.approx((8.4, 4.4), abs=1e-9)
    x0, y0, x1, y1 = bounds(part.holes.shaped[1])
    assert (x1 - x0, y1 - y0) == pytest.approx((4.4, 8.4), abs=1e-9)


def test_mirroring_turns_a_shaped_hole_over():
    layout = layout_of([NAVETTE], [(0.0, 0.0), (20.0, 5.0)], angle=[30.0, 0.0])
    front, back = (
        plan_templates(layout, TemplateSettings(cut_from=side)).templates[0].parts[0]
        for side in ("front", "back")
    )
    over = Affine.mirror_x(front.width_mm / 2.0)
    first = np.sort(over(front.holes.shaped[0].points), axis=0)
    np.testing.assert_allclose(np.sort(back.holes.shaped[0].points, axis=0), first, atol=1e-9)


def test_a_long_piece_does_not_drop_into_a_round_hole_of_its_width():
    layout = layout_of([NAVETTE, SS16], [(0.0, 0.0), (20.0, 0.0)], [0, 1])
    plan = plan_templates(layout, TemplateSettings())
    # The round one fits nowhere but its own: the navette is brushed first, its hole is filled.
    assert [each.order for each in plan.templates] == [("NAV", "SS16-A")]


def test_a_unit_has_one_hole_around_all_its_members():
    on_top = Unit(name="seed-on-disc", members=(Member(piece="SS16-A"), Member(piece="SS6-A")))
    row = Unit(
        name="three",
        members=(
            Member(piece="SS6-A", dx_mm=-2.2),
            Member(piece="SS16-A"),
            Member(piece="SS6-A", dx_mm=4.0),
        ),
    )
    layout = layout_of([SS16, SS6], [(0.0, 0.0), (30.0, 0.0)], [2, 3], units=[on_top, row])
    plan = plan_templates(layout, TemplateSettings(group="one", clearance_mm=0.4))
    (part,) = plan.templates[0].parts
    assert part.holes.radius_mm[0] == pytest.approx(2.2)
    x0, y0, x1, y1 = bounds(part.holes.shaped[1])
    x_most = 4.0 + 1.05 + 0.2
    assert x1 - x0 == pytest.approx(x_most + 2.2 + 1.05 + 0.2, abs=0.004)
    assert y1 - y0 == pytest.approx(4.4, abs=0.004)


def test_sheet_thickness_is_held_against_the_heights():
    layout = layout_of([SS6, SS16], [(0.0, 0.0), (20.0, 0.0)], [0, 1])
    for thick, wanted in ((1.0, ["sheet-too-thick"]), (0.8, []), (0.6, ["sheet-too-thin"])):
        plan = plan_templates(layout, TemplateSettings(thickness_mm=thick))
        assert codes_of(plan.findings) == wanted


def test_names_of_sheets_become_sizes():
    shop = Equipment(
        sheets={"mat": Sheet(name="mat", width_mm=300, height_mm=600, thickness_mm=0.5)},
        presses={"small": Press(name="small", platen_mm=(230.0, 300.0))},
    )
    asked = TemplateSettings(sheet="mat", platen="small").with_sizes(shop)
    assert asked.sheet == (300, 600)
    assert asked.thickness_mm == 0.5
    assert asked.limit_mm == (300, 230)
    with pytest.raises(TypeError, match="'mat' is a name"):
        _ = TemplateSettings(sheet="mat").limit_mm
    with pytest.raises(CatalogueError, match="no sheet 'mut'"):
        TemplateSettings(sheet="mut").with_sizes(shop)


def test_the_same_layout_gives_the_same_plan():
    layout = lattice(MIX, 9, 9, 6.0, (3, 1, 2, 0, 0))
    first, second = (plan_templates(layout, TemplateSettings(), 2, TITLE) for _ in range(2))
    assert [each.order for each in first.templates] == [each.order for each in second.templates]
    assert [each.label for t in first.templates for each in t.parts] == [
        each.label for t in second.templates for each in t.parts
    ]

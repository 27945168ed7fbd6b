from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from embellish.catalogue.piece import Hole, Member, Piece, Span, Unit
from embellish.catalogue.shapes import (
    centred_piece,
    centred_unit,
    piece_footprint,
    piece_outline,
    reduced_angle,
    turn_symmetry_deg,
    unit_footprint,
)
from embellish.errors import CatalogueError
from embellish.geometry.outlines import area, bounds, contains, placed
from tests.shapes import polygon_of

SYMMETRY = {
    "round": 0.0,
    "oval": 180.0,
    "navette": 180.0,
    "pear": 360.0,
    "square": 90.0,
    "rectangle": 180.0,
    "octagon": 180.0,
    "bugle": 180.0,
    "outline": 360.0,
}
HEART = ((10.0, 5.0, 1.0), (14.0, 5.0, 1.0), (18.0, 5.0, 0.0), (14.0, 12.0, 0.0))


def span(nominal: float) -> Span:
    return Span(min=nominal * 0.95, nominal=nominal, max=nominal * 1.05)


def piece(shape: str, length: float = 8.0, width: float = 6.0, **more: Any) -> Piece:
    if shape in ("round", "square"):
        width = length
    facts: dict[str, Any] = {"length_mm": span(length), "width_mm": span(width)}
    if shape == "outline":
        facts = {
            "length_mm": Span(min=7.6, nominal=7.8, max=8.0),
            "width_mm": Span(min=8.5, nominal=8.8, max=9.0),
            "outline_mm": HEART,
        }
    return Piece.model_validate(
        {"code": f"X-{shape}", "kind": "stone", "shape": shape, "fixing": "glue", **facts, **more}
    )


@pytest.mark.parametrize("shape", SYMMETRY)
def test_outlines_have_the_sizes_of_their_piece(shape):
    some = piece(shape)
    for at in ("min", "nominal", "max"):
        x0, y0, x1, y1 = bounds(piece_outline(some, at))
        assert (x0 + x1, y0 + y1) == pytest.approx((0.0, 0.0), abs=1e-9)
        if shape != "outline":
            assert x1 - x0 == pytest.approx(getattr(some.length_mm, at))
            assert y1 - y0 == pytest.approx(getattr(some.width_mm, at))
        else:
            assert x1 - x0 <= getattr(some.length_mm, at) + 1e-9
            assert y1 - y0 <= getattr(some.width_mm, at) + 1e-9
    reach = piece_footprint(some).reach_mm
    assert np.hypot(*piece_outline(some).points.T).max() <= reach + 1e-12


@pytest.mark.parametrize("shape", SYMMETRY)
def test_a_piece_looks_the_same_after_its_symmetry_and_not_before(shape):
    some = piece(shape)
    turn = turn_symmetry_deg(some)
    assert turn == SYMMETRY[shape]
    polygon = polygon_of(piece_outline(some))
    turned = polygon_of(placed(piece_outline(some), 0.0, 0.0, turn or 77.0))
    assert polygon.symmetric_difference(turned).area < 1e-2
    if turn:
        half = polygon_of(placed(piece_outline(some), 0.0, 0.0, turn / 2.0))
        assert polygon.symmetric_difference(half).area > 0.3


def test_of_even_size_an_oval_is_round_and_a_rectangle_square():
    for shape, turn in (("oval", 0.0), ("navette", 0.0), ("pear", 0.0), ("rectangle", 90.0)):
        some = piece(shape, 6.0, 6.0)
        assert turn_symmetry_deg(some) == turn
        polygon = polygon_of(piece_outline(some))
        turned = polygon_of(piece_outline(some), angle_deg=turn or 31.0)
        assert polygon.symmetric_difference(turned).area < 1e-2


def test_angles_reduce_by_the_symmetry():
    angles = np.array([-10.0, 0.0, 89.0, 180.0, 275.0, 359.9, -1e-20])
    assert reduced_angle(angles, 0.0).tolist() == [0.0] * 7
    assert reduced_angle(angles, 180.0) == pytest.approx([170.0, 0.0, 89.0, 0.0, 95.0, 179.9, 0.0])
    mixed = reduced_angle(np.array([100.0, 100.0, 460.0]), np.array([0.0, 90.0, 360.0]))
    assert mixed == pytest.approx([0.0, 10.0, 100.0])
    assert np.all(reduced_angle(angles, 90.0) < 90.0)
    assert not np.any(np.signbit(reduced_angle(np.array([-0.0, -180.0]), 180.0)))


def test_a_units_members_stand_where_its_footprint_has_them():
    pieces = {"X-round": piece("round", 2.0), "X-bugle": piece("bugle", 6.0, 1.8)}
    unit = Unit(
        name="seed and bugle",
        members=(Member(piece="X-round"), Member(piece="X-bugle", dx_mm=4.5, angle_deg=0.0)),
    )
    footprint, centred = unit_footprint(unit, pieces), centred_unit(unit, pieces)
    x0, y0, x1, y1 = footprint.bounds_mm
    assert (x0 + x1, y0 + y1) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert x1 - x0 == pytest.approx(1.05 + 4.5 + 3.15)
    for part, member in zip(footprint.parts, centred.members, strict=True):
        assert (part.dx_mm, part.dy_mm) == (member.dx_mm, member.dy_mm)
    apart = centred.members[1].dx_mm - centred.members[0].dx_mm
    assert apart == pytest.approx(4.5)
    assert centred_unit(centred, pieces) is centred
    assert footprint.reach_mm == pytest.approx(np.hypot((x1 - x0) / 2, 0.945), abs=0.1)


def test_a_bead_on_a_sequin_is_round():
    pieces = {"X-round": piece("round", 5.0), "B": piece("round", 2.0, code="B")}
    unit = Unit(name="sequin", members=(Member(piece="X-round"), Member(piece="B")))
    assert unit_footprint(unit, pieces).round_radius_mm == pytest.approx(2.625)


def test_a_drawn_piece_and_its_holes_move_together():
    # The heart drawn about (1, -0.5), and a hole 1.5 mm above its centre.
    drawn = tuple((x - 13.0, y - 8.0, bulge) for x, y, bulge in HEART)
    hole = Hole(x_mm=1.0, y_mm=-2.0, diameter_mm=1.0)
    some = piece("outline", outline_mm=drawn, holes=(hole,))
    centred = centred_piece(some)
    hole = centred.holes[0]
    assert bounds(piece_outline(centred)) == pytest.approx(bounds(piece_outline(some)))
    assert contains(piece_outline(centred), *np.array([[hole.x_mm], [hole.y_mm]]))
    assert (hole.x_mm, hole.y_mm) == pytest.approx((0.0, -1.5))
    assert centred_piece(centred) is centred
    assert area(piece_outline(some)) == pytest.approx(28.0 + np.pi * 4.0)
    assert centred_piece(piece("oval")) == piece("oval")


@pytest.mark.parametrize(
    ("some", "words"),
    [
        (piece("navette", 5.0, 8.0), "piece 'X-navette': a navette of .* wider than long"),
        (
            piece("outline", width_mm=span(20.0)),
            "piece 'X-outline': its outline measures 8.00 × 9.00",
        ),
        (
            piece("outline", outline_mm=((0, 0, 0), (8, 9, 0), (8, 0, 0), (0, 9, 0))),
            "piece 'X-outline': the outline meets itself",
        ),
    ],
)
def test_a_piece_that_cannot_be_is_named(some, words):
    with pytest.raises(CatalogueError, match=words):
        piece_outline(some)


def test_a_unit_of_no_piece_is_named():
    unit = Unit(name="pair", members=(Member(piece="nowhere"),))
    with pytest.raises(CatalogueError, match="unit 'pair': its member 'nowhere'"):
        unit_footprint(unit, {})

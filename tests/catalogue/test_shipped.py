"""What is shipped: whole, valid, sourced, and honest about prices."""

from __future__ import annotations

import re

import numpy as np
import pytest

from embellish.catalogue.catalogue import Catalogue, merged, shipped
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_footprint, unit_footprint
from embellish.catalogue.shipped import shipped_names
from embellish.errors import CatalogueError

NAMES = ("beads", "pearls", "sequins", "shaped", "stones", "strung", "studs")


@pytest.fixture(scope="module")
def everything() -> Catalogue:
    whole, findings = merged([shipped(name) for name in NAMES])
    assert findings == ()
    return whole


def test_the_names_are_those_we_say():
    assert shipped_names() == NAMES


def test_a_wrong_name_lists_what_is_shipped():
    with pytest.raises(CatalogueError) as caught:
        shipped("stone")
    for word in ("shipped:stone", "'stones'", *NAMES):
        assert word in str(caught.value)
    with pytest.raises(CatalogueError):
        shipped("../hoops/hoops")


def test_the_prefix_of_job_files_is_understood():
    assert shipped("shipped:stones") == shipped("stones")


def test_there_is_a_choice_of_every_kind_and_fixing(everything):
    assert len(everything.pieces) >= 300
    pieces = everything.pieces.values()
    assert {piece.kind for piece in pieces} == {
        *("stone", "pearl", "stud", "bead", "bugle", "sequin", "chain"),
    }
    assert {piece.fixing for piece in pieces} == {"heat-set", "sew-on", "glue"}
    assert {piece.shape for piece in pieces} >= {
        *("round", "oval", "navette", "pear", "square", "rectangle", "octagon", "bugle", "outline"),
    }


def test_the_pieces_of_the_example_job_are_there():
    stones = shipped("stones")
    for code in ("R-SS10-CLEAR", "R-SS6-TOPAZ", "R-SS16-CLEAR"):
        assert stones.piece(code).fixing == "heat-set"


def test_every_size_has_a_source_and_every_price_says_it_is_invented(everything):
    for piece in everything.pieces.values():
        assert len(piece.source) > 10, piece.code
        assert "{" not in piece.source, piece.code
        assert piece.packs, piece.code
        assert all(pack.invented for pack in piece.packs), piece.code


def test_codes_are_plain_enough_for_files_and_labels(everything):
    for code in everything.pieces:
        assert re.fullmatch(r"[A-Z]{1,2}-[A-Za-z0-9]+(x[0-9]+)?-[A-Z]+", code), code


def test_what_is_sewn_has_a_hole_and_what_is_pressed_has_none(everything):
    for piece in everything.pieces.values():
        # What is strung is sewn over, between its links.
        sewn_through = piece.fixing == "sew-on" and piece.strung is None
        assert bool(piece.holes) == sewn_through, piece.code


def test_larger_packs_never_cost_more_a_piece(everything):
    for piece in everything.pieces.values():
        packs = sorted(piece.packs, key=lambda pack: pack.pieces)
        each = [pack.price / pack.pieces for pack in packs]
        assert each == sorted(each, reverse=True), piece.code


def _one_of_each_form(catalogue: Catalogue) -> dict[object, Piece]:
    return {(p.shape, p.length_mm, p.width_mm): p for p in catalogue.pieces.values()}


def test_every_outline_builds_and_fills_its_greatest_size(everything):
    for piece in _one_of_each_form(everything).values():
        reach = piece_footprint(piece).reach_mm
        half = np.array([piece.length_mm.max, piece.width_mm.max]) / 2
        assert half.max() - 1e-6 <= reach <= np.hypot(*half) + 1e-6, piece.code


def test_every_unit_is_whole_and_builds(everything):
    assert len(everything.units) >= 3
    for name, unit in everything.units.items():
        assert everything.wanted(name) is unit
        assert len(unit_footprint(unit, everything.pieces).parts) == len(unit.members)

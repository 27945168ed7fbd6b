"""Pieces found by what they are, and by how near their colour looks."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.contents import unknown_words
from embellish.catalogue.finding import found_pieces, unit_price, wanted_of
from embellish.catalogue.shipped import shipped
from embellish.errors import CatalogueError

STONES: Catalogue = shipped("stones")


def found(words: str = "", kind: str = "", fixing: str = "", near: str = "", **more: Any):
    between = (more.get("least", 0.0), more.get("most", 1000.0))
    return found_pieces(STONES, wanted_of(words, kind, fixing, between, near))


def test_every_word_and_every_bound_holds():
    for each in found("blue", fixing="heat-set", least=2.5, most=3.0):
        piece = each.piece
        assert "blue" in piece.colour
        assert piece.fixing == "heat-set"
        assert 2.5 <= piece.length_mm.nominal <= 3.0
        assert each.delta_e is None
    assert len(found()) == len(STONES.pieces)
    assert found("no-such-thing") == ()


def test_words_that_no_piece_has_are_told_with_what_may_be_meant():
    assert unknown_words(STONES, "SS10 blue heat-set") == {}
    assert unknown_words(STONES, "SS10 bleu") == {"bleu": "blue"}
    assert unknown_words(STONES, "qqqqqq") == {"qqqqqq": ""}


def test_the_nearest_colour_comes_first_and_its_own_is_no_difference():
    piece = STONES.pieces["R-SS10-RED"]
    nearest = found(near=piece.hex)
    assert nearest[0].piece.hex == piece.hex
    assert nearest[0].delta_e == 0.0
    away = [each.delta_e for each in nearest]
    assert away == sorted(away, key=lambda each: each or 0.0)
    assert len(nearest) == len(STONES.pieces)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({"kind": "ston"}, "Did you mean 'stone'?"),
        ({"fixing": "heatset"}, "Did you mean 'heat-set'?"),
        ({"near": "blu"}, "Did you mean 'blue'?"),
    ],
)
def test_what_there_is_not_is_told(words: dict[str, str], told: str):
    with pytest.raises(CatalogueError) as wrong:
        found(**words)
    assert told in str(wrong.value)


def test_a_unit_price_is_that_of_the_cheapest_pack_and_no_price_is_not_cheap():
    every = found_pieces(STONES, wanted_of("", "", "", (0.0, 99.0), ""))
    assert any(unit_price(each.piece) for each in every)
    for most in (Decimal("0.01"), Decimal("0.03"), Decimal("0.2")):
        wanted = wanted_of("", "", "", (0.0, 99.0), "", most_each=most)
        found = {each.piece.code for each in found_pieces(STONES, wanted)}
        assert found == {
            each.piece.code
            for each in every
            if any(pack.price <= most * pack.pieces for pack in each.piece.packs)
        }
        assert len(found) > 0

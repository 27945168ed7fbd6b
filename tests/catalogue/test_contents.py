"""The catalogue's value: looking up, finding, merging."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from embellish.catalogue.catalogue import Catalogue, find, merged
from embellish.catalogue.offers import Pack
from embellish.catalogue.piece import Member, Piece, Unit
from embellish.errors import CatalogueError


def piece(code: str, **more: Any) -> Piece:
    base = {
        "code": code,
        "kind": "stone",
        "fixing": "heat-set",
        "length_mm": [2, 2.5, 3],
        "width_mm": [2, 2.5, 3],
    }
    return Piece.model_validate({**base, **more})


def catalogue(name: str, *pieces: Piece, units: tuple[Unit, ...] = (), **more: Any) -> Catalogue:
    return Catalogue(
        name, {each.code: each for each in pieces}, {each.name: each for each in units}, **more
    )


def test_a_wrong_code_names_the_nearest():
    stones = catalogue("stones.toml", piece("R-SS10-CLEAR"), piece("R-SS6-TOPAZ"))
    with pytest.raises(CatalogueError, match=r"stones\.toml.*'R-SS10-CLEER'.*'R-SS10-CLEAR'"):
        stones.piece("R-SS10-CLEER")
    with pytest.raises(CatalogueError, match="'R-SS6-TOPAZ'"):
        stones.wanted("R-SS6-TOPAS")


def test_wanted_gives_pieces_and_whole_units():
    seed = Unit(name="pair", members=(Member(piece="A"), Member(piece="B", dx_mm=3)))
    stones = catalogue("a", piece("A"), piece("B"), units=(seed,))
    assert stones.wanted("A").__class__ is Piece
    assert stones.wanted("pair") == seed
    with pytest.raises(CatalogueError, match=r"unit 'pair'.*'B'"):
        catalogue("a", piece("A"), units=(seed,)).wanted("pair")


def test_the_later_outranks_and_tells():
    first = catalogue("shipped:stones", piece("A"), piece("B"))
    mine = catalogue("mine.toml", piece("B", stock=7), piece("C"))
    both, findings = merged([first, mine])
    assert list(both.pieces) == ["A", "B", "C"]
    assert both.pieces["B"].stock == 7
    (finding,) = findings
    assert (finding.code, finding.severity) == ("catalogue-outranked", "note")
    assert "mine.toml outranks shipped:stones for B" in finding.message


def test_a_name_that_is_a_piece_and_a_unit_is_refused():
    unit = Unit(name="A", members=(Member(piece="B"),))
    with pytest.raises(CatalogueError, match=r"two\.toml, 'A'"):
        merged([catalogue("one.toml", piece("A")), catalogue("two.toml", units=(unit,))])
    with pytest.raises(CatalogueError, match=r"two\.toml, 'A'"):
        merged([catalogue("one.toml", units=(unit,)), catalogue("two.toml", piece("A"))])


def test_prices_of_another_currency_are_left_out_and_told():
    packs = (Pack(pieces=144, price=Decimal(1)),)
    first = catalogue("euro.toml", piece("A", packs=packs), currency="EUR")
    mine = catalogue("mine.toml", piece("B", packs=packs), currency="USD")
    both, findings = merged([first, mine])
    assert both.currency == "USD"
    assert both.pieces["A"].packs == ()
    assert both.pieces["B"].packs == packs
    assert [finding.code for finding in findings] == ["catalogue-currency"]
    same, none = merged([first, catalogue("more.toml", piece("C"))])
    assert (same.currency, none) == ("EUR", ())
    assert same.pieces["A"].packs == packs


def test_merging_nothing_is_an_empty_catalogue():
    assert merged([]) == (Catalogue(""), ())


def test_find_goes_by_all_words_whole_words_first():
    stones = catalogue(
        "a",
        piece("R-SS30-CLEAR", size="SS30", colour="clear"),
        piece("G-SS3-CLEAR", size="SS3", colour="clear", fixing="glue"),
        piece("G-SS3-RED", size="SS3", colour="red", fixing="glue", finish="foiled"),
    )
    assert [each.code for each in find(stones, "ss3 Clear")] == ["G-SS3-CLEAR", "R-SS30-CLEAR"]
    assert [each.code for each in find(stones, "glue, foil")] == ["G-SS3-RED"]
    assert find(stones, "glue velvet") == ()
    assert len(find(stones, "")) == 3

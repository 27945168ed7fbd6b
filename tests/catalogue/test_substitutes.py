"""Proposals: finish before colour, within kind, shape, fixing and size; stock and price too."""

from __future__ import annotations

from decimal import Decimal

import pytest

from embellish.catalogue.catalogue import Catalogue, read_catalogue
from embellish.catalogue.substitutes import proposals, substitute_for

HEAD = '[catalogue]\nname = "Mine (invented)"\ncurrency = "EUR"\n'


def row(code: str, **changes: str) -> str:
    told = {
        "kind": '"stone"',
        "size_mm": "[2.7, 2.8, 2.9]",
        "hex": '"#c01020"',
        "finish": '"foiled"',
        "fixing": '"heat-set"',
        "packs": '[{ pieces = 100, price = "2.00" }]',
        "source": '"invented"',
        **changes,
    }
    lines = "\n".join(f"{key} = {value}" for key, value in told.items())
    return f'[[piece]]\ncode = "{code}"\nname = "{code}"\n{lines}\n'


def catalogue(*rows: str) -> Catalogue:
    return read_catalogue((HEAD + "".join(rows)).encode(), "mine.toml")


OWN = row("RED")
NEAR = row("NEAR", hex='"#c01828"', finish='"matt"')
FAR = row("FAR", hex='"#e05050"')
BLUE = row("BLUE", hex='"#1020c0"')


def codes(held: Catalogue, **asked: bool) -> list[str]:
    return [each.piece.code for each in proposals(held.piece("RED"), held, **asked)]


def test_the_same_finish_comes_before_the_nearer_colour():
    assert codes(catalogue(OWN, NEAR, BLUE, FAR)) == ["FAR", "BLUE", "NEAR"]


def test_a_finish_with_a_word_in_common_is_of_the_family():
    held = catalogue(OWN, row("AB", finish='"foiled rainbow"', hex='"#c01021"'), FAR, NEAR)
    found = proposals(held.piece("RED"), held)
    assert [each.piece.code for each in found] == ["FAR", "AB", "NEAR"], "the very same one first"
    assert [each.same_finish for each in found] == [True, True, False]


def test_of_one_finish_and_size_the_nearest_colour_comes_first():
    # 2.85 is a size that the piece, 2.7 to 2.9, may have itself; 2.92 is not.
    held = catalogue(
        OWN,
        row("EXACT-SIZE", hex='"#e05050"'),
        row("NEARER-COLOUR", size_mm="[2.75, 2.85, 2.95]", hex='"#c81830"'),
        row("NEAREST-COLOUR", size_mm="[2.82, 2.92, 3.0]", hex='"#c01021"'),
    )
    assert codes(held) == ["NEARER-COLOUR", "EXACT-SIZE", "NEAREST-COLOUR"]
    away = [each.delta_e for each in proposals(held.piece("RED"), held)]
    assert away[0] < away[1]
    assert away[2] < away[0]


def test_of_one_colour_the_nearest_size_comes_first():
    held = catalogue(
        OWN, row("A", size_mm="[2.76, 2.86, 2.96]"), row("B", size_mm="[2.72, 2.82, 2.92]")
    )
    assert codes(held) == ["B", "A"]


@pytest.mark.parametrize(
    "other",
    [
        row("X", kind='"pearl"'),
        row("X", fixing='"glue"'),
        row("X", size_mm="[3.0, 3.1, 3.2]"),
    ],
)
def test_another_kind_fixing_or_size_is_none(other: str):
    held = catalogue(OWN, other)
    assert codes(held) == []
    assert substitute_for(held.piece("RED"), held) is None


def test_only_what_is_there_or_costs_less_where_asked():
    there = row("THERE", stock="5")
    dear = row("DEAR", packs='[{ pieces = 100, price = "3.00" }]')
    cheap = row("CHEAP", packs='[{ pieces = 100, price = "9" }, { pieces = 1000, price = "15" }]')
    held = catalogue(OWN, there, dear, cheap, row("UNKNOWN", packs="[]"))
    assert codes(held, in_stock=True) == ["THERE"]
    assert codes(held, cheaper=True) == ["CHEAP"]
    more = {each.piece.code: each.dearer for each in proposals(held.piece("RED"), held)}
    assert more == {
        "THERE": Decimal(0),
        "DEAR": Decimal("0.01"),
        "CHEAP": Decimal("-0.005"),
        "UNKNOWN": None,
    }

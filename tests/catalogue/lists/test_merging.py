"""A list put beside a maker's own piece: what the list does not say stays."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.lists.merging import merged

OWN: dict[str, Any] = {
    "code": "A",
    "size_mm": [2.7, 2.8, 2.9],
    "hex": "#102030",
    "supplier": "Harbour",
    "packs": [
        {"pieces": 144, "price": "1.10", "count_tolerance": 0.02, "invented": True},
        {"pieces": 1440, "price": "9.50", "supplier": "Hill"},
    ],
}


def pack(price: str = "1.35", **other: Any) -> dict[str, Any]:
    return {"pieces": 144, "price": price, **other}


def test_packs_of_other_suppliers_and_what_a_pack_says_beside_its_price_stay():
    found = merged(OWN, {"code": "A", "packs": [pack()]})
    assert found["packs"] == [
        {"pieces": 144, "price": "1.35", "count_tolerance": 0.02},
        OWN["packs"][1],
    ]


@pytest.mark.parametrize("amount", ["grams", "strands", "length_m"])
def test_packs_of_other_amounts_are_other_packs(amount: str):
    own = {"packs": [{amount: 5, "price": "1", "count_tolerance": 0.1}, {amount: 50, "price": "8"}]}
    found = merged(own, {"packs": [{amount: 50, "price": "9"}, {amount: 5, "price": "1.2"}]})
    assert found["packs"] == [
        {amount: 50, "price": "9"},
        {amount: 5, "price": "1.2", "count_tolerance": 0.1},
    ]


def test_packs_that_a_supplier_no_longer_lists_are_gone():
    found = merged(OWN, {"packs": [{"pieces": 720, "price": "5"}]})
    assert found["packs"] == [{"pieces": 720, "price": "5"}, OWN["packs"][1]]


def test_a_pack_keeps_its_supplier_where_the_piece_gets_another():
    found = merged(OWN, {"supplier": "Quay", "packs": [pack()]})
    assert [each.get("supplier") for each in found["packs"]] == [None, "Harbour", "Hill"]


def test_packs_of_nobody_are_the_lists_to_change():
    own = {"packs": [pack("1.10", count_tolerance=0.02)]}
    found = merged(own, {"supplier": "Quay", "packs": [pack()]})
    assert found["packs"] == [pack(count_tolerance=0.02)]


@pytest.mark.parametrize(
    ("breaks", "price", "stays"),
    [
        ([{"packs": 5, "off": 0.1}], "1.35", True),
        ([{"packs": 5, "price": "0.95"}], "1.35", False),
        ([{"packs": 5, "price": "0.95"}], "1.1", True),
    ],
)
def test_steps_in_money_stay_only_with_their_price(
    breaks: list[dict[str, Any]], price: str, stays: bool
):
    found = merged({"packs": [pack("1.10", breaks=breaks)]}, {"packs": [pack(price)]})
    assert ("breaks" in found["packs"][0]) == stays


@pytest.mark.parametrize(
    ("listed", "stays"),
    [([2.8, 2.8, 2.8], True), ([3.0, 3.0, 3.0], False), ([2.75, 2.8, 2.85], False)],
)
def test_a_measured_range_stays_where_the_list_says_its_middle_alone(
    listed: list[float], stays: bool
):
    assert ("size_mm" not in merged(OWN, {"size_mm": listed})) == stays


@pytest.mark.parametrize(("grey", "stays"), [(True, True), (False, False)])
def test_grey_for_want_of_a_colour_does_not_take_the_place_of_one(grey: bool, stays: bool):
    assert ("hex" not in merged(OWN, {"hex": "#cccccc"}, grey=grey)) == stays


one_pack = st.fixed_dictionaries(
    {"pieces": st.integers(1, 3), "price": st.decimals(0, 9, places=2).map(str)},
    optional={
        "supplier": st.sampled_from(["Hill", "Quay"]),
        "lot": st.sampled_from(["L1", "L2"]),
        "count_tolerance": st.sampled_from([0.01, 0.02]),
    },
)
pack_lists = st.lists(one_pack, min_size=1, max_size=5)


@settings(deadline=None)
@given(pack_lists, pack_lists, st.sampled_from(["", "Hill", "Harbour"]))
def test_a_list_is_in_whole_and_once(own: list[Any], listed: list[Any], supplier: str):
    table = {"supplier": supplier, "packs": own} if supplier else {"packs": own}
    row = {"packs": listed}
    once = merged(table, row)["packs"]
    for told, held in zip(listed, once, strict=False):
        assert Decimal(held["price"]) == Decimal(told["price"])
        assert (held["pieces"], held.get("lot")) == (told["pieces"], told.get("lot"))
    speaks_for = {each.get("supplier") or supplier for each in listed}
    others = [each for each in own if (each.get("supplier") or supplier) not in ("", *speaks_for)]
    assert once[len(listed) :] == others
    assert merged({**table, "packs": once}, row)["packs"] == once

"""Weight, care and wearer: each rule fires where it should and keeps silent elsewhere."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from embellish.catalogue.care import Care, least_of
from embellish.checks.site import Site
from embellish.checks.wearing import care_agrees, load_is_told, wearer_is_safe
from embellish.plans.garment import GarmentSettings
from embellish.plans.weights import load_of, weight_of
from tests.checks.sites import PEARL, STONE, codes, lay, layout_of, site_of

STONES = layout_of(lay("STONE", "template"))
CHAINS = layout_of(lay("CHAIN", "sewn"))
SEQUINS = layout_of(lay("SEQUIN", "sewn"))
NOTHING = layout_of(lay("STONE", "template"), count=0)


def caring(layout: Any, **care: Any) -> Any:
    """Return the layout with what its stones stand."""
    stone = STONE.model_copy(update={"care": Care(**care)})
    return replace(layout, pieces=(stone, *layout.pieces[1:]))


@pytest.mark.parametrize(
    ("layout", "use", "skin", "expected"),
    [
        (STONES, "", False, []),
        (STONES, "adult", True, ["flammability"]),
        (STONES, "child", False, ["choking", "lead-child", "lead-mouth", "flammability"]),
        (STONES, "under-3", False, ["choking", "lead-child", "lead-mouth", "flammability"]),
        (STONES, "toy", False, ["choking", "toy-label", "lead-child", "lead-mouth"]),
        (CHAINS, "child", False, ["choking", "lead-child", "lead-mouth", "flammability"]),
        (SEQUINS, "child", False, ["choking", "flammability"]),
        (SEQUINS, "child-sleepwear", False, ["choking", "sleepwear"]),
        (CHAINS, "adult", True, ["nickel-skin", "flammability"]),
        (CHAINS, "adult", False, ["flammability"]),
        (CHAINS, "", True, ["nickel-skin"]),
        (CHAINS, "jewellery", False, ["lead-jewellery", "nickel-skin"]),
        (STONES, "jewellery", False, ["lead-jewellery"]),
        (SEQUINS, "jewellery", True, []),
        (NOTHING, "under-3", True, []),
    ],
)
def test_who_wears_it(layout: Any, use: Any, skin: bool, expected: list[str]):
    site = replace(site_of(layout), garment=GarmentSettings(use=use, touches_skin=skin))
    assert codes(wearer_is_safe, site) == expected
    for finding in wearer_is_safe(site):
        assert "the law where you sell" in finding.mend


@pytest.mark.parametrize(
    ("pieces", "cloth", "expected"),
    [
        ({}, {}, []),
        ({"wash_c": 30}, {}, []),
        ({"wash_c": 30}, {"wash_c": 30}, []),
        ({"wash_c": 30}, {"wash_c": 60}, ["care-differs"]),
        ({"wash_c": 60}, {"wash_c": 30}, []),
        ({"dry_clean": False}, {"dry_clean": True}, ["care-differs"]),
        ({"tumble_dry": False}, {"tumble_dry": True}, ["care-differs"]),
        ({"iron_c": 0}, {"iron_c": 150}, ["care-differs"]),
        ({"dry_clean": False}, {"wash_c": 0}, ["care-none"]),
        # Nobody has said it of the pieces; what the cloth does not stand is not asked.
        ({}, {"wash_c": 40}, ["care-unknown"]),
        ({"wash_c": 40}, {"wash_c": 40, "iron_c": 110}, ["care-unknown"]),
        ({}, {"wash_c": 0, "dry_clean": False, "tumble_dry": False, "iron_c": 0}, ["care-none"]),
        # One finding tells it all.
        ({"wash_c": 30, "iron_c": 0}, {"wash_c": 40, "iron_c": 150}, ["care-differs"]),
    ],
)
def test_what_pieces_do_not_stand(pieces: Any, cloth: Any, expected: list[str]):
    site = site_of(caring(STONES, **pieces), care=cloth)
    assert codes(care_agrees, site) == expected


def test_crystal_is_spoken_of_where_there_is_glass():
    for layout, there in ((STONES, True), (CHAINS, False)):
        site = replace(site_of(layout), garment=GarmentSettings(use="child"))
        (lead,) = (each for each in wearer_is_safe(site) if each.code == "lead-child")
        assert "100 ppm" in lead.message
        assert ("crystal" in lead.message, "acrylic" in lead.mend) == (there, there)


def test_what_of_care_differs_is_told_with_the_pieces_and_what_is_left():
    stone = caring(STONES, wash_c=30, iron_c=0, dry_clean=False)
    site = site_of(stone, care={"wash_c": 40, "iron_c": 150, "dry_clean": True})
    (finding,) = care_agrees(site)
    for word in ("wash (STONE)", "iron (STONE)", "dry cleaning (STONE)", "Wash at 30 °C"):
        assert word in finding.message
    assert "tumble" not in finding.message


def test_the_strictest_holds_and_what_nobody_says_is_not_claimed():
    both = least_of([Care(wash_c=60, dry_clean=True), Care(wash_c=30), Care(dry_clean=False)])
    assert both == Care(wash_c=30, dry_clean=False)
    assert both.lines == ("Wash at 30 °C at most, turned inside out.", "Do not dry clean.")
    assert least_of([]) == Care()
    assert Care().lines == ()


def site_at(grams: float, cloth: float | None) -> Site:
    stone = STONE.model_copy(update={"weight_g": grams})
    layout = replace(STONES, pieces=(stone, *STONES.pieces[1:]))
    return site_of(layout, weight_g_m2=cloth)


def test_the_load_is_held_against_the_cloth():
    # Four stones within a square decimetre: 4 × 0.6 g are 240 g/m².
    assert load_of(site_at(0.6, None).layout).most_g_m2 == pytest.approx(240.0)
    assert codes(load_is_told, site_at(0.6, 200.0)) == ["heavier-than-cloth"]
    assert codes(load_is_told, site_at(0.6, 300.0)) == []
    assert codes(load_is_told, site_at(6.0, None)) == ["load"]
    (note,) = load_is_told(site_at(6.0, None))
    assert "add 24 g" in note.message


def test_an_estimate_says_so_and_grows_with_the_size():
    grams, guessed = weight_of(STONE)
    assert guessed
    assert weight_of(STONE.model_copy(update={"weight_g": 0.1})) == (0.1, False)
    pearl, _ = weight_of(PEARL)
    assert pearl < grams  # acrylic of the same size

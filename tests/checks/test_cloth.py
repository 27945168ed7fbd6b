"""Rules of the cloth: each fires where it should and keeps silent elsewhere."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from embellish.catalogue.shapes import piece_footprint
from embellish.checks.cloth import (
    gaps_hold_stretched,
    heat_bears,
    holes_heal,
    nap_sinks,
    press_is_borne,
    sheer_shows,
    stretch_gives,
)
from embellish.checks.site import Site
from embellish.layout.layout import Layout
from embellish.layout.spacing import near_pairs
from embellish.plans.templates.settings import PressSettings, TemplateSettings
from embellish.plans.templates.template import plan_templates
from tests.checks.sites import codes, lay, layout_of, piece, site_of

MARKED = layout_of(lay("BEAD", "sewn", "line"))
BARE = layout_of(lay("BEAD", "sewn"))
PRESSED = layout_of(lay("STONE", "template"), lay("BEAD", "sewn"))
IRONED = layout_of(lay("STONE", "hand"))
GLUED = layout_of(lay("PEARL", "hand"))


@pytest.mark.parametrize(
    ("rule", "layout", "cloth", "expected"),
    [
        (holes_heal, MARKED, {"heals": False}, ["holes-stay"]),
        (holes_heal, MARKED, {}, []),
        (holes_heal, BARE, {"heals": False}, []),
        (sheer_shows, MARKED, {"sheer": True}, ["sheer-thread"]),
        (sheer_shows, GLUED, {"sheer": True}, ["sheer-glue pearl"]),
        (sheer_shows, PRESSED, {"sheer": True}, ["sheer-glue stone"]),
        (sheer_shows, BARE, {"sheer": True}, []),
        (sheer_shows, GLUED, {}, []),
        (nap_sinks, MARKED, {"nap": True}, ["nap-marks"]),
        (nap_sinks, PRESSED, {"nap": True}, ["nap-press stone"]),
        (nap_sinks, IRONED, {"nap": True}, ["nap-press stone"]),
        (nap_sinks, BARE, {"nap": True}, []),
        (nap_sinks, PRESSED, {}, []),
        (heat_bears, PRESSED, {"heat_limit_c": 110}, ["heat-limit stone"]),
        (heat_bears, IRONED, {"heat_limit_c": 119}, ["heat-limit stone"]),
        (heat_bears, PRESSED, {"heat_limit_c": 120}, []),
        (heat_bears, PRESSED, {}, []),
        (heat_bears, GLUED, {"heat_limit_c": 80}, []),
        # An iron's limit counts where the maker of the cloth says nothing of a press.
        (heat_bears, PRESSED, {"care": {"iron_c": 110}}, ["heat-limit stone"]),
        (heat_bears, PRESSED, {"care": {"iron_c": 0}}, ["heat-limit stone"]),
        (heat_bears, PRESSED, {"care": {"iron_c": 110}, "heat_limit_c": 170}, []),
        (heat_bears, GLUED, {"care": {"iron_c": 0}}, []),
    ],
)
def test_cloth(rule, layout, cloth, expected):
    assert codes(rule, site_of(layout, **cloth)) == expected


def pressed_at(temperature_c: float | None, layout: Layout, **cloth: Any) -> Site:
    settings = TemplateSettings(press=PressSettings(temperature_c=temperature_c))
    return replace(site_of(layout, **cloth), templates=plan_templates(layout, settings, 1))


@pytest.mark.parametrize(
    ("temperature_c", "layout", "cloth", "expected"),
    [
        (160, PRESSED, {"heat_limit_c": 150}, ["press-too-hot"]),
        (150, PRESSED, {"heat_limit_c": 150}, []),
        (160, PRESSED, {"care": {"iron_c": 150}}, ["press-too-hot"]),
        (160, PRESSED, {"care": {"iron_c": 0}}, ["press-too-hot"]),
        (160, PRESSED, {"care": {"iron_c": 110}, "heat_limit_c": 170}, []),
        (160, PRESSED, {}, []),
        (None, PRESSED, {"heat_limit_c": 100}, []),
        # Nothing goes under the press.
        (160, GLUED, {"heat_limit_c": 100}, []),
        (160, IRONED, {"heat_limit_c": 100}, []),
    ],
)
def test_a_press_hotter_than_the_cloth_bears(temperature_c, layout, cloth, expected):
    site = pressed_at(temperature_c, layout, **cloth)
    assert codes(press_is_borne, site) == expected
    for finding in press_is_borne(site):
        assert "160 °C" in finding.message
        assert site.cloth.bears_words in finding.message
        assert "both makers" in finding.mend


def test_without_a_stitch_plan_nothing_is_said_of_stitches():
    site = replace(site_of(MARKED, heals=False), stitches=None)
    assert codes(holes_heal, site) == []
    # The job may build a site of the layout alone.
    assert codes(holes_heal, Site(MARKED, (None,), (0.0,))) == []


ACROSS: dict[str, Any] = {"stretch_across_percent": 30}
LENGTHWISE: dict[str, Any] = {"stretch_along_percent": 30}
TOLD = ["stretch-row bead"]


@pytest.mark.parametrize(
    ("count", "pitch", "way", "stretch", "expected"),
    [
        # The rows run left to right; along is up and down where nothing else is said.
        (20, 6.0, "row", ACROSS, TOLD),
        (20, 6.0, "row", LENGTHWISE, []),
        (20, 6.0, "row", LENGTHWISE | {"grain_deg": 0}, TOLD),
        (20, 6.0, "row", LENGTHWISE | {"grain_deg": 29.9}, TOLD),
        (20, 6.0, "row", LENGTHWISE | {"grain_deg": -150.1}, TOLD),
        (20, 6.0, "row", LENGTHWISE | {"grain_deg": 30.1}, []),
        # Cloth that gives alike both ways gives that way too.
        (20, 6.0, "row", LENGTHWISE | ACROSS | {"grain_deg": 45}, TOLD),
        (20, 6.0, "row", {}, []),
        # 8 x 6 = 42 mm is short; 9 mm between beads of 2 mm leave it all to the cloth.
        (8, 6.0, "row", ACROSS, []),
        (20, 9.0, "row", ACROSS, []),
        (20, 6.0, "scatter", ACROSS, []),
    ],
)
def test_long_rows_on_cloth_that_stretches(count, pitch, way, stretch, expected):
    layout = layout_of(lay("BEAD", "sewn", way=way), count=count, pitch=pitch)
    assert codes(stretch_gives, site_of(layout, **stretch)) == expected


def test_a_stretched_row_is_told_with_its_length():
    layout = layout_of(lay("BEAD", "sewn"), lay("PEARL", "hand"), count=20)
    (bead, pearl) = stretch_gives(site_of(layout, stretch_across_percent=30))
    assert "114 mm" in bead.message
    assert "30 %" in bead.message
    assert "thread may break" in bead.message
    assert "pieces may come off" in pearl.message
    assert (bead.severity, pearl.lay) == ("warning", "pearl")


def test_a_row_that_turns_a_corner_is_measured_on_each_side():
    # 60 mm left to right, then 60 mm down: neither alone is long.
    layout = layout_of(lay("BEAD", "sewn"), count=21)
    way = np.minimum(np.arange(21), 10) * 6.0, np.maximum(np.arange(21) - 10, 0) * 6.0
    layout = replace(layout, xy=np.stack(way, axis=1))
    assert codes(stretch_gives, site_of(layout, **ACROSS)) == []
    assert codes(stretch_gives, site_of(layout, **ACROSS, **LENGTHWISE)) == TOLD


# Gap 0.5 asked: beads of 2 mm each 2.6 mm have 0.6 mm.
NEAR = layout_of(lay("BEAD", "sewn"), pitch=2.6)


@pytest.mark.parametrize(
    ("cloth", "expected"),
    [
        ({"set": "board", "board_along_percent": 20}, []),
        ({"set": "board", "board_across_percent": 20}, []),
        ({"set": "board", "board_across_percent": -3}, []),
        ({"set": "board", "board_across_percent": -5}, ["gap-stretched bead"]),
        ({"set": "board", "board_across_percent": -5, "grain_deg": 0}, []),
        # Worn, it gets narrower only across what it is stretched along.
        ({"narrows_percent": 5}, []),
        ({"narrows_percent": 5, "stretch_along_percent": 30}, ["gap-stretched bead"]),
        ({"narrows_percent": 5, "stretch_across_percent": 30}, []),
    ],
)
def test_gaps_hold_stretched_too(cloth, expected):
    assert codes(gaps_hold_stretched, site_of(NEAR, **cloth)) == expected


def test_what_is_asked_must_hold_not_what_was_laid():
    site = site_of(NEAR, set="board", board_across_percent=-10)
    (told,) = gaps_hold_stretched(site)
    # 2.6 × 0.9 − 2.
    assert "0.340 mm" in told.message
    assert "10 % narrower across" in told.message
    assert codes(gaps_hold_stretched, replace(site, gaps_mm=(0.339,))) == []
    assert codes(gaps_hold_stretched, replace(site, gaps_mm=(0.341,))) != []


def test_long_pieces_side_by_side_may_close_up_on_cloth_that_grows():
    # Bars at 45 degrees, shifted along each other: stretching up and down brings them together.
    size: dict[str, Any] = {"shape": "rectangle", "length_mm": [12, 12, 12], "width_mm": [2, 2, 2]}
    bar = piece("BAR", "bugle", "sew-on", **size)
    layout = layout_of(lay("STONE", "sewn"), count=2)
    layout = replace(
        layout,
        pieces=(bar, *layout.pieces[1:]),
        piece_footprints=(piece_footprint(bar), *layout.piece_footprints[1:]),
        xy=np.array([[0.0, 0.0], [6.0, 2.0]]),
        angle_deg=np.full(2, 45.0),
    )
    # (6, 2) across the bars is 4 / √2; stretched to (6, 5) it is 1 / √2.
    assert near_pairs(layout, 10.0).gap_mm[0] == pytest.approx(4 / 2**0.5 - 2)
    site = site_of(layout, set="board", board_along_percent=150)
    (told,) = gaps_hold_stretched(site)
    assert "a pair" in told.message

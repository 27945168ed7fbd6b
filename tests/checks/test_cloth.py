"""Rules of the cloth: each fires where it should and keeps silent elsewhere."""

from __future__ import annotations

from dataclasses import replace

import pytest

from embellish.checks.cloth import heat_bears, holes_heal, nap_sinks, sheer_shows, stretch_gives
from embellish.checks.site import Site
from tests.checks.sites import codes, lay, layout_of, site_of

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
    ],
)
def test_cloth(rule, layout, cloth, expected):
    assert codes(rule, site_of(layout, **cloth)) == expected


def test_without_a_stitch_plan_nothing_is_said_of_stitches():
    site = replace(site_of(MARKED, heals=False), stitches=None)
    assert codes(holes_heal, site) == []
    # The job may build a site of the layout alone.
    assert codes(holes_heal, Site(MARKED, (None,), (0.0,))) == []


@pytest.mark.parametrize(
    ("count", "pitch", "way", "stretch", "expected"),
    [
        (20, 6.0, "row", {"stretch_across_percent": 30}, ["stretch-row bead"]),
        (20, 6.0, "row", {"stretch_along_percent": 30}, ["stretch-row bead"]),
        (20, 6.0, "row", {}, []),
        # 8 x 6 = 42 mm is short; 9 mm between beads of 2 mm leave it all to the cloth.
        (8, 6.0, "row", {"stretch_along_percent": 30}, []),
        (20, 9.0, "row", {"stretch_along_percent": 30}, []),
        (20, 6.0, "scatter", {"stretch_along_percent": 30}, []),
    ],
)
def test_long_rows_on_cloth_that_stretches(count, pitch, way, stretch, expected):
    layout = layout_of(lay("BEAD", "sewn", way=way), count=count, pitch=pitch)
    assert codes(stretch_gives, site_of(layout, **stretch)) == expected


def test_a_stretched_row_is_told_with_its_length():
    layout = layout_of(lay("BEAD", "sewn"), lay("PEARL", "hand"), count=20)
    (bead, pearl) = stretch_gives(site_of(layout, stretch_along_percent=30))
    assert "114 mm" in bead.message
    assert "30 %" in bead.message
    assert (bead.severity, pearl.lay) == ("note", "pearl")

"""Rules of gaps and regions."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import box

from embellish.checks.spacing import gaps_hold, pieces_stay_inside, something_is_laid
from embellish.checks.table import RULES, check
from tests.checks.sites import codes, lay, layout_of, site_of

ROW = layout_of(lay("STONE", "template"))
"""Stones of 5 mm, 6 mm apart, with a gap of 0.5 mm asked."""


def test_gaps():
    assert codes(gaps_hold, site_of(ROW)) == []
    close = replace(ROW, xy=ROW.xy * [0.9, 1.0])
    (finding,) = gaps_hold(site_of(close))
    assert (finding.code, finding.severity) == ("gap-too-small", "error")
    assert "3 pairs" in finding.message
    assert "0.400 mm" in finding.message


@pytest.mark.parametrize(
    ("margin", "expected"), [(0.0, []), (0.9, []), (1.1, ["outside-region stone"])]
)
def test_regions(margin, expected):
    # The stones reach to 2.5 mm around, the region to 3.5 mm.
    site = replace(site_of(ROW), regions=(box(-3.5, -3.5, 21.5, 3.5),), edges_mm=(margin,))
    assert codes(pieces_stay_inside, site) == expected
    assert codes(pieces_stay_inside, replace(site, regions=(None,))) == []


def test_every_rule_is_looked_at_once():
    assert len(set(RULES)) == len(RULES)
    quiet = check(site_of(ROW))
    assert quiet == ()
    site = site_of(
        layout_of(lay("PEARL", "template", "each")), heals=False, nap=True, heat_limit_c=100
    )
    found = {finding.code for finding in check(site)}
    assert found == {
        "marked-under-press", "not-heat-set", "holes-stay", "nap-marks", "nap-press", "heat-limit",
    }  # fmt: skip


def test_an_empty_layout_is_an_error_and_any_piece_is_enough():
    (finding,) = something_is_laid(site_of(layout_of(lay("STONE", "template"), count=0)))
    assert (finding.code, finding.severity) == ("nothing-laid", "error")
    assert not list(something_is_laid(site_of(layout_of(lay("STONE", "template")))))

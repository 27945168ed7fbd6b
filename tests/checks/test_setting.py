"""Rules of how pieces are set."""

from __future__ import annotations

import pytest

from embellish.checks.setting import (
    pressed_with_glue,
    sequins_after_heat,
    sewn_through_holes,
    shaped_do_not_brush,
)
from tests.checks.sites import codes, lay, layout_of, site_of


@pytest.mark.parametrize(
    ("rule", "lays", "expected"),
    [
        (sewn_through_holes, [lay("SOLID", "sewn")], ["no-thread-hole solid"]),
        (sewn_through_holes, [lay("STONE", "sewn")], ["no-thread-hole stone"]),
        (sewn_through_holes, [lay("held", "sewn")], []),
        (sewn_through_holes, [lay("CHAIN", "sewn")], []),
        (sewn_through_holes, [lay("SOLID", "hand")], []),
        (pressed_with_glue, [lay("PEARL", "template")], ["not-heat-set pearl"]),
        (pressed_with_glue, [lay("PEARL", "face-down")], ["not-heat-set pearl"]),
        (pressed_with_glue, [lay("held", "template")], ["not-heat-set held"] * 2),
        (pressed_with_glue, [lay("STONE", "template")], []),
        (pressed_with_glue, [lay("PEARL", "hand")], []),
        (
            sequins_after_heat,
            [lay("STONE", "template"), lay("SEQUIN", "sewn")],
            ["heat-near-sequins sequin"],
        ),
        (
            sequins_after_heat,
            [lay("held", "sewn"), lay("STONE", "hand")],
            ["heat-near-sequins held"],
        ),
        (shaped_do_not_brush, [lay("STONE", "template")], []),
        (shaped_do_not_brush, [lay("OVAL", "face-down")], []),
        (shaped_do_not_brush, [lay("OVAL", "template")], ["does-not-brush oval"]),
        (sequins_after_heat, [lay("PEARL", "hand"), lay("SEQUIN", "sewn")], []),
        (sequins_after_heat, [lay("STONE", "template"), lay("BEAD", "sewn")], []),
    ],
)
def test_setting(rule, lays, expected):
    assert codes(rule, site_of(layout_of(*lays))) == expected


def test_lays_without_seats_are_silent():
    lays = [lay("STONE", "template"), lay("SEQUIN", "sewn"), lay("SOLID", "sewn")]
    site = site_of(layout_of(*lays, count=0))
    for rule in (sewn_through_holes, pressed_with_glue, sequins_after_heat):
        assert codes(rule, site) == []


def test_sequins_are_not_pressed():
    (finding,) = pressed_with_glue(site_of(layout_of(lay("SEQUIN", "template"))))
    assert "sequins take no heat" in finding.message


def test_the_order_of_work_is_told():
    (finding,) = sequins_after_heat(
        site_of(layout_of(lay("STONE", "template"), lay("SEQUIN", "sewn")))
    )
    assert finding.mend.index("Press first") < finding.mend.index("sew the sequins on")
    assert finding.where_mm == (0.0, 20.0)

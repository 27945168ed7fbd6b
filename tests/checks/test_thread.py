"""Rules of thread beside glued and under pressed pieces, by the needle points of the design."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from embellish.checks.site import Site
from embellish.checks.thread import marks_hide, thread_stays_clear
from embellish.geometry.transforms import Affine
from embellish.plans.stitching.stitch import StitchSettings, plan_stitches
from tests.checks.sites import codes, lay, layout_of, site_of
from tests.plans import stitch_cases


@pytest.mark.parametrize("shape", ["auto", "tick", "cross", "dot", "ring", "outline"])
@pytest.mark.parametrize("mirrored", [False, True])
def test_hidden_marks_are_silent(shape, mirrored):
    seats = [
        (17.3 * index, 3.1 * number, 37.0 * index + 11.0 * number, number)
        for number in (0, 1, 2, 4)
        for index in range(5)
    ]
    layout = stitch_cases.layout_of(seats, set_by="hand")
    stitches = plan_stitches(layout, StitchSettings(shape=shape, mirrored=mirrored))
    assert codes(marks_hide, Site(layout, (None,), (0.0,), stitches=stitches)) == []


def test_marks_that_come_out_are_an_error_for_glued_pieces_alone():
    glued = layout_of(lay("PEARL", "hand", "each"), lay("BEAD", "sewn", "each"))
    stitches = site_of(glued).stitches
    # The pieces are set 3 mm beside their marks.
    moved = replace(glued, xy=glued.xy + np.array([3.0, 0.0]))
    site = replace(site_of(glued), layout=moved, stitches=stitches)
    (finding,) = marks_hide(site)
    assert (finding.code, finding.severity, finding.lay) == ("mark-in-sight", "error", "pearl")
    assert finding.message.startswith("4 marks of PEARL")
    # A tick of at most a third of the piece, 3 mm off its middle.
    half = 4.8 / 2.0
    out = float(finding.message.split("out ")[1].split(" mm")[0])
    assert 3.0 - half <= out <= 3.0 - half + 5.0 / 6.0 + 0.06


def test_turned_pieces_are_looked_at_as_they_stand():
    # A bar of 6 mm hides lengthwise under a navette of 10 x 5 and comes out across it.
    layout = stitch_cases.layout_of([(0.0, 0.0, 30.0, 2)], set_by="hand")
    stitches = plan_stitches(layout, StitchSettings(shape="bar"))
    assert codes(marks_hide, Site(layout, (None,), (0.0,), stitches=stitches)) == []
    across = replace(layout, angle_deg=np.array([120.0]))
    assert codes(marks_hide, Site(across, (None,), (0.0,), stitches=stitches)) == [
        "mark-in-sight lay-0"
    ]


def test_a_piece_that_leaves_its_own_middle_bare_cannot_hide_its_mark():
    hook = [(-5, -5, 0), (5, -5, 0), (5, -3, 0), (-3, -3, 0), (-3, 5, 0), (-5, 5, 0)]
    pieces = [stitch_cases.piece("HOOK", "outline", 10.0, fixing="glue", outline_mm=hook)]
    layout = stitch_cases.layout_of([(0.0, 0.0, 20.0, 0)], set_by="hand", pieces=pieces)
    stitches = plan_stitches(layout, StitchSettings())
    (finding,) = marks_hide(Site(layout, (None,), (0.0,), stitches=stitches))
    assert finding.message.startswith("one mark of HOOK")
    # Its middle is 3 mm from either leg, at the least size 1 % smaller; a tick reaches beyond.
    assert "chart" in finding.mend
    out = float(finding.message.split("out ")[1].split(" mm")[0])
    assert 2.9 <= out <= 5.0


@pytest.mark.parametrize("mark", ["line", "outline"])
def test_marks_that_show_by_nature_are_silent(mark):
    site = site_of(layout_of(lay("PEARL", "hand", mark)))
    assert site.sews
    assert codes(marks_hide, site) == []


def test_a_unit_hides_what_any_of_its_pieces_hides():
    site = site_of(layout_of(lay("held", "hand", "each")))
    assert site.sews
    assert codes(marks_hide, site) == []
    assert codes(marks_hide, replace(site, stitches=None)) == []


@pytest.mark.parametrize(
    ("set_by", "mark", "expected"),
    [
        ("template", "each", ["marked-under-press stone"]),
        ("face-down", "outline", ["marked-under-press stone"]),
        ("template", "none", []),
        ("hand", "each", []),
    ],
)
def test_marks_under_pressed_pieces(set_by, mark, expected):
    assert codes(thread_stays_clear, site_of(layout_of(lay("STONE", set_by, mark)))) == expected


def test_thread_of_another_lay_under_pressed_pieces():
    layout = layout_of(lay("STONE", "template"), lay("BEAD", "sewn", "line"))
    assert codes(thread_stays_clear, site_of(layout)) == []
    # The guide line of the beads now runs 2 mm past the middles of the stones of 5 mm, ...
    down = np.where(layout.lay == 1, -18.0, 0.0)
    under = replace(layout, xy=layout.xy + np.stack([np.zeros(len(down)), down], axis=1))
    assert codes(thread_stays_clear, site_of(under)) == ["thread-under-press stone"]
    (finding,) = thread_stays_clear(site_of(under))
    assert "4 of these pieces" in finding.message
    # ... and clear of them 4 mm away.
    beside = replace(under, xy=under.xy + np.stack([np.zeros(len(down)), -down / 9.0], axis=1))
    assert codes(thread_stays_clear, site_of(beside)) == []


def test_thread_is_found_when_sewn_from_the_wrong_side():
    layout = layout_of(lay("STONE", "template"), lay("BEAD", "sewn", "line"))
    layout = replace(layout, xy=np.where(layout.lay[:, None] == 1, layout.xy - [0, 19], layout.xy))
    layout = layout.mapped(Affine.turn(30.0, 0.0, 0.0)).rounded()
    site = site_of(layout, marks={"mirrored": True})
    assert codes(thread_stays_clear, site) == ["thread-under-press stone"]

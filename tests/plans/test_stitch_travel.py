"""Travel under pieces: around corners, from line to line, and never where it shows too much."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from embellish.plans.stitching.covers import Covers, cover_of
from embellish.plans.stitching.marks import paths_of
from embellish.plans.stitching.stitch import StitchSettings, plan_stitches
from tests.checks import sites
from tests.plans.stitch_cases import layout_of


def bent_row(pitch: float) -> list[tuple[float, float, float, int]]:
    """Small pieces around a corner from one large one to another."""
    along = np.linspace(4.8, 40.0, 1 + round(35.2 / pitch))
    corner = [(x, 0.0, 0.0, 0) for x in along] + [(40.0, 40.0 - y, 0.0, 0) for y in along[:-1]]
    return [(0.0, 0.0, 0.0, 1), *corner, (40.0, 40.0, 0.0, 1)]


def test_thread_goes_from_piece_to_piece_around_a_corner_where_that_is_quicker():
    layout = layout_of(bent_row(3.6))
    (hooping,) = plan_stitches(layout, StitchSettings()).hoopings
    large = next(i for i, stop in enumerate(hooping.stops) if stop.code == "LARGE")
    block = hooping.design.blocks[large]
    # Both large pieces in one thread, that turns the corner under the small ones.
    assert (block.kind == 1).sum() == 1
    places = hooping.to_stitch.inverse()(block.stitches)
    covers = [shapely.Point(x, y).buffer(1.35 if n == 0 else 2.95) for x, y, _, n in bent_row(3.6)]
    shown = shapely.LineString(places).difference(shapely.union_all(covers))
    assert max(part.length for part in getattr(shown, "geoms", [shown])) <= 1.5 + 0.15
    # Where more would show than is allowed, or the way takes longer than a cut, it is cut.
    for seats, more in ((bent_row(4.6), {}), (bent_row(3.6), {"trim_s": 0.5})):
        apart = plan_stitches(layout_of(seats), StitchSettings.model_validate(more)).hoopings[0]
        assert (apart.design.blocks[large].kind == 1).sum() == 2


def test_guide_lines_that_meet_are_sewn_in_one_go():
    seats = [(3.2 * i, 0.0, 0.0, 0) for i in range(20)] + [
        (61.0, 3.0 + 3.2 * i, 0.0, 0) for i in range(20)
    ]
    layout = replace(layout_of(seats, mark="line"), row=np.repeat([0, 1], 20))
    (hooping,) = plan_stitches(layout, StitchSettings()).hoopings
    assert [mark.kind for mark in hooping.marks] == ["line", "line"]
    assert (hooping.effort.trims, hooping.unjoined.trims) == (0, 1)
    apart = plan_stitches(layout, StitchSettings(join_visible_mm=0.0)).hoopings[0]
    assert apart.effort.trims == 1


def test_every_piece_of_a_unit_hides_thread():
    layout = sites.layout_of(sites.lay("held", "sewn", "each"), count=3)
    covers = Covers(layout, paths_of(layout, StitchSettings()))
    members = len(layout.units[0].members)
    assert members > 1
    assert len(covers.xy) == 3 * members
    assert len(covers.places) == 3
    # Across a seat and far beyond it all is shown but what the whole unit covers.
    start = layout.xy[:1] + np.array([-40.0, 0.4])
    end = start + np.array([80.0, 0.0])
    unit = cover_of(layout, int(layout.footprint[0]), "min")
    placed = [
        affinity.translate(affinity.rotate(unit, angle, origin=(0, 0)), x, y)
        for (x, y), angle in zip(layout.xy, layout.angle_deg, strict=True)
    ]
    free = shapely.LineString([start[0], end[0]]).difference(shapely.union_all(placed))
    longest = max(part.length for part in getattr(free, "geoms", [free]))
    assert covers.shown_mm(start, end)[0] == pytest.approx(longest, abs=1e-3)

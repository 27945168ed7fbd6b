"""The last of laying: holes that dropped pieces leave are filled, and gaps are evened out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.job.files import open_job
from embellish.job.laying import Bedded, lay_job
from embellish.layout.spacing import near_pairs
from tests.layout.ways.fill_cases import FILL_REGIONS

JOB = """version = 1
title = "Finishing"
catalogues = ["shipped:stones"]
[artwork]
file = "a.svg"
[[lay]]
id = "fill"
shapes = "*"
way = "WAY"
pieces = ["R-SS6-CLEAR"]
gap_mm = 0.6
edge_mm = 0.3
"""

HAND = """[[edit]]
lay = "fill"
do = "MOVE"
at = [0.28, 0.28]
"""


def drawn(region: shapely.Polygon | shapely.MultiPolygon) -> str:
    rings = shapely.get_rings(shapely.get_parts(region))
    moved = [shapely.get_coordinates(ring) + 40.0 for ring in rings]
    d = " ".join("M" + " L".join(f"{x:.6f} {y:.6f}" for x, y in ring) + " Z" for ring in moved)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="140mm" height="100mm" '
        f'viewBox="0 0 140 100"><path id="a" fill-rule="evenodd" d="{d}"/></svg>'
    )


def laid(where: Path, region: Any, way: str, more: str = "", edits: str = "") -> Bedded:
    drawing = FILL_REGIONS[region] if isinstance(region, str) else region
    (where / "a.svg").write_text(drawn(drawing))
    (where / "job.toml").write_text(JOB.replace("WAY", way) + more + edits)
    opened = open_job(where / "job.toml")
    return lay_job(opened.job, opened.artwork, opened.catalogue)


def region_of(bedded: Bedded) -> BaseGeometry:
    region = bedded.regions[0]
    assert region is not None
    return region


def whole(bedded: Bedded) -> None:
    """Every gap holds without tolerance, and every piece is inside."""
    pairs = near_pairs(bedded.layout)
    assert (pairs.gap_mm >= pairs.asked_mm).all()
    region, layout = region_of(bedded), bedded.layout
    edge = shapely.distance(region.boundary, shapely.points(layout.xy))
    assert (edge >= layout.reach_mm + 0.3 - 1e-6).all()
    assert shapely.contains_xy(region, *layout.xy.T).all()


def spread(bedded: Bedded) -> float:
    near = np.asarray(cKDTree(bedded.layout.xy).query(bedded.layout.xy, k=2)[0])[:, 1]
    return float(near.std() / near.mean())


@pytest.mark.parametrize("way", ["grid", "rings", "scatter"])
@pytest.mark.parametrize("region", ["star", "glyph, an e", "lobes that nearly touch"])
def test_settling_breaks_nothing_and_loses_nothing(way, region, tmp_path):
    before = laid(tmp_path, region, way)
    after = laid(tmp_path, region, way, "settle = 1.0\n")
    whole(after)
    if way == "scatter":
        assert spread(after) < 0.6 * spread(before)
    else:
        assert len(after.layout) == len(before.layout)


EVEN = 'symmetric = true\naxis = "own"\n'
SYMMETRIC = {
    "triangle": shapely.Polygon([(0.0, -25.0), (30.0, 22.0), (-30.0, 22.0)]),
    "ring": shapely.Point(0, 0).buffer(24.3, quad_segs=64)
    - shapely.Point(0, 0).buffer(7.9, quad_segs=64),
    "heart": shapely.union_all(
        [
            shapely.Point(-11, 0).buffer(13, quad_segs=64),
            shapely.Point(11, 0).buffer(13, quad_segs=64),
            shapely.Polygon([(-20.0, 9.4), (20.0, 9.4), (0.0, 33.0)]),
        ]
    ),
}


@pytest.mark.parametrize("way", ["grid", "rings", "scatter"])
@pytest.mark.parametrize("name", sorted(SYMMETRIC))
def test_a_symmetric_lay_settles_alike_on_both_sides(name, way, tmp_path):
    bare, after = (
        laid(tmp_path, SYMMETRIC[name], way, EVEN + f"settle = {amount}\n") for amount in (0, 1)
    )
    for bedded in (bare, after):
        whole(bedded)
        assert "not-symmetric" not in {finding.code for finding in bedded.findings}
        x0, _, x1, _ = region_of(bedded).bounds
        image = bedded.layout.xy * [-1.0, 1.0] + [x0 + x1, 0.0]
        assert np.max(cKDTree(bedded.layout.xy).query(image)[0]) < 3e-6
    if way == "grid":
        assert len(after.layout) == len(bare.layout)
        assert not np.array_equal(after.layout.xy, bare.layout.xy), "it did settle"


def test_a_little_settling_moves_less(tmp_path):
    none, little, much = (
        laid(tmp_path, "star", "grid", f"settle = {amount}\n").layout.xy
        for amount in (0.0, 0.2, 1.0)
    )
    moved = [float(np.hypot(*(xy - none).T).mean()) for xy in (little, much)]
    assert 0.0 < moved[0] < moved[1]


def test_a_settled_grid_uses_the_room_to_the_edge(tmp_path):
    """What a lattice leaves over along an edge is shared out."""
    before, after = (laid(tmp_path, "star", "grid", f"settle = {n}\n") for n in (0, 1))
    near = [
        np.quantile(np.asarray(cKDTree(bed.layout.xy).query(bed.layout.xy, k=2)[0])[:, 1], 0.1)
        for bed in (before, after)
    ]
    assert near[1] > near[0]


def test_what_a_hand_set_stays_while_the_rest_settles(tmp_path):
    move = HAND.replace("MOVE", "move") + "along_mm = 0.35\nacross_mm = 0.2\n"
    still = laid(tmp_path, "disc and square", "grid", edits=move)
    after = laid(tmp_path, "disc and square", "grid", "settle = 1.0\n", edits=move)
    whole(after)
    place = np.array([0.28, 0.28]) * 140.0
    seat = still.layout.xy[np.argmin(np.hypot(*(still.layout.xy - place).T))]
    away = np.hypot(*(after.layout.xy - seat).T).min()
    assert away < 1e-6


@pytest.mark.parametrize("way", ["rings", "scatter"])
def test_the_hole_of_a_dropped_piece_is_filled(way, tmp_path):
    move = HAND.replace("MOVE", "add") + 'piece = "R-SS6-CLEAR"\n'
    bedded = laid(tmp_path, "disc and square", way, edits=move)
    whole(bedded)
    assert "clash-dropped" in {finding.code for finding in bedded.findings}
    # About the piece that was added no room for another is left.
    layout = bedded.layout
    centres = region_of(bedded).buffer(-(layout.reach_mm.max() + 0.3) - 1e-4)
    taken = shapely.buffer(
        shapely.points(layout.xy), 2 * layout.reach_mm.max() + 0.6 + 1e-3, quad_segs=64
    )
    near = shapely.Point(*(np.array([0.28, 0.28]) * 140.0)).buffer(4.0)
    left = centres.intersection(near).difference(shapely.union_all(taken))
    assert left.area < 1e-3


def test_what_a_hand_deleted_stays_empty(tmp_path):
    move = HAND.replace("MOVE", "add") + 'piece = "R-SS6-CLEAR"\n'
    gone = HAND.replace("MOVE", "delete").replace("[0.28,", "[0.31,")
    bedded = laid(tmp_path, "disc and square", "rings", edits=move + gone)
    whole(bedded)
    place = np.array([0.31, 0.28]) * 140.0
    half = bedded.layout.reach_mm.max() + 0.3
    new = bedded.layout.row > 0
    assert not (np.hypot(*(bedded.layout.xy[new] - place).T) < half).any()

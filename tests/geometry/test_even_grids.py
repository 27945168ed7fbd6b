"""Even grids: alike on both sides, and as many as any that is."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import cKDTree
from shapely.affinity import rotate, scale, translate
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.geometry.even_grids import even_grid, fair_grid, nearly
from embellish.geometry.lattices import Lattice, best_grid

KINDS = {"hex": Lattice.hex, "square": Lattice.square, "brick": Lattice.brick}


def heart() -> shapely.Polygon:
    turn = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    x = 16.0 * np.sin(turn) ** 3
    y = -13 * np.cos(turn) + 5 * np.cos(2 * turn) + 2 * np.cos(3 * turn) + np.cos(4 * turn)
    return shapely.Polygon(np.stack([x + 31.0, y - 7.0], axis=1))


def star(points: int = 5) -> shapely.Polygon:
    turn = np.arange(2 * points) * np.pi / points
    far = np.where(np.arange(2 * points) % 2, 9.0, 22.0)
    outline = np.stack([far * np.sin(turn) - 4.0, -far * np.cos(turn) + 60.0], axis=1)
    return shapely.Polygon(outline, [shapely.Point(-4.0, 60.0).buffer(4.0).exterior.coords])


REGIONS = {
    "heart": (heart(), True, False),
    "heart on its side": (rotate(heart(), 90.0, origin=(0, 0)), False, True),
    "star with a hole": (star(), True, False),
    "star of six": (star(6), True, True),
    "two discs": (
        shapely.union_all([shapely.Point(x, 3.0).buffer(9.0) for x in (-12.0, 12.0)]),
        True,
        True,
    ),
}
"""Regions, and whether they are alike about their upright and their level middle."""


def off_image(xy: Floats, region: BaseGeometry, *, upright: bool) -> float:
    """Return how far a point is at most from the mirror image of another."""
    x0, y0, x1, y1 = region.bounds
    image = np.array([x0 + x1, y0 + y1]) - xy
    image[:, 1 if upright else 0] = xy[:, 1 if upright else 0]
    return float(np.max(cKDTree(xy).query(image)[0]))


@given(st.sampled_from(sorted(REGIONS)), st.sampled_from(sorted(KINDS)), st.floats(1.5, 7.0))
def test_both_sides_are_alike(name: str, kind: str, pitch: float):
    region, upright, level = REGIONS[name]
    lattice = KINDS[kind](pitch)
    grid = even_grid(region, lattice)
    if grid is None:
        assert len(best_grid(region, lattice)) < 4
        return
    assert np.all(shapely.dwithin(region, shapely.points(grid.xy), 1e-6))
    off = [off_image(grid.xy, region, upright=each) for each in (True, False)]
    # A point on the very edge may be there on one side alone.
    assert min(o for o, there in zip(off, (upright, level), strict=True) if there) < 1e-3
    near, _ = cKDTree(grid.xy).query(grid.xy, k=[min(2, len(grid))])
    assert len(grid) == 1 or np.min(near) >= pitch * (1.0 - 1e-9)


@given(
    st.sampled_from(["heart", "star with a hole"]),
    st.sampled_from(sorted(KINDS)),
    st.floats(2.0, 6.0),
    st.integers(0, 1),
    st.floats(0.0, 1.0),
)
def test_no_other_even_shift_holds_more(
    name: str, kind: str, pitch: float, half: int, share: float
):
    region, lattice = REGIONS[name][0], KINDS[kind](pitch)
    grid = even_grid(region, lattice, 0.0)
    x0, _, x1, _ = region.bounds
    n = int(60.0 / lattice.along_mm) + 2
    i, j = np.meshgrid(np.arange(-n, n + 1), np.arange(-2 * n, 2 * n + 1))
    x = (i + lattice.shift * (j % 2) + half / 2.0) * lattice.along_mm + (x0 + x1) / 2.0
    y = (j + share) * lattice.across_mm + region.centroid.y
    count = int(shapely.contains_xy(region, x, y).sum())
    # The shift across is searched in steps.
    assert (0 if grid is None else len(grid)) >= count - max(2, 0.02 * count)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_star_of_six_is_alike_about_both_its_lines(kind: str):
    region = REGIONS["star of six"][0]
    grid = even_grid(region, KINDS[kind](2.7))
    assert grid is not None
    assert off_image(grid.xy, region, upright=True) < 1e-6
    assert off_image(grid.xy, region, upright=False) < 1e-6


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("pitch", [1.5, 2.2, 3.1, 4.7])
@pytest.mark.parametrize("name", sorted(REGIONS))
def test_a_fair_grid_is_even_or_holds_too_many_more(name: str, pitch: float, kind: str):
    region, lattice = REGIONS[name][0], KINDS[kind](pitch)
    fair, most = fair_grid(region, lattice), best_grid(region, lattice)
    assert len(fair) >= nearly(len(most))
    if even_grid(region, lattice, at_least=nearly(len(most))) is not None:
        assert min(off_image(fair.xy, region, upright=each) for each in (True, False)) < 1e-3
    else:
        assert np.array_equal(fair.xy, most.xy)


def test_few_are_not_made_fewer_still():
    assert [nearly(n) > n - 1 for n in (1, 5, 14, 16)] == [True, True, True, False]
    assert nearly(1000) == pytest.approx(970.0)


def test_what_is_not_alike_has_no_even_grid():
    for region in (rotate(heart(), 20.0), shapely.Polygon([(0, 0), (30, 0), (0, 20)])):
        assert even_grid(region, Lattice.hex(2.0)) is None
    assert even_grid(shapely.Polygon(), Lattice.hex(2.0)) is None


def test_a_drawing_a_tenth_off_is_alike():
    half = shapely.box(20.0, -30.0, 31.0, 30.0)
    region = shapely.union_all(
        [heart().difference(half), translate(heart(), 0.1).intersection(half)]
    )
    assert even_grid(region, Lattice.hex(2.0)) is not None


def test_a_turn_that_is_asked_stays_and_too_few_are_none():
    region = heart()
    assert even_grid(region, Lattice.hex(2.0), 17.0) is None
    for turn in (0.0, 90.0, 180.0):
        grid = even_grid(region, Lattice.hex(2.0), turn)
        assert grid is not None
        assert grid.angle_deg % 180.0 == turn % 180.0
    some = even_grid(region, Lattice.hex(2.0))
    assert some is not None
    assert even_grid(region, Lattice.hex(2.0), at_least=len(some)) is not None
    assert even_grid(region, Lattice.hex(2.0), at_least=len(some) + 1) is None
    assert even_grid(scale(region, 0.01, 0.01), Lattice.hex(2.0), at_least=2) is None

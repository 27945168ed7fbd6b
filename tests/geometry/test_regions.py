import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from embellish.arrays import Floats, Ints
from embellish.geometry.regions import areal, crossing_bound, filled, shoelace_area, winding_numbers

SQUARE = np.array([[0, 0], [10, 0], [10, 10], [0, 10]], dtype=float)
STAR = np.array([[np.sin(k * 4 * np.pi / 5), np.cos(k * 4 * np.pi / 5)] for k in range(5)]) * 10


def grid_winding(points: Floats, loops: list[Floats]) -> Ints:
    """Return winding numbers by summing turned angles: slow, and nothing like ours."""
    total = np.zeros(len(points))
    for loop in loops:
        rays = loop[None] - points[:, None]
        angles = np.arctan2(rays[..., 1], rays[..., 0])
        steps = np.diff(np.concatenate([angles, angles[:, :1]], axis=1), axis=1)
        total += ((steps + np.pi) % (2 * np.pi) - np.pi).sum(axis=1)
    return np.rint(total / (2 * np.pi)).astype(np.int64)


corner = st.tuples(st.integers(0, 12), st.integers(0, 12))
loops_strategy = st.lists(
    st.lists(corner, min_size=3, max_size=9).map(lambda p: np.array(p, dtype=float)),
    min_size=1,
    max_size=4,
)


@settings(max_examples=120, deadline=None)
@given(loops_strategy, st.sampled_from(["nonzero", "evenodd"]))
def test_inside_is_what_the_rule_says(loops, rule):
    region = filled(loops, rule)
    assert region.is_valid
    # Points off the lattice of corners; those that touch an edge say nothing.
    xs = np.arange(0.37, 12, 0.731)
    points = np.stack(np.meshgrid(xs, xs + 0.013), axis=-1).reshape(-1, 2)
    rings = [shapely.LineString(np.concatenate([loop, loop[:1]])) for loop in loops]
    clear = shapely.distance(shapely.points(points), shapely.union_all(rings)) > 1e-6
    points = points[clear]
    winding = grid_winding(points, loops)
    assert np.array_equal(winding, winding_numbers(points, loops))
    inside = winding != 0 if rule == "nonzero" else winding % 2 == 1
    assert np.array_equal(shapely.contains_xy(region, points), inside)


@settings(max_examples=60, deadline=None)
@given(loops_strategy)
def test_evenodd_and_order(loops):
    once = filled(loops, "evenodd")
    assert filled([loop[::-1] for loop in loops], "evenodd").area == pytest.approx(
        once.area, abs=1e-9
    )
    assert filled(loops[::-1], "nonzero").area == pytest.approx(
        filled(loops, "nonzero").area, abs=1e-9
    )
    assert filled([*loops, *loops], "evenodd").area == pytest.approx(0.0, abs=1e-9)
    assert filled([*loops, *loops], "nonzero").area == pytest.approx(
        filled(loops, "nonzero").area, abs=1e-9
    )


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.floats(1e-3, 1e4),
    st.integers(5, 60),
)
def test_rough_numbers_keep_the_balance(seed, scale, count):
    loop = np.random.default_rng(seed).normal(size=(count, 2)) * scale
    assume(len(np.unique(loop, axis=0)) == count)
    whole, odd = filled([loop], "nonzero"), filled([loop], "evenodd")
    assert whole.is_valid
    assert odd.is_valid
    assert odd.area <= whole.area * (1 + 1e-9)
    assert whole.area <= shapely.convex_hull(shapely.multipoints(loop)).area * (1 + 1e-9)


@pytest.mark.parametrize(
    ("loops", "nonzero", "evenodd"),
    [
        ([], 0, 0),
        ([SQUARE[:2]], 0, 0),
        ([SQUARE[[0, 1, 0, 1]]], 0, 0),
        ([SQUARE], 100, 100),
        ([SQUARE, SQUARE], 100, 0),
        ([SQUARE, SQUARE[::-1]], 0, 0),
        ([SQUARE, SQUARE * 0.5 + 1], 100, 75),
        ([SQUARE, (SQUARE * 0.5 + 1)[::-1]], 75, 75),
        ([SQUARE, SQUARE + 5], 175, 150),
        ([SQUARE, SQUARE + np.array([10, 0])], 200, 200),
        ([SQUARE, SQUARE + np.array([10, 10])], 200, 200),
        ([SQUARE, SQUARE + np.array([10 + 1e-9, 0])], 200, 200),
        ([np.concatenate([SQUARE, SQUARE])], 100, 0),
        # A slit: in along a line and back out the same way.
        ([np.array([[0, 0], [10, 0], [5, 5], [10, 0], [10, 10], [0, 10]])], 100, 100),
        ([np.repeat(SQUARE, 3, axis=0)], 100, 100),
    ],
)
def test_areas(loops, nonzero, evenodd):
    loops = [np.asarray(loop, dtype=float) for loop in loops]
    assert filled(loops, "nonzero").area == pytest.approx(nonzero, abs=1e-6)
    assert filled(loops, "evenodd").area == pytest.approx(evenodd, abs=1e-6)


def test_exteriors_run_clockwise_as_seen():
    region = filled([SQUARE[::-1], SQUARE * 0.5 + 1], "evenodd")
    assert isinstance(region, shapely.Polygon)
    ring = np.array(region.exterior.coords)[:-1]
    hole = np.array(region.interiors[0].coords)[:-1]
    assert shoelace_area(ring) > 0
    assert shoelace_area(hole) < 0


def test_a_star_crosses_itself():
    assert winding_numbers(np.array([[0.0, 0.0]]), [STAR]).tolist() in ([2], [-2])
    assert not filled([STAR], "evenodd").contains(shapely.Point(0, 0))
    assert filled([STAR], "nonzero").contains(shapely.Point(0, 0))


def test_many_crossings_are_seen_before_the_cutting():
    zigzag = np.array([[i % 2 * 100.0, i * 0.01] for i in range(2000)])
    crossed = np.concatenate([zigzag, zigzag[:, ::-1]])
    turn = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    assert crossing_bound([crossed]) > 1e6
    assert crossing_bound([circle]) < 1e4
    assert crossing_bound([]) == 0.0


def test_areal_drops_points_and_lines():
    mixed = shapely.GeometryCollection(
        [shapely.Point(0, 0), shapely.box(0, 0, 2, 2), shapely.LineString([(0, 0), (9, 9)])]
    )
    assert areal(mixed).area == 4.0
    assert areal(shapely.Point(0, 0)).is_empty


def test_circles_upon_each_other_but_for_rounding_are_filled():
    # One circle and back along it, by other points: what is left are slivers at most.
    turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    circle = np.stack([5 + np.cos(turn), 5 + np.sin(turn)], axis=1)
    for shift in (1e-16, 1e-13, 3e-12, 1e-10):
        back = np.stack([5 + np.cos(turn + shift), 5 + np.sin(turn + shift)], axis=1)[::-1]
        assert filled([circle, back], "nonzero").area < 1e-6
        assert filled([circle, back, SQUARE], "nonzero").area == pytest.approx(100.0)


def test_where_joining_is_refused_faces_are_united(monkeypatch):
    def refuse(_: object) -> None:
        raise shapely.errors.GEOSException("TopologyException")

    whole = filled([STAR, SQUARE], "evenodd")
    monkeypatch.setattr(shapely, "coverage_union_all", refuse)
    assert filled([STAR, SQUARE], "evenodd").symmetric_difference(whole).area < 1e-6

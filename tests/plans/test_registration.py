from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.plans.registration import (
    MISS_MM,
    RIM_MM,
    registration_bounds,
    registration_points,
    wrong_way_miss_mm,
)
from tests.plans.template_cases import SS16, layout_of

sizes = st.floats(0.5, 900.0)


def best_fit_miss(points: np.ndarray, order: tuple[int, ...]) -> float:
    """The greatest miss of the rigid map, turning over allowed, that best takes points to order.

    Kabsch's least squares: the least squared miss bounds the least greatest one from below by
    the root mean square.
    """
    a = points - points.mean(axis=0)
    b = points[list(order)] - points[list(order)].mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    miss = a @ (u @ vt) - b
    return float(np.sqrt((miss**2).sum(axis=1).mean()))


@given(width=sizes, height=sizes, count=st.sampled_from([3, 4]), diameter=st.floats(0.5, 10.0))
@settings(max_examples=60, deadline=None)
def test_holes_fit_their_pins_in_one_way_only(width, height, count, diameter):
    points = registration_points((10.0, -5.0, 10.0 + width, -5.0 + height), count, diameter)
    assert points.shape == (count, 2)
    for order in list(permutations(range(count)))[1:]:
        assert best_fit_miss(points, order) > MISS_MM / 2.0 * 0.99


@given(width=sizes, height=sizes, count=st.sampled_from([3, 4]), diameter=st.floats(0.5, 10.0))
@settings(max_examples=60, deadline=None)
def test_holes_stand_clear_of_the_pieces(width, height, count, diameter):
    x0, y0 = 3.0, 4.0
    points = registration_points((x0, y0, x0 + width, y0 + height), count, diameter)
    dx = np.maximum.reduce([x0 - points[:, 0], points[:, 0] - x0 - width, np.zeros(count)])
    dy = np.maximum.reduce([y0 - points[:, 1], points[:, 1] - y0 - height, np.zeros(count)])
    assert (np.hypot(dx, dy) >= RIM_MM + diameter / 2.0 - 2e-6).all()


def test_moving_the_work_moves_the_holes():
    first = registration_points((0.0, 0.0, 80.0, 50.0))
    second = registration_points((7.0, -3.0, 87.0, 47.0))
    np.testing.assert_allclose(second - first, [[7.0, -3.0]] * 3, atol=1e-9)


@pytest.mark.parametrize(
    "points",
    [
        [[0.0, 0.0], [50.0, 0.0], [0.0, 50.0]],
        [[0.0, 0.0], [60.0, 0.0], [0.0, 40.0], [60.0, 40.0]],
        [[0.0, 0.0], [60.0, 0.0]],
    ],
    ids=["isosceles", "rectangle", "two"],
)
def test_a_pattern_with_a_symmetry_is_told(points):
    assert wrong_way_miss_mm(np.array(points)) < 1e-9


def test_no_holes_are_asked_for():
    assert registration_points((0.0, 0.0, 10.0, 10.0), 0).shape == (0, 2)


def test_bounds_are_those_of_the_pieces_set_by_template():
    layout = layout_of(
        [SS16], [(0.0, 0.0), (10.0, 5.0), (99.0, 99.0)], lay=[0, 0, 1], set_by=("template", "sewn")
    )
    assert registration_bounds(layout) == pytest.approx((-2.0, -2.0, 12.0, 7.0))
    assert registration_bounds(layout.taken(np.array([2]))) is None

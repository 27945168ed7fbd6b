"""Rows against figures from outside: chords of a circle, published arc lengths, stones an inch."""

from __future__ import annotations

import math

import numpy as np
import pytest

from embellish.arrays import Floats
from embellish.artwork.artwork import Path, Shape
from embellish.geometry.curves import ellipse_arc, line_segments
from embellish.geometry.rows.row import Rule, round_bodies, space_row
from embellish.geometry.streams import Stream
from embellish.layout.ways.row import ROW, RowSettings
from embellish.layout.ways.way import Ground, Seats, no_progress
from tests.layout.ways.fill_cases import kit_of

# Radius of the circle, diameter, most stones with their centres on it: floor(pi / asin(d / 2R)),
# the regular polygon of side d in a circle (Euclid IV; any handbook of chords). In the last row
# counting along the arc, floor(2 pi R / d) = 3, is one too many.
MOST_ON_A_CIRCLE = [(50.0, 4.0, 78), (25.0, 2.8, 56), (10.0, 4.7, 13), (2.0, 3.9, 2)]

# Radius, parts, chord 2R sin(pi / n), of the same source.
CHORDS = [(10.0, 6, 10.0), (50.0, 20, 15.643446504023), (50.0, 31, 10.116832198743)]

# Stones touching in a row of one inch, as a shop publishes them, rounded down (half a stone for
# the largest). Source: rhinestonestore.com/Articles.asp?ID=254; mean diameters in mm.
PER_INCH = [
    ("SS6", 2.0, 12.0),
    ("SS10", 2.8, 9.0),
    ("SS16", 3.9, 6.0),
    ("SS20", 4.7, 5.0),
    ("SS34", 7.17, 3.5),
]


def row_on(path: Path, diameter: float, gap: float, **choices: object) -> Seats:
    shape = Shape("line", "", (), None, "#000000", 0.2, "nonzero", (path,))
    kit = kit_of(diameter, gap=gap, edge=0.0)
    way = RowSettings.model_validate(choices)
    return ROW.lay(Ground((shape,)), kit, way, Stream.of(1, "lay"), no_progress).seats


def ring(radius: float) -> Path:
    arc = ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.0, 2.0 * math.pi)
    return Path(arc, closed=True)


def chords(seats: Seats) -> Floats:
    step = np.diff(np.concatenate([seats.xy, seats.xy[:1]]), axis=0)
    return np.hypot(step[:, 0], step[:, 1])


@pytest.mark.parametrize(("radius", "diameter", "most"), MOST_ON_A_CIRCLE)
def test_most_stones_on_a_circle(radius, diameter, most):
    assert math.floor(math.pi / math.asin(diameter / (2.0 * radius))) == most
    for gap in (0.0, 0.3 * diameter):
        seats = row_on(ring(radius), diameter - gap, gap)
        assert len(seats) == most


@pytest.mark.parametrize("radius", [3.0, 11.3, 60.0])
@pytest.mark.parametrize("diameter", [0.9, 1.7, 2.8])
@pytest.mark.parametrize("gap", [0.0, 0.4])
def test_the_count_on_any_circle_is_the_largest_and_its_chords_the_polygon_s(radius, diameter, gap):
    seats = row_on(ring(radius), diameter, gap)
    most = math.floor(math.pi / math.asin((diameter + gap) / (2.0 * radius)))
    assert len(seats) == most
    side = 2.0 * radius * math.sin(math.pi / most)
    # The line is flattened to 1e-4 mm, so a chord may be that much shorter or longer.
    assert chords(seats) == pytest.approx(np.full(most, side), abs=3e-4)
    assert np.ptp(chords(seats)) <= 1e-9


@pytest.mark.parametrize(("radius", "parts", "chord"), CHORDS)
def test_chords_of_equal_parts(radius, parts, chord):
    seats = row_on(ring(radius), chord - 1e-3, 0.0)
    assert len(seats) == parts
    assert chords(seats) == pytest.approx(np.full(parts, chord), abs=3e-4)


@pytest.mark.parametrize(("size", "diameter", "published"), PER_INCH)
def test_stones_an_inch(size, diameter, published):
    inches = 1 if published == int(published) else 2
    path = Path(line_segments(np.array([[0.0, 0.0], [25.4 * inches, 0.0]])), closed=False)
    seats = row_on(path, diameter, 0.0, ends="inset")
    assert len(seats) == published * inches, size


def curve(x, y, start: float, end: float) -> Floats:
    t = np.linspace(start, end, 40_001)
    return np.stack([x(t), y(t)], axis=1)


# Curve, closed or not, and its length: textbook closed forms (elliptic integral E for the
# ellipses and the sine, Legendre 1825; cycloid 8r, Wren 1658; cardioid 8a, La Hire 1708).
LENGTHS = {
    "ellipse 2:1": (curve(lambda t: 2 * np.cos(t), np.sin, 0, 2 * np.pi), True, 9.688448220548),
    "ellipse 10:1": (curve(lambda t: 10 * np.cos(t), np.sin, 0, 2 * np.pi), True, 40.639741801009),
    "ellipse 50:30": (
        curve(lambda t: 50 * np.cos(t), lambda t: 30 * np.sin(t), 0, 2 * np.pi),
        True,
        255.269988633981,
    ),
    "cardioid": (
        curve(
            lambda t: (1 + np.cos(t)) * np.cos(t),
            lambda t: (1 + np.cos(t)) * np.sin(t),
            -np.pi,
            np.pi,
        ),
        True,
        8.0,
    ),
    "cycloid": (curve(lambda t: t - np.sin(t), lambda t: 1 - np.cos(t), 0, 2 * np.pi), False, 8.0),
    "parabola": (curve(lambda t: t, lambda t: t * t, 0, 1), False, 1.478942857545),
    "catenary": (curve(lambda t: t, np.cosh, 0, 1), False, 1.175201193644),
    "log spiral": (
        curve(
            lambda t: np.exp(0.1 * t) * np.cos(t),
            lambda t: np.exp(0.1 * t) * np.sin(t),
            0,
            2 * np.pi,
        ),
        False,
        8.788174916365,
    ),
    "sine": (curve(lambda t: t, np.sin, 0, 2 * np.pi), False, 7.640395578055),
}


@pytest.mark.parametrize("name", sorted(LENGTHS))
def test_a_fine_row_is_as_long_as_its_curve(name):
    """Chords of so many stones fall short of the arc by (pitch x curvature)^2 / 24 only."""
    points, closed, length = LENGTHS[name]
    pitch = length / 1500.5
    row = space_row(
        100 * points, closed, round_bodies(np.array([50 * pitch])), Rule(0.0, corner_deg=60)
    )
    xy = np.concatenate([row.xy, row.xy[:1]]) if closed else row.xy
    laid = float(np.hypot(*np.diff(xy, axis=0).T).sum())
    assert laid == pytest.approx(100 * length, rel=1e-4)
    if name == "cardioid":
        # At its cusp the two sides are too near for a stone each.
        assert 1498 <= len(xy) - 1 <= 1500
        return
    assert len(xy) - 1 == 1500
    reached = row.s[-1] + (row.s[-1] - row.s[-2] if closed else 0.0)
    assert reached == pytest.approx(100 * length, rel=1e-5)

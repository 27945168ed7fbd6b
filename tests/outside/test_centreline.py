"""Centrelines against medial axes whose answers are known by geometry.

Stadium, ellipse and tapered stroke: Blum 1967, "A transformation for extracting new descriptors of
shape"; the ellipse's axis runs between its centres of curvature at the ends of the long axis, and
a disc about (x0, 0) touches it where the normal through it meets the outline.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from embellish.geometry.centrelines.centreline import centrelines
from tests.shapes import ellipse


def test_a_stadium_has_its_straight_line_and_its_half_width():
    region = shapely.LineString([(0, 0), (40, 0)]).buffer(4, quad_segs=400)
    branch = centrelines(region, 0.2, extend=False).branches[0]
    assert np.abs(branch.xy[:, 1]).max() <= 0.01
    assert np.abs(branch.radius_mm - 4.0).max() <= 0.01
    assert np.sort(branch.xy[[0, -1], 0]) == pytest.approx([0.0, 40.0], abs=0.05)


def test_an_ellipse_has_the_line_between_its_centres_of_curvature():
    """Half axes a, b: the axis ends at a - b²/a, the radius at x0 is b·sqrt(1 - x0²/(a² - b²))."""
    a, b = 20.0, 8.0
    region = shapely.Polygon(ellipse(2 * a, 2 * b, 4000))
    lines = centrelines(region, 0.1, angle_deg=20.0, extend=False)
    assert len(lines.branches) == 1
    xy, radius = lines.branches[0].xy, lines.branches[0].radius_mm
    assert np.abs(xy[:, 1]).max() <= 0.01
    known = b * np.sqrt(1.0 - xy[:, 0] ** 2 / (a * a - b * b))
    assert np.abs(radius - known).max() <= 0.01
    end = a - b * b / a
    assert np.abs(xy[:, 0]).max() <= end + 0.05
    # Seen at 20 degrees: the touching points are 2·asin(y/r) apart about the centre.
    assert np.abs(xy[:, 0]).max() >= 0.97 * end


def test_a_tapered_stroke_has_its_bisector():
    """Sides at half angle t from the tip: the radius at distance s is s·sin t."""
    length, t = 60.0, math.radians(6.0)
    side = length * math.tan(t)
    region = shapely.Polygon([(0, 0), (length, side), (length, -side)])
    branch = centrelines(region, 0.2, extend=False).branches[0]
    inner = (branch.xy[:, 0] > 2.0) & (branch.xy[:, 0] < length - 2.5 * side)
    assert np.count_nonzero(inner) > 50
    assert np.abs(branch.xy[inner, 1]).max() <= 0.01
    known = branch.xy[inner, 0] * math.sin(t)
    assert np.abs(branch.radius_mm[inner] - known).max() <= 0.01


def test_an_annulus_has_its_middle_circle():
    outer, inner = (shapely.Point(0, 0).buffer(radius, quad_segs=400) for radius in (20, 14))
    region = outer.difference(inner)
    branch = centrelines(region, 0.2).branches[0]
    assert branch.closed
    assert np.abs(np.hypot(*branch.xy.T) - 17.0).max() <= 0.01
    assert np.abs(branch.radius_mm - 3.0).max() <= 0.01


def test_a_corner_between_two_walls_runs_along_the_parabola_of_its_inner_corner():
    """From an inner corner to a far wall the axis is the parabola of that focus and directrix."""
    region = shapely.union(shapely.box(0, 0, 6, 30), shapely.box(0, 24, 25, 30))
    branch = centrelines(region, 0.1).branches[0]
    focus, wall = np.array([6.0, 24.0]), 0.0
    xy = branch.xy
    # Nearest to the corner and to the wall x = 0: beside the bend, above the straight part.
    part = xy[(xy[:, 1] > 24.2) & (xy[:, 0] < 3.4)]
    assert len(part) >= 5
    away = np.hypot(*(part - focus).T)
    assert np.abs(away - (part[:, 0] - wall)).max() <= 0.01

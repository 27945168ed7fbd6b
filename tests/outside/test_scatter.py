"""Scatter against figures from outside: how full random fills get, and the bound none passes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from embellish.geometry.insets import centre_region
from embellish.geometry.poisson import maximal_points
from embellish.geometry.streams import Stream
from embellish.layout.ways.scatter import SCATTER
from tests.layout.ways.fill_cases import FILL_REGIONS, bound, kit_of, lay


def test_random_fills_reach_the_jamming_density():
    """0.547 of the plane: random sequential adsorption of disks.

    J. Feder 1980, "Random sequential adsorption", Journal of Theoretical Biology 87, 237-254.
    Counted away from the edge, where centres crowd. The number in a window of n fluctuates by
    less than that of points thrown singly, sqrt(n); a third of it is left as the error.
    """
    side, distance, window = 200.0, 1.0, 190.0
    area, seen = window**2, []
    for seed in range(3):
        xy = maximal_points(shapely.box(0, 0, side, side), distance, Stream.of(seed, "rsa"))
        inner = np.all(np.abs(xy - side / 2.0) < window / 2.0, axis=1)
        seen.append(inner.sum() * math.pi * distance**2 / 4.0 / area)
    n = 3 * 0.547 * area / (math.pi / 4.0)
    assert np.mean(seen) == pytest.approx(0.547, rel=1.0 / (3.0 * math.sqrt(n)) * 3.0)


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
@pytest.mark.parametrize("how", [{}, {"density": 0.85}], ids=["random", "settled"])
def test_no_scatter_passes_the_bound_of_groemer_and_oler(name, how):
    """2A/(sqrt 3 d^2) + P/(2d) + chi for the region of centres (papers: ``fill_cases.bound``)."""
    region = FILL_REGIONS[name]
    laid = lay(SCATTER, [region], kit_of(3.0, gap=0.0, edge=0.0), **how)
    assert len(laid.seats) <= bound(centre_region(region, 1.5), 3.0) + 1e-3

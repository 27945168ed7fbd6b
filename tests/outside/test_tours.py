"""Tours against a drilling problem whose optimum is known.

pcb442 (Groetschel, Juenger, Reinelt; TSPLIB, Reinelt 1991, "TSPLIB: a traveling salesman problem
library"): 442 holes of a circuit board. Coordinates from the source distribution of tsplib95 0.7.1
(Apache 2.0), tests/data/pcb442.tsp; the optimum, 50778 with every step rounded to whole units, is
that of pcb442.opt.tour beside it.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.tours import closed_tour, open_path

OPTIMUM = 50778
HOLES = np.loadtxt(Path(__file__).with_name("pcb442.csv"), delimiter=",", skiprows=1)


def steps(xy: Floats, order: Ints, *, closed: bool) -> Ints:
    """Lengths of the steps as the library counts them, in whole units."""
    path = xy[np.append(order, order[:1]) if closed else order]
    lengths: Ints = np.floor(np.hypot(*np.diff(path, axis=0).T) + 0.5).astype(np.int64)
    return lengths


def test_a_round_trip_is_within_four_and_a_half_percent_of_the_optimum():
    order = closed_tour(HOLES)
    assert sorted(order.tolist()) == list(range(442))
    assert OPTIMUM <= steps(HOLES, order, closed=True).sum() <= 1.045 * OPTIMUM


def test_an_open_path_from_the_corner_is_as_good():
    order = open_path(HOLES, np.zeros(2))
    assert sorted(order.tolist()) == list(range(442))
    # No path is shorter than the best round trip without its longest possible step.
    assert steps(HOLES, order, closed=False).sum() <= 1.045 * OPTIMUM

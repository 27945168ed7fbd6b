"""How fast and how even scattered fills are: `python -m tests.benchmarks scatter`."""

from __future__ import annotations

import math
import resource

import numpy as np
import shapely
from scipy.spatial import Voronoi, cKDTree
from scipy.stats import qmc

from embellish.arrays import Floats
from embellish.geometry.insets import centre_region
from embellish.geometry.mixes import SATURATION, counts_of, mixed_points, number_for
from embellish.geometry.poisson import maximal_points
from embellish.geometry.poisson_fades import faded_points
from embellish.geometry.streams import Stream
from tests.benchmarks.fills import POLYGON
from tests.benchmarks.yardstick import kd_seconds, seconds, tell

SQUARE = shapely.box(0.0, 0.0, 100.0, 100.0)


def distance_for(area: float, count: float) -> float:
    """Return the distance at which about a count of points are as many as fit at random."""
    return 2.0 * math.sqrt(SATURATION * area / (math.pi * count))


def nearest(xy: Floats) -> Floats:
    return np.asarray(cKDTree(xy).query(xy, k=[2])[0])[:, 0]


def random() -> None:
    """Maximal random points in the polygon with two holes, and in a square."""
    for region, name in ((POLYGON, "polygon"), (SQUARE, "square")):
        for count, target in ((1e3, 60.0), (1e4, 20.0), (1e5, 10.0), (1e6, 15.0)):
            distance = distance_for(region.area, count)
            xy = maximal_points(region, distance, Stream.of(1, "bench"))
            rounds = 1 if count > 5e5 else 3
            took = seconds(
                lambda: maximal_points(region, distance, Stream.of(1, "bench")),  # noqa: B023 - run here
                rounds,
            )
            kd = kd_seconds(xy, float(nearest(xy).min()), rounds)
            tell(f"scatter, {name}, {len(xy)} points", took / kd, target, "kd")
            if count < 5e5:
                tell(f"scatter, {name}, {len(xy)}, hole", hole(xy, region) / distance, 1.001, "d")
            covered = len(xy) * math.pi * distance**2 / 4.0 / region.area
            tell(f"scatter, {name}, {len(xy)}, covered", covered, 0.54, "of it", at_most=False)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    tell("scatter, greatest memory of these", peak, 1.5, "GB")


def hole(xy: Floats, region: shapely.Polygon) -> float:
    """Return how far a place of a region is from all points at most, in a cell's corner or edge."""
    corners = Voronoi(xy).vertices
    corners = corners[shapely.contains_xy(region, corners[:, 0], corners[:, 1])]
    edge = shapely.get_coordinates(shapely.segmentize(region.boundary, 0.01))
    return float(np.asarray(cKDTree(xy).query(np.concatenate([corners, edge]))[0]).max())


def against_a_library() -> None:
    """The general library's own sampler, which is not maximal, in the same run."""
    count = 5_000
    distance = distance_for(1.0, count)

    def library() -> Floats:
        sampler = qmc.PoissonDisk(d=2, radius=distance, rng=np.random.default_rng(1))
        return np.asarray(sampler.fill_space())

    theirs = library()
    their_rate = len(theirs) / seconds(library, 1)
    big = distance_for(SQUARE.area, 1e5)
    mine = maximal_points(SQUARE, big, Stream.of(1, "bench"))
    rate = len(mine) / seconds(lambda: maximal_points(SQUARE, big, Stream.of(1, "bench")))
    name, ratio = "scatter against scipy.stats.qmc.PoissonDisk", rate / their_rate
    why = "beside other work arrays wait for memory, the library's loop of single points does not"
    tell(name, ratio, 150, "x", at_most=False, why=why)


def mixes() -> None:
    """Two sizes, mixed and settled to a density: exact numbers, all gaps whole."""
    shares = np.array([0.3, 0.7])
    for count, density in ((1e3, 0.74), (1e4, 0.74)):
        each = math.sqrt(density * POLYGON.area / (math.pi * count * float(shares @ [4.0, 1.0])))
        half = np.array([2.0, 1.0]) * each
        grounds = [centre_region(POLYGON, float(radius)) for radius in half]
        wished = number_for(POLYGON.area, half, shares, density)
        got = mixed_points(grounds, half, counts_of(shares, wished), Stream.of(1, "bench"))
        reached = float((np.pi * half[got.size] ** 2).sum()) / POLYGON.area
        off = np.abs(np.bincount(got.size, minlength=2) - shares * len(got)).max()
        tell(f"mix of {len(got)}, covered", reached, density - 0.01, "of it", at_most=False)
        tell(f"mix of {len(got)}, off its shares", float(off), 1.0, "pieces")


def fades() -> None:
    """How even neighbours stand where the density falls to a tenth."""
    xy, half = faded_points(SQUARE, 1.0, lambda at: 1.0 - 0.9 * at[:, 0] / 100.0, Stream.of(1, "b"))
    near = nearest(xy) / (2.0 * half)
    tell(f"fade of {len(xy)}, spread", float(near.std() / near.mean()), 0.08, "CV")


BENCHMARKS = (random, against_a_library, mixes, fades)

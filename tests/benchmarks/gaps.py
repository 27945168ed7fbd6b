"""How fast gaps, clashes and edge clearance are: `python -m tests.benchmarks gaps`."""

from __future__ import annotations

import numpy as np
import shapely

from embellish.arrays import Floats
from embellish.geometry.clashes import survivors
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import least_gap, neighbour_gaps
from embellish.geometry.outlines import circle, reach
from tests.benchmarks.yardstick import kd_seconds, seconds, tell
from tests.shapes import OUTLINES


def shaken(count: int, pitch: float, shake: float, seed: int = 1) -> Floats:
    """Return a triangular lattice of about ``count`` points, each moved a little, shuffled."""
    side = round(count**0.5)
    rng = np.random.default_rng(seed)
    column, row = np.meshgrid(np.arange(side), np.arange(side))
    x = pitch * (column + 0.5 * (row % 2))
    xy = np.stack([x, row * pitch * 3**0.5 / 2], axis=-1).reshape(-1, 2)
    xy += rng.uniform(-shake, shake, xy.shape)
    return np.asarray(xy[rng.permutation(len(xy))])


def round_least_gap() -> None:
    """The least gap of a million round seats, all of one size, and with a few large ones."""
    for name, pitch, shake in (("dense", 1.1, 0.03), ("loose", 1.3, 0.1)):
        xy = shaken(1_000_000, pitch, shake)
        n = len(xy)
        angle, kind = np.zeros(n), np.zeros(n, dtype=np.int64)
        footprints = (Footprint.of(circle(1.0)),)
        least = least_gap(xy, angle, kind, footprints)
        assert least is not None
        kd = kd_seconds(xy, least[0] + 1.0)
        took = seconds(lambda: least_gap(xy, angle, kind, footprints))  # noqa: B023 - run here
        tell(f"least gap, 1e6 round, {name}", took / kd, 1.0, "kd")
        took = seconds(lambda: neighbour_gaps(xy, angle, kind, footprints, 0.25))  # noqa: B023
        tell(f"neighbour gaps, 1e6 round, {name}", took / kd, 2.0, "kd")


def mixed_least_gap() -> None:
    """The same with one stone of eleven times the size among a hundred thousand."""
    xy = shaken(100_000, 1.1, 0.03)
    middle = xy.mean(axis=0)
    xy = xy[np.hypot(*(xy - middle).T) > 6.5]
    xy = np.concatenate([[middle], xy])
    kind = np.minimum(np.arange(len(xy)), 1)
    footprints = (Footprint.of(circle(11.0)), Footprint.of(circle(1.0)))
    angle = np.zeros(len(xy))
    kd = kd_seconds(xy, 1.0)
    took = seconds(lambda: least_gap(xy, angle, kind, footprints))
    tell("least gap, 1e5 round, one large among them", took / kd, 1.5, "kd")


def shaped_neighbours() -> None:
    """The cost of a neighbour pair of each shape, and of all of them mixed."""
    rng = np.random.default_rng(2)
    names = ["oval", "navette", "pear", "bugle", "octagon", "heart", "cee"]
    footprints = tuple(Footprint.of(OUTLINES[name]) for name in names)
    for index, name in enumerate([*names, "mix"]):
        chosen = list(range(len(names))) if name == "mix" else [index]
        far = max(reach(OUTLINES[names[one]]) for one in chosen)
        xy = shaken(10_000, 1.9 * far, 0.1 * far)
        kind = rng.choice(chosen, len(xy))
        angle = rng.uniform(0, 360, len(xy))
        pairs, _ = neighbour_gaps(xy, angle, kind, footprints, 0.5 * far)
        took = seconds(lambda: neighbour_gaps(xy, angle, kind, footprints, 0.5 * far))  # noqa: B023
        tell(f"neighbour gaps, {name}", took / len(pairs) * 1e6, 10.0, "µs a pair")


def clashes() -> None:
    """Three lays of a hundred thousand round seats over each other: which stay."""
    lays = [shaken(100_000, 1.1, 0.03, seed) + 0.37 * seed for seed in range(3)]
    xy = np.concatenate(lays)
    n = len(xy)
    footprints = (Footprint.of(circle(1.0)),)
    angle, kind = np.zeros(n), np.zeros(n, dtype=np.int64)

    def resolve() -> None:
        pairs, _ = neighbour_gaps(xy, angle, kind, footprints, 0.02)
        survivors(n, pairs, -np.arange(n))

    kd = sum(kd_seconds(lay, 1.0) for lay in lays)
    tell("clashes, 3 x 1e5 round", seconds(resolve) / kd, 2.0, "kd")


def clearance() -> None:
    """Edge clearance of ovals all over a disc of fine edges."""
    region = shapely.Point(0, 0).buffer(300.0, quad_segs=500)
    xy = shaken(10_000, 6.0, 0.5) - 280.0
    angle = np.linspace(0, 3600, len(xy))
    kind = np.zeros(len(xy), dtype=np.int64)
    footprints = (Footprint.of(OUTLINES["oval"]),)
    took = seconds(lambda: edge_clearance(xy, angle, kind, footprints, region, within_mm=1.0))
    tell("edge clearance below 1 mm, ovals", took / len(xy) * 1e6, 30.0, "µs a seat")


BENCHMARKS = (round_least_gap, mixed_least_gap, shaped_neighbours, clashes, clearance)

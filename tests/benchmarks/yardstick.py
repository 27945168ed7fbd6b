"""The yardstick of all benchmarks, so that figures can be compared between machines.

One kd is the time of looking once at every neighbour pair of a layout by a library's tree:
`cKDTree(xy)` and `query_pairs(1.25 × smallest centre distance)`, in shuffled order, one thread.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats


def seconds(work: Callable[[], object], rounds: int = 3) -> float:
    """Return the median processor time of a few runs: other work on the machine counts little."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def kd_seconds(xy: Floats, least_distance: float, rounds: int = 3) -> float:
    """Return one kd of a layout in seconds."""
    shuffled = xy[np.random.default_rng(0).permutation(len(xy))]

    def look() -> None:
        cKDTree(shuffled).query_pairs(1.25 * least_distance, output_type="ndarray")

    return seconds(look, rounds)


def tell(
    name: str, figure: float, target: float, unit: str, *, at_most: bool = True, why: str = ""
) -> None:
    """Print one line: name, figure, target, whether it is met, with tabs between.

    ``why`` is the reason where one is known; it is told behind a target that is missed.
    """
    met = figure <= target if at_most else figure >= target
    sign = "<=" if at_most else ">="
    verdict = "met" if met else "missed"
    reason = f"\t{why}" if why and not met else ""
    sys.stdout.write(f"{name}\t{figure:.3g} {unit}\t{sign} {target:g} {unit}\t{verdict}{reason}\n")
    sys.stdout.flush()

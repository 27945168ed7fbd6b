"""How near the best-known packings come: `python -m tests.benchmarks packings`."""

from __future__ import annotations

from tests.benchmarks.yardstick import tell
from tests.outside.packings import CIRCLE_RATIO, SQUARE_DISTANCE
from tests.outside.test_packings import disc, distance_in, square

_WHY = {
    23: "the best is one narrow arrangement with a symmetry of its own, which random starts and"
    " shakes do not meet: neither 200 starts nor 128 shakes do"
}
"""What is known of the counts that are missed."""


def in_squares() -> None:
    """Every count of the table: the share of the distance that is missed."""
    for count, best in SQUARE_DISTANCE.items():
        missed = 1.0 - distance_in(square(), count) / 100.0 / best
        why = _WHY.get(count, "")
        tell(f"tightest, {count} in a square, missed", missed, 1e-6, "of the distance", why=why)


def in_circles() -> None:
    """Every count of the table: the share of the best ratio that is reached."""
    for count, best in CIRCLE_RATIO.items():
        share = best / (100.0 / distance_in(disc(), count) + 1.0)
        tell(f"tightest, {count} in a circle", share, 0.999, "of the best", at_most=False)


BENCHMARKS = (in_squares, in_circles)

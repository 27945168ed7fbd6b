"""How exact and how fast centrelines are: `python -m tests.benchmarks centreline`."""

from __future__ import annotations

import statistics
from typing import Any

import numpy as np
import shapely

from embellish.geometry.centrelines.centreline import centrelines
from embellish.layout.ways.centreline import CENTRELINE
from tests.benchmarks.yardstick import seconds, tell
from tests.layout.ways.fill_cases import kit_of, lay
from tests.layout.ways.test_centreline import STROKES, covered


def block_letters() -> dict[str, Any]:
    """Return invented block letters 30 mm high, drawn as strokes."""
    lines = {
        "A": [[(0, 30), (11, 0), (22, 30)], [(4, 20), (18, 20)]],
        "E": [[(16, 0), (0, 0), (0, 30), (16, 30)], [(0, 15), (13, 15)]],
        "K": [[(0, 0), (0, 30)], [(16, 0), (0, 16), (16, 30)]],
        "M": [[(0, 30), (0, 0), (12, 20), (24, 0), (24, 30)]],
        "R": [
            [(0, 30), (0, 0), (12, 0), (15, 4), (15, 10), (12, 14), (0, 14)],
            [(7, 14), (16, 30)],
        ],
        "S": [[(16, 4), (12, 0), (4, 0), (0, 4), (2, 12), (14, 18), (16, 26), (12, 30), (0, 28)]],
        "X": [[(0, 0), (18, 30)], [(18, 0), (0, 30)]],
    }
    return {
        name: shapely.union_all([shapely.LineString(each).buffer(2.0) for each in strokes])
        for name, strokes in lines.items()
    }


def letters() -> None:
    """Time a letter, centrelines alone and filled."""
    shapes = block_letters()
    took = [seconds(lambda: centrelines(each, 0.15)) for each in shapes.values()]  # noqa: B023 - run here
    why = "two thirds of it is the library's triangulation of about a thousand points"
    tell("centrelines of a letter", 1e3 * statistics.median(took), 15.0, "ms", why=why)
    kit = kit_of(3.0, 2.0, 1.4)
    took = [seconds(lambda: lay(CENTRELINE, [each], kit), 1) for each in shapes.values()]  # noqa: B023 - run here
    tell("a letter filled", 1e3 * statistics.median(took), 250.0, "ms")


def errors() -> None:
    """Error of place and radius on a stroke whose answer is known."""
    region = shapely.LineString([(0, 0), (60, 0)]).buffer(3.0, quad_segs=400)
    branch = centrelines(region, 0.2, extend=False).branches[0]
    tell("centreline, place", float(np.abs(branch.xy[:, 1]).max()), 0.01, "mm")
    tell("centreline, radius", float(np.abs(branch.radius_mm - 3.0).max()), 0.01, "mm")


def coverage() -> None:
    """Share of the centreline of single strokes that lies under pieces."""
    kit = kit_of(4.0, 3.0, 2.0, 1.4)
    shares = [covered(lay(CENTRELINE, [each], kit), kit, each) for each in STROKES.values()]
    tell("centreline, least covered of strokes", min(shares), 0.95, "of it", at_most=False)


BENCHMARKS = (letters, errors, coverage)

"""How long tours are against what is known of the best, and how long planning takes.

For N uniform points of area A the best tour is about 0.7124 sqrt(N A) (Beardwood, Halton &
Hammersley 1959; constant of Johnson & McGeoch 1997). Run: python -m tests.benchmarks.tours
"""

from __future__ import annotations

from functools import partial

import numpy as np

from embellish.catalogue.equipment import Hoop
from embellish.formats.stitches import encode
from embellish.geometry.streams import Stream
from embellish.geometry.tours import closed_tour, open_path, tour_length
from embellish.plans.hooping_search import windows_for
from embellish.plans.stitching.stitch import StitchSettings, plan_stitches
from tests.benchmarks.yardstick import kd_seconds, seconds, tell
from tests.outside.test_tours import HOLES, OPTIMUM, steps
from tests.plans.stitch_cases import grid, layout_of


def lengths() -> None:
    """Tours of seeded uniform points."""
    for count, target in ((2000, 1.06), (20_000, 1.05)):
        xy = Stream.of(count, "tour").uniform(0, 2 * count).reshape(count, 2)
        order = open_path(xy, np.zeros(2))
        tell(
            f"tours: {count} points over 0.7124 sqrt(NA)",
            tour_length(xy, order) / (0.7124 * count**0.5),
            target,
            "",
        )
        tell(f"tours: {count} points", seconds(partial(open_path, xy), 1), 6.0, "s")


def known() -> None:
    """The round trip through a drilling problem whose optimum is known."""
    order = closed_tour(HOLES)
    length = float(steps(HOLES, order, closed=True).sum())
    tell("tours: pcb442 over its optimum", length / OPTIMUM, 1.045, "")


def hoopings() -> None:
    """Spreading the marks of a gown over a usual field."""
    rows = Stream.of(7, "hoopings").uniform(0, 50_000).reshape(25_000, 2) * [700.0, 900.0]
    boxes = np.concatenate([rows - 1.0, rows + 1.0], axis=1)
    lays = np.arange(len(boxes)) % 5
    hoop = Hoop(name="invented", field_mm=(249.0, 394.0))
    found: list[int] = []
    taken = seconds(lambda: found.append(len(windows_for(hoop, boxes, lays))), 1)
    tell("hoopings: 25000 marks of 700 x 900 mm, files", found[0], 9, "")
    tell("hoopings: 25000 marks of 700 x 900 mm", taken, 10.0, "s")


def planning() -> None:
    """Planning and writing the marks of the largest hoop."""
    layout = layout_of(grid(160, 156, 3.2, 0), set_by="hand")
    hoop = Hoop(name="invented", field_mm=(600.0, 600.0))
    plans = []
    taken = seconds(lambda: plans.append(plan_stitches(layout, StitchSettings(), hoop)), 1)
    (hooping,) = plans[0].hoopings
    kd = kd_seconds(layout.xy, 3.2)
    tell(f"marks: plan {len(layout)}", taken / kd, 1500.0, "kd")
    tell(f"marks: plan {len(layout)}", taken, 20.0, "s")
    tell("marks: to DST", seconds(lambda: encode(hooping.design, "dst"), 1), 2.0, "s")
    share = hooping.effort.minutes(plans[0].settings) / hooping.unjoined.minutes(plans[0].settings)
    tell("marks: time of joined over row by row", share, 0.5, "")


BENCHMARKS = (known, lengths, hoopings, planning)

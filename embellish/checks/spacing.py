"""No gap below the asked one; every piece of a fill inside its region, less the margin."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from embellish.checks.site import Site
from embellish.findings import Finding
from embellish.geometry.containment import edge_clearance
from embellish.layout.spacing import near_pairs
from embellish.units import EPS_MM


def something_is_laid(site: Site) -> Iterator[Finding]:
    """Tell where no lay has set a single piece: there is nothing to make."""
    if not len(site.layout):
        yield Finding(
            "nothing-laid",
            "error",
            "no piece is laid: every shape is too small, or kept out, for what was asked",
            mend="Check the artwork's size, edge_mm and keep-outs, or take smaller pieces.",
        )


def gaps_hold(site: Site) -> Iterator[Finding]:
    """Tell, for each two lays, how many pairs stand nearer than asked, and the worst place."""
    layout = site.layout
    pairs = near_pairs(layout)
    bad = pairs.gap_mm < pairs.asked_mm
    seats, gaps, asked = pairs.seats[bad], pairs.gap_mm[bad], pairs.asked_mm[bad]
    lays = np.sort(layout.lay[seats], axis=1)
    for first, second in np.unique(lays, axis=0).tolist():
        here = np.flatnonzero((lays[:, 0] == first) & (lays[:, 1] == second))
        worst = here[np.argmin(gaps[here])]
        x, y = layout.xy[seats[worst]].mean(axis=0).tolist()
        names = " and ".join(dict.fromkeys(layout.lays[each].id for each in (first, second)))
        yield Finding(
            "gap-too-small",
            "error",
            f"{len(here)} pairs of '{names}' stand nearer than {asked[worst]:g} mm;"
            f" the nearest have {gaps[worst]:.3f} mm",
            (round(x, 3), round(y, 3)),
            layout.lays[second].id,
            "Move or delete one of each pair, or ask for a smaller gap.",
        )


def pieces_stay_inside(site: Site) -> Iterator[Finding]:
    """Tell, for each filling lay, how many pieces reach over the margin of their region."""
    layout = site.layout
    for index, region in enumerate(site.regions):
        rows = layout.rows(index)
        if region is None or not len(rows):
            continue
        clearance = edge_clearance(
            layout.xy[rows],
            layout.angle_deg[rows],
            layout.footprint[rows],
            layout.footprints,
            region,
            within_mm=site.edges_mm[index] + 1.0,
        )
        outside = clearance < site.edges_mm[index] - EPS_MM
        if not outside.any():
            continue
        worst = int(np.argmin(clearance))
        x, y = layout.xy[rows[worst]].tolist()
        yield Finding(
            "outside-region",
            "error",
            f"{'One piece reaches' if outside.sum() == 1 else f'{outside.sum()} pieces reach'}"
            f" over the edge margin of {site.edges_mm[index]:g} mm; the worst by"
            f" {site.edges_mm[index] - clearance[worst]:.3f} mm",
            (x, y),
            layout.lays[index].id,
            "Move them inside, or ask for a smaller edge_mm.",
        )

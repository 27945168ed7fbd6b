"""Clashes: what stands nearer than the gap asked is dropped, and told."""

from __future__ import annotations

from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.findings import Finding
from embellish.geometry.clashes import survivors
from embellish.geometry.gaps import neighbour_gaps
from embellish.layout.layout import Layout

_ROUNDING_MM: Final = 1.5e-6
"""What rounding two places to a millionth can take off their gap (at most √2 of it), and a little:
pairs that stand nearer than gap + this clash. Ways lay to gap + 2e-6, so none of their own do."""


def clashing_pairs(layout: Layout) -> Ints:
    """Return the pairs of seats nearer than the larger gap of their lays, shape (m, 2), i < j.

    Pairs inside one lapped lay are meant to overlap and are left out.
    """
    if len(layout) < 2:
        return np.zeros((0, 2), dtype=np.int64)
    asked = np.array([lay.gap_mm for lay in layout.lays])
    lapped = np.array([lay.lapped for lay in layout.lays])
    pairs, gaps = neighbour_gaps(
        layout.xy,
        layout.angle_deg,
        layout.footprint,
        layout.footprints,
        float(asked[np.unique(layout.lay)].max()) + _ROUNDING_MM,
    )
    i, j = layout.lay[pairs[:, 0]], layout.lay[pairs[:, 1]]
    short = gaps < np.maximum(asked[i], asked[j]) + _ROUNDING_MM
    exempt = (i == j) & lapped[i]
    clashing: Ints = pairs[short & ~exempt]
    return clashing


def without_clashes(
    layout: Layout,
    weight: Floats,
    pairs: Ints | None = None,
    by_hand: Bools | None = None,
) -> tuple[Layout, Bools, tuple[Finding, ...]]:
    """Return the layout without the seats that lose a clash.

    What was set by hand outranks everything, and stays even beside another such seat: the checks
    tell of that. Else an earlier lay outranks a later one; within a lay the higher weight does,
    then table order.

    Parameters
    ----------
    layout
        All lays' seats.
    weight : array of shape (n,)
        Within a lay, the higher stays: 1 for a corner's seat, 0 for others.
    pairs : array of shape (m, 2), optional
        The pairs that clash, where already known; else `clashing_pairs`.
    by_hand : array of shape (n,), optional
        Which seats were set or pinned by hand.

    Returns
    -------
    layout, kept, findings
        The layout of the seats kept, the mask of shape (n,) that keeps them, and one finding
        ``clash-dropped`` for each lay that lost some.
    """
    pairs = clashing_pairs(layout) if pairs is None else pairs
    hand = np.zeros(len(layout), dtype=np.bool_) if by_hand is None else by_hand
    pairs = pairs[~hand[pairs].all(axis=1)]
    order = np.lexsort((np.arange(len(layout)), -np.asarray(weight), layout.lay, ~hand))
    priority = np.empty(len(layout), dtype=np.int64)
    priority[order] = np.arange(len(layout))[::-1]
    kept = survivors(len(layout), pairs, priority)
    if kept.all():
        return layout, kept, ()
    # What each dropped seat clashed with: a seat that stays, and which lay that is of.
    both = np.concatenate([pairs, pairs[:, ::-1]])
    both = both[~kept[both[:, 0]] & kept[both[:, 1]]]
    by_earlier = np.zeros(len(layout), dtype=np.bool_)
    by_earlier[both[layout.lay[both[:, 1]] != layout.lay[both[:, 0]], 0]] = True
    findings = tuple(
        _finding(layout, lay, ~kept, by_earlier) for lay in np.unique(layout.lay[~kept]).tolist()
    )
    return layout.taken(np.flatnonzero(kept)), kept, findings


def _finding(layout: Layout, lay: int, dropped: Bools, by_earlier: Bools) -> Finding:
    seats = np.flatnonzero(dropped & (layout.lay == lay))
    others = int(np.count_nonzero(by_earlier[seats]))
    of_all = int(np.count_nonzero(layout.lay == lay))
    if others == len(seats):
        whom = "seats of other lays"
    elif others:
        whom = f"seats of other lays ({others}) or of their own lay ({len(seats) - others})"
    else:
        whom = "other seats of their own lay"
    were = "seat was" if len(seats) == 1 else "seats were"
    first = layout.xy[seats[0]]
    named = layout.lays[lay].name or layout.lays[lay].id
    return Finding(
        code="clash-dropped",
        severity="warning",
        message=(
            f"{len(seats)} of {of_all} {were} dropped from '{named}': nearer than the gap asked "
            f"to {whom}; the place is that of the first."
        ),
        where_mm=(float(first[0]), float(first[1])),
        lay=layout.lays[lay].id,
        mend="Move the shapes apart, ask a smaller gap, or put the lay that matters more first.",
    )

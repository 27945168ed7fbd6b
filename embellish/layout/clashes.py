"""Clashes: what stands nearer than the gap asked is dropped, and told."""

from __future__ import annotations

from typing import Final

import numpy as np

from embellish.arrays import Bools, Ints
from embellish.findings import Finding
from embellish.geometry.clashes import survivors
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.layout.layout import Layout
from embellish.layout.ranked import Ranked
from embellish.layout.runs import strung_together

_ROUNDING_MM: Final = 1.5e-6
"""What rounding two places to a millionth can take off their gap (at most √2 of it), and a little:
pairs that stand nearer than gap + this clash. Ways lay to gap + 2e-6, so none of their own do."""


def clashing_pairs(layout: Layout) -> Ints:
    """Return the pairs of seats nearer than the larger gap of their lays, shape (m, 2), i < j.

    Pairs inside one lapped lay, and near links of one string, are meant to be so near.
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
    exempt = ((i == j) & lapped[i]) | strung_together(layout, pairs)
    clashing: Ints = pairs[short & ~exempt]
    return clashing


def without_clashes(
    ranked: Ranked, pairs: Ints | None = None
) -> tuple[Ranked, Bools, tuple[Finding, ...]]:
    """Return the seats without those that lose a clash, nor their twins.

    What was set by hand outranks everything, and stays even beside another such seat: the checks
    tell of that. Else an earlier lay outranks a later one; within a lay the higher weight does,
    then table order. Twins of a symmetric lay stand or fall together.

    Parameters
    ----------
    ranked
        All lays' seats.
    pairs : array of shape (m, 2), optional
        The pairs that clash, where already known; else `clashing_pairs`.

    Returns
    -------
    ranked, kept, findings
        The seats kept, the mask of shape (n,) that keeps them, and one finding ``clash-dropped``
        for each lay that lost some.
    """
    layout, hand = ranked.layout, ranked.by_hand
    pairs = clashing_pairs(layout) if pairs is None else pairs
    pairs = pairs[~hand[pairs].all(axis=1)]
    order = np.lexsort((np.arange(len(layout)), -ranked.weight, layout.lay, ~hand))
    priority = np.empty(len(layout), dtype=np.int64)
    priority[order] = np.arange(len(layout))[::-1]
    kept = _together(ranked.pair, pairs, priority)
    if kept.all():
        return ranked, kept, ()
    # What each dropped seat clashed with: a seat that stays, and which lay that is of.
    both = np.concatenate([pairs, pairs[:, ::-1]])
    both = both[~kept[both[:, 0]] & kept[both[:, 1]]]
    by_earlier = np.zeros(len(layout), dtype=np.bool_)
    by_earlier[both[layout.lay[both[:, 1]] != layout.lay[both[:, 0]], 0]] = True
    findings = tuple(
        _finding(layout, lay, ~kept, by_earlier) for lay in np.unique(layout.lay[~kept]).tolist()
    )
    return ranked.taken(np.flatnonzero(kept)), kept, findings


def _together(pair: Ints, pairs: Ints, priority: Ints) -> Bools:
    """Return which seats stay where those of one pair stay or go together."""
    of_pairs = pair[pairs]
    # Twins that clash with each other go, and drop nothing else.
    within = of_pairs[:, 0] == of_pairs[:, 1]
    gone = np.zeros(len(pair), dtype=np.bool_)
    gone[of_pairs[within, 0]] = True
    between = of_pairs[~gone[of_pairs].any(axis=1)]
    kept = survivors(len(pair), between, priority) & ~gone
    return kept[pair]


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

"""Fill-in: where clashes dropped a piece and one of its lay's pieces still fits, one is set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.findings import Finding
from embellish.geometry.vacancies import filled_holes
from embellish.layout.layout import Layout
from embellish.layout.plots import Plot, gone
from embellish.layout.ranked import Ranked
from embellish.layout.ways.fills import KEPT_SLACK_MM
from embellish.units import LAY_SLACK_MM

_AROUND: Final = 2.0
"""How far about a dropped piece to look for room, in its distances."""


def filled_in(
    before: Ranked, after: Ranked, plots: Sequence[Plot], deleted: Sequence[tuple[int, Floats]]
) -> tuple[Ranked, tuple[Finding, ...]]:
    """Return the seats with the holes filled that dropped ones left, earlier lays first.

    Parameters
    ----------
    before
        All seats as laid and edited.
    after
        Those that kept their place.
    plots
        What is filled where.
    deleted
        Lay and place, shape (2,), of what a hand deleted: nothing is set within half a pitch.

    Returns
    -------
    ranked, findings
        New seats end their lay, as one more row; one finding ``filled-in`` for each lay that won
        some. Symmetric lays are left as they are.
    """
    lost = gone(before, after)
    findings: list[Finding] = []
    ranked = after
    for plot in sorted(plots, key=lambda plot: plot.lay):
        holes = np.flatnonzero(
            lost & (before.layout.lay == plot.lay) & (before.layout.shape == plot.shape)
        )
        if not len(holes) or not plot.tops_up or plot.symmetric(before):
            continue
        near = [at for lay, at in deleted if lay == plot.lay]
        xy, sort = _fitting(before.layout, holes, plot, ranked.layout, near)
        if len(xy):
            findings.append(_told(ranked.layout, plot, xy, len(holes)))
            ranked = _with_seats(ranked, plot, xy, sort)
    return ranked, tuple(findings)


def _fitting(
    before: Layout, holes: Ints, plot: Plot, layout: Layout, deleted: list[Floats]
) -> tuple[Floats, Ints]:
    """Return where pieces fit about the holes, the largest first, and which."""
    gap = layout.lays[plot.lay].gap_mm
    reaches = np.array([layout.footprints[sort].reach_mm for sort in plot.sorts])
    widest = 2.0 * float(reaches.max()) + gap
    spots = shapely.union_all(
        shapely.buffer(shapely.points(before.xy[holes]), _AROUND * widest, quad_segs=16)
    )
    near = _local(layout, spots, 2.0 * widest + float(layout.reach_mm.max(initial=0.0)))
    room = plot.room(near)
    mine = plot.seats(near)
    xy, half = near.xy[mine], near.reach_mm[mine] + (gap + KEPT_SLACK_MM) / 2.0
    found, kinds = np.zeros((0, 2)), np.zeros(0, dtype=np.int64)
    for size in np.unique(reaches)[::-1].tolist():
        centres = room.centres(size).intersection(spots)
        own = size + (gap + LAY_SLACK_MM) / 2.0
        if deleted and not centres.is_empty:
            kept_free = shapely.buffer(shapely.points(np.array(deleted)), own)
            centres = centres.difference(shapely.union_all(kept_free))
        if centres.is_empty:
            continue
        more = filled_holes(xy, half, shapely.union_all(centres), own)
        more = more[room.holds(more, size, slack_mm=KEPT_SLACK_MM)]
        xy = np.concatenate([xy, more])
        half = np.concatenate([half, np.full(len(more), own)])
        alike = [sort for sort, reach in zip(plot.sorts, reaches, strict=True) if reach == size]
        found = np.concatenate([found, more])
        kinds = np.concatenate([kinds, _dealt(before.footprint[holes], alike, len(more))])
    return found, kinds


def _local(layout: Layout, spots: BaseGeometry, within_mm: float) -> Layout:
    """Return the seats that can matter about some spots."""
    shapely.prepare(spots)
    near = shapely.distance(spots, shapely.points(layout.xy)) <= within_mm
    return layout.taken(np.flatnonzero(near))


def _dealt(dropped: Ints, alike: list[int], n: int) -> Ints:
    """Return which of pieces of one size are set: those that were dropped, in turn."""
    missing = dropped[np.isin(dropped, alike)]
    return np.resize(missing if len(missing) else np.array(alike[:1]), n)


def _with_seats(ranked: Ranked, plot: Plot, xy: Floats, sort: Ints) -> Ranked:
    layout, n = ranked.layout, len(xy)
    mine = plot.seats(layout)
    row = int(layout.row[mine].max(initial=-1)) + 1
    pieces = len(layout.pieces)
    more = replace(
        layout,
        xy=xy,
        angle_deg=np.zeros(n),
        piece=np.where(sort < pieces, sort, -1),
        unit=np.where(sort < pieces, -1, sort - pieces),
        lay=np.full(n, plot.lay),
        shape=np.full(n, plot.shape),
        row=np.full(n, row),
        u=np.arange(n, dtype=np.float64),
    )
    added = Ranked.of(more)
    whole = ranked.joined(added)
    return whole.taken(np.argsort(whole.layout.lay, kind="stable"))


def _told(layout: Layout, plot: Plot, xy: Floats, holes: int) -> Finding:
    lay = layout.lays[plot.lay]
    count = "1 piece was" if len(xy) == 1 else f"{len(xy)} pieces were"
    return Finding(
        "filled-in",
        "note",
        f"{count} set in '{lay.name or lay.id}' where {holes} had been dropped",
        (float(xy[0, 0]), float(xy[0, 1])),
        lay.id,
    )

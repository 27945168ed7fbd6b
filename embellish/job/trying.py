"""A place tried before a piece is set there: the gap it would keep, and where it would snap to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from shapely.ops import nearest_points

from embellish.arrays import Floats, Ints
from embellish.artwork.flatten import lines_of
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Standing
from embellish.geometry.gaps.gaps import neighbour_gaps_between
from embellish.job.laying import Bedded
from embellish.layout.layout import Layout
from embellish.layout.ranked import ALONE
from embellish.layout.spacing import gaps_elsewhere
from embellish.units import EPS_MM

_LOOK_MM: Final = 5.0
"""How far beyond the asked gap a neighbour is told."""

_HAIR_MM: Final = 2e-4
"""More than asked by this much, so that rounding an edit does not take it away again."""

_TURNS: Final = 8


@dataclass(frozen=True)
class Tried:
    """How seats would stand elsewhere.

    Parameters
    ----------
    gap_mm
        The least gap to a seat that stays, None where none is near.
    asked_mm
        The gap asked of that pair.
    outside_mm
        How far the worst is over the edge it must keep, 0 where all are inside.
    snap_mm
        How to move them further so that the first lies on its line, or keeps just its gap.
    """

    gap_mm: float | None
    asked_mm: float
    outside_mm: float
    snap_mm: tuple[float, float]
    between: tuple[int, int] | None = None
    """The seat in hand and the one that stays which that gap is between, as rows of the layout."""

    @property
    def fits(self) -> bool:
        """Whether they may stand there."""
        return self.outside_mm == 0.0 and (self.gap_mm is None or self.gap_mm >= self.asked_mm)


def tried(
    bedded: Bedded,
    rows: Ints,
    move_mm: tuple[float, float],
    turn_deg: float = 0.0,
    *,
    snap_within_mm: float = 0.0,
) -> Tried:
    """Tell how seats would stand, moved and turned.

    Parameters
    ----------
    rows : array of shape (k,)
        Rows of the layout, at least one.
    snap_within_mm
        How far a snap may pull them.
    """
    layout = bedded.layout
    rows, twins = _hands_and_twins(bedded, rows)
    there = _standing(layout, rows, np.array(move_mm), turn_deg)
    snap = np.zeros(2)
    if snap_within_mm > 0.0:
        snap = _snap(bedded, rows, there, snap_within_mm)
        there = _standing(layout, rows, np.array(move_mm) + snap, turn_deg)
    if (twins != ALONE).any():
        rows, there, pairs, gaps, asked = _mirrored(bedded, rows, twins, there, turn_deg)
    else:
        pairs, gaps, asked = gaps_elsewhere(layout, rows, there, _look(layout))
    worst = _worst(pairs, gaps - asked)
    return Tried(
        round(float(gaps[worst]), 3) if worst >= 0 else None,
        float(asked[worst]) if worst >= 0 else _gap(layout, rows),
        round(_outside_mm(bedded, rows, there), 3),
        (float(snap[0]), float(snap[1])),
        (int(rows[pairs[worst, 0]]), int(pairs[worst, 1])) if worst >= 0 else None,
    )


def _hands_and_twins(bedded: Bedded, rows: Ints) -> tuple[Ints, Ints]:
    """Return the seats that move as the hand does, and the mirror image of each or ``ALONE``.

    Of a seat and its image, both in hand, the first goes with the hand. A seat on the axis goes
    along it, and is looked at as if it went freely.
    """
    if bedded.seated is None:
        return rows, np.full(len(rows), ALONE, dtype=np.int64)
    twin = bedded.seated.twin[rows]
    follows = np.isin(twin, rows) & (twin < rows) & (twin != ALONE)
    rows, twin = rows[~follows], twin[~follows]
    return rows, np.where(twin == rows, ALONE, twin)


def _mirrored(
    bedded: Bedded, rows: Ints, twins: Ints, there: Standing, turn_deg: float
) -> tuple[Ints, Standing, Ints, Floats, Floats]:
    """Return seats with their mirror images, how all stand, and their gaps as `gaps_elsewhere`."""
    layout = bedded.layout
    mine, other = rows[twins != ALONE], twins[twins != ALONE]
    across = layout.xy[other] - layout.xy[mine]
    across /= np.hypot(*across.T)[:, None]
    step = there.xy[twins != ALONE] - layout.xy[mine]
    step -= 2.0 * (step * across).sum(axis=1)[:, None] * across
    images = replace(_standing(layout, other, np.zeros(2), -turn_deg), xy=layout.xy[other] + step)
    whole = Standing(
        np.concatenate([there.xy, images.xy]),
        np.concatenate([there.angle_deg, images.angle_deg]),
        np.concatenate([there.footprint, images.footprint]),
        layout.footprints,
    )
    both = np.concatenate([rows, other])
    pairs, gaps, asked = gaps_elsewhere(layout, both, whole, _look(layout))
    # What goes with the hand and what goes against it come nearer to each other as well.
    facing, between = neighbour_gaps_between(there, images, _look(layout))
    lays = layout.lay[np.stack([rows[facing[:, 0]], other[facing[:, 1]]], axis=1)]
    wanted = np.array([lay.gap_mm for lay in layout.lays])[lays].max(axis=1, initial=0.0)
    kept = [not (one == two and layout.lays[one].lapped) for one, two in lays.tolist()]
    facing = np.stack([facing[:, 0], other[facing[:, 1]]], axis=1)
    return (
        both,
        whole,
        np.concatenate([pairs, facing[kept]]),
        np.concatenate([gaps, between[kept]]),
        np.concatenate([asked, wanted[kept]]),
    )


def _worst(pairs: Ints, spare_mm: Floats) -> int:
    """Return which pair has least to spare, -1 where there is none; of equals one in the hand.

    A mirror image has as much to spare as what it is the image of, and comes after it.
    """
    if not len(spare_mm):
        return -1
    alike = np.flatnonzero(spare_mm <= spare_mm.min() + EPS_MM)
    return int(alike[np.argmin(pairs[alike, 0])])


def _gap(layout: Layout, rows: Ints) -> float:
    gaps: list[float] = [layout.lays[lay].gap_mm for lay in np.unique(layout.lay[rows]).tolist()]
    return max(gaps)


def _look(layout: Layout) -> float:
    return _LOOK_MM + max(lay.gap_mm for lay in layout.lays)


def _standing(layout: Layout, rows: Ints, move: Floats, turn_deg: float) -> Standing:
    return Standing(
        layout.xy[rows] + move,
        layout.angle_deg[rows] + turn_deg,
        layout.footprint[rows],
        layout.footprints,
    )


def _outside_mm(bedded: Bedded, rows: Ints, there: Standing) -> float:
    worst = 0.0
    for lay in np.unique(bedded.layout.lay[rows]).tolist():
        region = bedded.regions[lay]
        if region is None:
            continue
        mine = np.flatnonzero(bedded.layout.lay[rows] == lay)
        where = (there.xy[mine], there.angle_deg[mine], there.footprint[mine], there.footprints)
        edge = bedded.edges_mm[lay]
        clear = edge_clearance(*where, region, within_mm=edge + 1.0)
        short = edge - float(clear.min())
        worst = max(worst, short if short > EPS_MM else 0.0)
    return worst


def _snap(bedded: Bedded, rows: Ints, there: Standing, within_mm: float) -> Floats:
    """Return the pull on the first seat: onto its line, and there to just its gap."""
    layout = bedded.layout
    pull = np.zeros(2)
    shape = int(layout.shape[rows[0]])
    line = None
    if bedded.regions[int(layout.lay[rows[0]])] is None and shape >= 0:
        line = _line_of(bedded, layout.shape_ids[shape])
    if line is not None:
        pull = _onto(line, there.xy[0]) - there.xy[0]
        if np.hypot(*pull) > within_mm:
            pull, line = np.zeros(2), None
    first = Standing(
        there.xy[:1] + pull, there.angle_deg[:1], there.footprint[:1], there.footprints
    )
    pairs, gaps, asked = gaps_elsewhere(layout, rows[:1], first, _look(layout))
    near = np.flatnonzero(np.abs(gaps - asked) <= within_mm)
    if len(near):
        closest = near[np.argmin(np.abs(gaps[near] - asked[near]))]
        away = first.xy[0] - layout.xy[pairs[closest, 1]]
        length = float(np.hypot(*away))
        if length > 0.0:
            step = away / length * (asked[closest] - gaps[closest] + _HAIR_MM)
            pull = first.xy[0] + step - there.xy[0]
            if line is not None:
                pull = _along(line, there.xy[0] + pull, layout.xy[pairs[closest, 1]]) - there.xy[0]
    return pull


def _line_of(bedded: Bedded, shape_id: str) -> shapely.MultiLineString | None:
    shape = next((each for each in bedded.shapes if each.id == shape_id), None)
    if shape is None:
        return None
    return shapely.MultiLineString([line.points for line in lines_of(shape)])


def _onto(line: shapely.MultiLineString, xy: Floats) -> Floats:
    return np.asarray(nearest_points(line, shapely.Point(*xy))[0].coords[0])


def _along(line: shapely.MultiLineString, xy: Floats, other: Floats) -> Floats:
    """Return the place on the line near a place, as far from another as that is, or further."""
    wanted = float(np.hypot(*(xy - other)))
    for _ in range(_TURNS):
        xy = _onto(line, xy)
        away = xy - other
        short = wanted - float(np.hypot(*away))
        if short <= 0.0 or not away.any():
            break
        xy = xy + away / np.hypot(*away) * (short + _HAIR_MM)
    return _onto(line, xy)

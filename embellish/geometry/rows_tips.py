"""Acute tips: how a row goes into a point too narrow for two pieces abreast, and out again.

With a piece on the tip, its two neighbours would stand in each other's way wherever the sides open
by less than about 60 degrees. Leaving one of them out makes a hole on one side. Instead the row
stays even on both: from the tip one or more pieces stand on the middle line between the sides,
each its gap from the last, until the sides have opened so far that two pieces stand abreast, each
its gap from the last middle piece. Where that last step is small anyway, the two sides start
alike at the first place where they keep their gap to each other, with no middle piece.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.geometry.arrays import Bools, Floats, Ints
from embellish.geometry.rows_track import Track, first_root

_WIDER = 0.25
"""A gap at a tip wider by at most this share of the pitch is left without a middle piece."""
_MOST_MIDDLE = 24
"""Longer needles than this are left to the clash pass."""


@dataclass(frozen=True, eq=False)
class Pitches:
    """Centre distances that hold at tips: gap and radii added up, in mm."""

    tip_before: float
    tip_after: float
    tip_middle: float
    middle_middle: float
    middle_before: float
    middle_after: float
    abreast: float


@dataclass(frozen=True, eq=False)
class Tips:
    """How the row goes at each acute tip.

    Parameters
    ----------
    acute : array of shape (k,)
        Whether the corner is a tip that needs help; the rest says nothing where it is not.
    before, after : arrays of shape (k,)
        Arc from the tip to the last piece before it on its own side, and the first after it.
    middle_of : array of shape (j,)
        Which tip each middle piece stands at.
    middle_xy : array of shape (j, 2)
        Where it stands.
    middle_way : array of shape (j,)
        The arc from the tip at which it stands abreast.
    """

    acute: Bools
    before: Floats
    after: Floats
    middle_of: Ints
    middle_xy: Floats
    middle_way: Floats


def tips_of(track: Track, s: Floats, room: Floats, pitches: Pitches) -> Tips:
    """Work out how a row goes at corners.

    Parameters
    ----------
    track
        The path.
    s : array of shape (k,)
        Where the corners are.
    room : array of shape (k, 2)
        Arc that is free before and after each corner.
    pitches
        Centre distances to keep.
    """
    k = len(s)
    no = np.zeros(0)
    acute = np.zeros(k, dtype=bool)
    before, after = np.zeros(k), np.zeros(k)
    middles: list[tuple[Ints, Floats, Floats]] = []
    tip = track.at(s)
    back, forth = np.full(k, -1.0), np.ones(k)
    # Sides that are abreast far enough at the plain pitch need nothing.
    a = track.first_beyond(s, back, tip, np.full(k, pitches.tip_before), room[:, 0])
    b = track.first_beyond(s, forth, tip, np.full(k, pitches.tip_after), room[:, 1])
    apart = _norm(track.at(s - a) - track.at(s + b))
    left = np.flatnonzero(apart < pitches.abreast)  # nan compares false: no room, no tip
    if not len(left):
        return Tips(acute, before, after, left, np.zeros((0, 2)), no)

    way_a, way_b, wider = _open_start(track, s[left], room[left], tip[left], pitches)
    plain = wider <= _WIDER
    acute[left[plain]] = True
    before[left[plain]], after[left[plain]] = way_a[plain], way_b[plain]

    left = left[~plain]
    centre, way = tip[left], np.zeros(len(left))
    pitch = pitches.tip_middle
    tried: list[tuple[Ints, Floats, Floats]] = []
    for _ in range(_MOST_MIDDLE):
        if not len(left):
            break
        way = _next_middle(track, s[left], way, centre, pitch, room[left].min(axis=1))
        pitch = pitches.middle_middle
        going = ~np.isnan(way)
        left, way = left[going], way[going]
        here = s[left]
        centre = 0.5 * (track.at(here - way) + track.at(here + way))
        tried.append((left, centre, way))
        n = len(left)
        a = track.first_beyond(
            here - way, back[:n], centre, np.full(n, pitches.middle_before), room[left, 0] - way
        )
        b = track.first_beyond(
            here + way, forth[:n], centre, np.full(n, pitches.middle_after), room[left, 1] - way
        )
        a, b = way + a, way + b
        done = _norm(track.at(here - a) - track.at(here + b)) >= pitches.abreast
        acute[left[done]] = True
        before[left[done]], after[left[done]] = a[done], b[done]
        left, way, centre = left[~done], way[~done], centre[~done]
    for of, xy, ways in tried:
        kept = acute[of]
        middles.append((of[kept], xy[kept], ways[kept]))
    if not middles:
        return Tips(acute, before, after, left[:0], np.zeros((0, 2)), no)
    of, xy, ways = (np.concatenate(column) for column in zip(*middles, strict=True))
    return Tips(acute, before, after, of, xy, ways)


def _open_start(
    track: Track, s: Floats, room: Floats, tip: Floats, pitches: Pitches
) -> tuple[Floats, Floats, Floats]:
    """Start both sides alike where they keep their gap; also by how much wider the gap gets."""

    def abreast(way: Floats) -> Floats:
        apart = track.at(s[:, None] - way) - track.at(s[:, None] + way)
        return np.hypot(apart[..., 0], apart[..., 1]) - pitches.abreast

    step = np.full(len(s), pitches.abreast / 16.0)
    way = first_root(abreast, step, room.min(axis=1))
    base = max(pitches.tip_before, pitches.tip_after)
    slack = np.array([pitches.tip_before, pitches.tip_after]) - base
    a, b = way, way
    back, forth = np.full(len(s), -1.0), np.ones(len(s))
    far = np.zeros(len(s))
    # Equal straight gaps from the tip, not equal arcs: sides that bend differently take turns.
    for _ in range(8):
        reach_a = _norm(track.at(s - a) - tip) - slack[0]
        reach_b = _norm(track.at(s + b) - tip) - slack[1]
        far = np.maximum(np.maximum(reach_a, reach_b), base)
        a = track.first_beyond(s, back, tip, far + slack[0], room[:, 0])
        b = track.first_beyond(s, forth, tip, far + slack[1], room[:, 1])
        apart = _norm(track.at(s - a) - track.at(s + b))
        short = apart < pitches.abreast
        if not short.any():
            break
        grow = np.where(short, 1.0 + 1e-12 + (pitches.abreast / apart - 1.0), 1.0)
        a, b = a * grow, b * grow
    wider = np.where(np.isnan(far) | np.isnan(a) | np.isnan(b), np.inf, far / base - 1.0)
    return a, b, wider


def _next_middle(
    track: Track, s: Floats, way: Floats, centre: Floats, pitch: float, most: Floats
) -> Floats:
    def short(more: Floats) -> Floats:
        w = way[:, None] + more
        middle = 0.5 * (track.at(s[:, None] - w) + track.at(s[:, None] + w))
        apart = middle - centre[:, None, :]
        return np.hypot(apart[..., 0], apart[..., 1]) - pitch

    return way + first_root(short, np.full(len(s), pitch / 16.0), most - way)


def _norm(xy: Floats) -> Floats:
    return np.hypot(xy[..., 0], xy[..., 1])

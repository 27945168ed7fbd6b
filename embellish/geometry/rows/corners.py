"""Where a row wants a piece pinned: the corners of a track, and where it crosses itself."""

from __future__ import annotations

import numpy as np

from embellish.arrays import Bools, Floats
from embellish.geometry.rows.track import Track

_BACK_DEG = 120.0
_SAME_DEG = 1e-6
"""Turns that differ by less are equal, so that a round-off never moves a corner."""


def corners_of(
    track: Track, corner_deg: float, window_mm: float, apart_mm: float
) -> tuple[Floats, Floats]:
    """Find the corners of a track at the scale of its pieces.

    A corner is where the path, looked at over a window on both sides and over twice that, turns
    by more than ``corner_deg``: a bend much tighter than a piece counts as one; the stairs of a
    traced picture do not, nor does a wider bend. Corners nearer together than a piece needs
    share one place: equally sharp ones their middle, else the sharpest alone.

    Parameters
    ----------
    track
        The path.
    corner_deg
        Least turn of a corner.
    window_mm
        How far to look before and after a vertex.
    apart_mm
        Least arc length between two corners (or a corner and an open end).

    Returns
    -------
    s, turn_deg : arrays of shape (k,)
        Places in order, and how sharply the path turns there: 180 is a cusp.
    """
    none = np.zeros(0)
    if track.length <= 0.0:
        return none, none
    window = min(window_mm, 0.2 * track.length)
    s = track.s[:-1] if track.closed else track.s[1:-1]
    s = s[_may_turn(track, window, corner_deg)]
    turn = turns_at(track, s, window)
    sharp = turn > corner_deg
    s, turn = s[sharp], turn[sharp]
    lasting = turns_at(track, s, min(2.0 * window, 0.2 * track.length)) > corner_deg
    s, turn = s[lasting], turn[lasting]
    # A ring so small that it bends like this all round has no corner.
    ring = track.closed and len(s) == len(track.s) - 1
    if not len(s) or (ring and track.length < 2.0 * window * len(s)):
        return none, none
    place, size = _peaks(s, turn, window, track)
    return _apart(place, size, apart_mm, track)


def hairpins_of(track: Track, pitch_mm: float, apart_mm: float, taken: Floats) -> Floats:
    """Find the places where a path turns back so tightly that two neighbours would clash.

    Where it turns by more than 120 degrees, looked at over a pitch on both sides, the pieces
    before and after one would be nearer together than that one is to either: the round end of a
    narrow stroke is a tip, as a sharp one is.

    Parameters
    ----------
    track
        The path.
    pitch_mm
        Distance of two neighbours' centres.
    apart_mm
        Least arc length between two pinned places (or one and an open end).
    taken : array of shape (k,)
        Pinned places already there: none is found near them.

    Returns
    -------
    array of shape (j,)
        Arc lengths, in order.
    """
    if track.length <= 5.0 * pitch_mm:
        return np.zeros(0)
    s = track.s[:-1] if track.closed else track.s[1:-1]
    s = s[_may_turn(track, pitch_mm, _BACK_DEG)]
    if not track.closed:
        s = s[(s >= pitch_mm) & (s <= track.length - pitch_mm)]
    turn = turns_at(track, s, pitch_mm)
    back = turn > _BACK_DEG
    if not back.any():
        return np.zeros(0)
    place, size = _peaks(s[back], turn[back], 0.5 * pitch_mm, track)
    if len(taken):
        away = np.abs(place[:, None] - taken)
        if track.closed:
            away = np.minimum(away, track.length - away)
        free = (away >= apart_mm).all(axis=1)
        place, size = place[free], size[free]
    return _apart(place, size, apart_mm, track)[0]


def _may_turn(track: Track, window: float, corner_deg: float) -> Bools:
    """Tell which vertices could see such a turn: what their neighbourhood turns in all bounds it.

    Smooth runs, which most of a path is, are cleared at the price of one pass over the vertices.
    """
    most = track.bends_deg
    s = track.s[:-1] if track.closed else track.s[1:-1]
    bins = np.floor(s / (2.0 * window)).astype(np.int64)
    count = int(bins[-1]) + 1 if len(bins) else 0
    total = np.bincount(bins, weights=most, minlength=count)
    around = total.copy()
    around[1:] += total[:-1]
    around[:-1] += total[1:]
    if track.closed and count:
        # Round the joint the last, shorter bin counts with both its neighbours.
        ends = [0, count - 1, max(count - 2, 0), min(1, count - 1)]
        around[ends] += total[ends].sum()
    return around[bins] > 0.99 * corner_deg


def turns_at(track: Track, s: Floats, window: float) -> Floats:
    """Return by how many degrees the path turns at positions, looked at over a window."""
    if not len(s):
        return np.zeros(0)
    here, before, after = track.at(s), track.at(s - window), track.at(s + window)
    came, goes = here - before, after - here
    cross = came[:, 0] * goes[:, 1] - came[:, 1] * goes[:, 0]
    dot = came[:, 0] * goes[:, 0] + came[:, 1] * goes[:, 1]
    turn: Floats = np.degrees(np.arctan2(np.abs(cross), dot))
    return turn


def _peaks(s: Floats, turn: Floats, window: float, track: Track) -> tuple[Floats, Floats]:
    """Bring each run of sharp vertices to its sharpest place, the middle of equally sharp ones."""
    starts: Bools = np.concatenate([[True], np.diff(s) > window])
    run = np.cumsum(starts) - 1
    count = int(run[-1]) + 1
    if track.closed and count > 1 and s[0] + track.length - s[-1] <= window:
        # The last run goes on across the joint: it is the first one's beginning.
        late = run == count - 1
        s = np.where(late, s - track.length, s)
        run = np.where(late, 0, run)
        count -= 1
    most = np.full(count, -np.inf)
    np.maximum.at(most, run, turn)
    top = turn >= most[run] - _SAME_DEG
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, run[top], s[top])
    np.maximum.at(high, run[top], s[top])
    middle = 0.5 * (low + high)
    if track.closed:
        middle = np.where(middle < 0.0, middle + track.length, middle)
    order = np.argsort(middle, kind="stable")
    return middle[order], most[order]


def _apart(s: Floats, turn: Floats, apart: float, track: Track) -> tuple[Floats, Floats]:
    """Thin out corners that stand nearer together than a piece needs, the sharpest first."""
    if not track.closed:
        inside = (s >= apart) & (s <= track.length - apart)
        s, turn = s[inside], turn[inside]
    while len(s) > 1:
        nearer = np.diff(s, append=s[0] + track.length if track.closed else np.inf) < apart
        if not nearer.any():
            break
        # Of the crowded pairs take the sharpest; one pass a round keeps the rule plain.
        after = np.roll(turn, -1)
        best = int(np.argmax(np.where(nearer, np.maximum(turn, after), -np.inf)))
        mate = (best + 1) % len(s)
        if abs(turn[best] - turn[mate]) <= 10.0:
            way = np.mod(s[mate] - s[best], track.length) if track.closed else s[mate] - s[best]
            s = s.copy()
            s[best] = s[best] + 0.5 * way
            if track.closed and s[best] >= track.length:
                s[best] -= track.length
            turn = turn.copy()
            turn[best] = max(turn[best], turn[mate])
            lost = mate
        else:
            lost = best if turn[best] < turn[mate] else mate
        s, turn = np.delete(s, lost), np.delete(turn, lost)
        order = np.argsort(s, kind="stable")
        s, turn = s[order], turn[order]
    return s, turn

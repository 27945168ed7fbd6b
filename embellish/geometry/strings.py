"""Strings: links at one pitch along a line, cut where it bends more than they can.

They are cut before what stands in the way too, the line itself where it comes back, and begin again
behind it: each free stretch has lengths of its own, alike far from both its ends.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal, NamedTuple

import numpy as np
import shapely
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.geometry.blocked import Room, blocked_stretches, widened
from embellish.geometry.rows.corners import corners_of
from embellish.geometry.rows.track import Track
from embellish.geometry.walking import Point, Walk

Ends = Literal["on", "inset", "free"]
_Kind = Literal["loop", "between", "into a tip"]
"""A whole closed line; a stretch between ends or corners; one that runs into a sharp tip."""
Look = Callable[[float, float, Sequence[Floats]], Room | None]
"""Given a stretch and the runs that stand on its line already, what room links have there; None
where nothing is near."""

_LOOKS: Final = 4
"""Look-out steps a pitch while searching for what stands in the way."""
_HAIR_MM: Final = 1e-6
_SHARES: Final = (1.0, 0.98, 0.95, 0.9, 0.8, 0.65, 0.5, 0.3)
_NEXT_TO: Final = 12.0
"""How far from a tip the place is looked for where its sides are a gap apart, in gaps."""
_FINER: Final = 4
_FINE: Final = 32
"""Into how many parts the step that finds it is cut."""
_MOST_LINKS: Final = 100_000
_SHARP_DEG: Final = 115.0
"""A line that turns by more comes to a tip: its sides stand less than 65 degrees apart."""
_BENDS: Final = 0.8
"""A bend of the least radius turns by so much of what a corner does."""
_NEEDLE: Final = 0.2
_TOLERANCE: Final = 1.02
"""Bends tighter by a fiftieth are taken: nobody measures a bend closer."""


@dataclass(frozen=True)
class Link:
    """What is strung.

    Parameters
    ----------
    pitch_mm
        From the middle of a link to that of the next, in a straight line.
    half_mm
        Half the length of a link along the line.
    gap_mm
        Free distance between cut ends.
    least_bend_mm
        Radius of the tightest bend.
    least_links
        A shorter length is left out.
    """

    pitch_mm: float
    half_mm: float
    gap_mm: float
    least_bend_mm: float
    least_links: int

    @property
    def most_turn_deg(self) -> float:
        """How much the way from link to link may turn at a link."""
        return 2.0 * math.degrees(math.asin(min(1.0, self.pitch_mm / (2.0 * self.least_bend_mm))))

    @property
    def apart_mm(self) -> float:
        """From the last link of a cut length to the first of the next."""
        return 2.0 * self.half_mm + self.gap_mm


@dataclass(frozen=True, eq=False)
class Strings:
    """Cut lengths along a line.

    Parameters
    ----------
    runs
        For each the arc length of its links along the line, shape (n,).
    bare
        Places, shape (k, 3): x, y, and the arc length of a stretch too short for any.
    parted
        Places, shape (j, 2), in the middle of what is in the way.
    """

    runs: tuple[Floats, ...]
    bare: Floats
    parted: Floats


def strung_along(
    track: Track,
    link: Link,
    ends: Ends,
    corner_deg: float,
    start: float = 0.0,
    look: Look | None = None,
) -> Strings:
    """Lay cut lengths along a line.

    Every link is its pitch from the one before, measured straight. A length ends at a corner and
    where the line bends tighter than links can; what a stretch leaves over is shared out to its
    two ends.

    Parameters
    ----------
    track
        The line.
    link
        What is strung.
    ends
        Open lines: links ``on`` the ends, ``inset`` to touch them, or half a gap left ``free``.
    corner_deg
        The line turns by more at a corner.
    start
        Closed lines without corners: where round the line it is joined, as a share.
    look
        Looks for what stands in the way.
    """
    runs: list[Floats] = []
    bare: list[tuple[float, float, float]] = []
    parted: list[float] = []
    walk = Walk(track)
    left = list(_stretches(track, link, ends, corner_deg, start))
    for _ in range(_MOST_LINKS):
        if not left:
            break
        stretch = left.pop(0)
        free, blocked = _free(track, link, stretch, look and look(stretch.low, stretch.high, runs))
        if len(blocked):
            parted.extend(blocked)
            left = [*free, *left]
            continue
        found = _along(walk, link, stretch)
        meets = _meets_itself(track, link, found)
        if meets is not None and stretch.kind == "loop":
            # Its joint goes to where it meets itself: one cut there serves for both.
            left = [_Stretch(meets, meets + track.length, 0.0, 0.0, "between"), *left]
            continue
        if meets is not None:
            found, rest = _ended_before(walk, link, stretch, found, meets)
            left = [*rest, *left]
        kept = [run for run in found if len(run) >= link.least_links]
        runs.extend(kept)
        for first, last in _bare(track, link, stretch, kept, meets):
            x, y = track.at(np.array([(first + last) / 2.0]))[0].tolist()
            bare.append((x, y, last - first))
    return Strings(tuple(runs), np.array(bare).reshape(-1, 3), track.at(np.array(parted)))


class _Corner(NamedTuple):
    """Where a stretch may begin or end, and how far lengths stay off it on either side."""

    s: float
    before: float
    after: float
    sharp: bool


class _Stretch(NamedTuple):
    """From one corner to the next: arc lengths, and how far links stay off both."""

    first: float
    last: float
    after: float
    before: float
    kind: _Kind

    @property
    def length(self) -> float:
        return self.last - self.first

    @property
    def low(self) -> float:
        return self.first + self.after

    @property
    def high(self) -> float:
        return self.last - self.before


def _stretches(
    track: Track, link: Link, ends: Ends, corner_deg: float, start: float
) -> Iterator[_Stretch]:
    found, turns = np.zeros(0), np.zeros(0)
    if corner_deg < 180.0:
        # Seen from so near that a bend which links can take is none.
        near = _BENDS * math.radians(corner_deg) * link.least_bend_mm
        window = min(link.pitch_mm, near)
        found, turns = corners_of(track, corner_deg, window, link.pitch_mm)
    corners = [
        _Corner(s, *_off_corner(track, link, s, turn), sharp=turn > _SHARP_DEG)
        for s, turn in zip(found.tolist(), turns.tolist(), strict=True)
    ]
    if track.closed:
        if not corners:
            yield _Stretch(start * track.length, (1.0 + start) * track.length, 0.0, 0.0, "loop")
            return
        corners.append(corners[0]._replace(s=corners[0].s + track.length))
    else:
        margin = {"on": 0.0, "inset": link.half_mm, "free": link.apart_mm / 2.0}[ends]
        end = _Corner(0.0, margin, margin, sharp=False)
        corners = [end, *corners, end._replace(s=track.length)]
    for one, other in pairwise(corners):
        kind: _Kind = "into a tip" if other.sharp else "between"
        yield _Stretch(one.s, other.s, one.after, other.before, kind)


def _off_corner(track: Track, link: Link, s: float, turn_deg: float) -> tuple[float, float]:
    """Return how far from a corner the length into it ends, and the one out of it begins.

    At a sharp tip one length runs into the tip and the next starts beside it; else both stay off
    it alike.
    """
    if turn_deg > _SHARP_DEG:
        return 0.0, _beside_tip(track, link, s)
    alike = link.apart_mm / 2.0 / math.cos(math.radians(turn_deg) / 2.0)
    return alike, alike


def _beside_tip(track: Track, link: Link, s: float) -> float:
    """Return how far beyond a tip a line has left its own other side by enough."""
    far = min(_NEXT_TO * link.apart_mm, track.length / 2.0)
    if not track.closed:
        far = min(far, s, track.length - s)
    step = np.linspace(0.0, far, math.ceil(far / link.pitch_mm * _LOOKS) + 2)
    other = shapely.LineString(track.at(s - np.linspace(0.0, far, _FINER * len(step))))
    for _ in range(2):
        away = shapely.distance(other, shapely.points(track.at(s + step)))
        clear = np.flatnonzero(away >= link.apart_mm)
        if not len(clear):
            # Longer needles are left to the clash pass.
            return link.apart_mm / _NEEDLE
        beyond = int(clear[0])
        step = np.linspace(step[max(beyond - 1, 0)], step[beyond], _FINE)
    return float(step[-1])


def _free(
    track: Track, link: Link, stretch: _Stretch, room: Room | None
) -> tuple[list[_Stretch], list[float]]:
    """Return the free parts of a stretch, and where what blocks it is: nowhere if it is free."""
    low, high = stretch.low, stretch.high
    if room is None or high <= low:
        return [], []
    blocked = blocked_stretches(room, low, high, link.pitch_mm / _LOOKS)
    blocked = widened(track, blocked, low, high, link.apart_mm)
    # A hair at an end is what is left of blocking there.
    blocked = blocked[blocked[:, 1] - blocked[:, 0] > _HAIR_MM]
    if not len(blocked):
        return [], []
    bounds = [low, *blocked.ravel().tolist(), high]
    free = list(zip(bounds[::2], bounds[1::2], strict=True))
    if stretch.kind == "loop":
        # Round the joint the last free part is one with the first.
        back = track.length * (free[-1][0] // track.length)
        free = [*free[1:-1], (free[-1][0] - back, free[0][1] + track.length - back)]
    tip = stretch.kind == "into a tip"
    parts = [
        _Stretch(a, b, 0.0, 0.0, "into a tip" if tip and b >= high else "between")
        for a, b in free
        if b > a
    ]
    return parts, blocked.mean(axis=1).tolist()


def _meets_itself(track: Track, link: Link, runs: Sequence[Floats]) -> float | None:
    """Return the arc length of the first link that is too near an earlier one, if any is."""
    if not runs:
        return None
    s = np.concatenate(runs)
    run = np.repeat(np.arange(len(runs)), [len(each) for each in runs])
    pairs = cKDTree(track.at(s)).query_pairs(link.apart_mm - _HAIR_MM, output_type="ndarray")
    i, j = pairs.min(axis=1), pairs.max(axis=1)
    near = math.ceil(link.apart_mm / link.pitch_mm) + 1
    far = (j - i > near) | (run[i] != run[j])
    return float(s[j[far].min()]) if far.any() else None


def _ended_before(
    walk: Walk, link: Link, stretch: _Stretch, runs: list[Floats], meets: float
) -> tuple[list[Floats], list[_Stretch]]:
    """Return lengths that end before they meet themselves, and the stretch that is left."""
    last: float | None = meets
    while last is not None:
        high = min(last, meets) - link.pitch_mm / _LOOKS
        meets = high
        if high <= stretch.low:
            return [], []
        before = _Stretch(stretch.first, high, stretch.after, 0.0, "between")
        runs = _along(walk, link, before)
        last = _meets_itself(walk.track, link, runs)
    # Behind it begins where the look-out finds room beside what stands now.
    return runs, [stretch._replace(first=high, after=0.0)]


def _bare(
    track: Track, link: Link, stretch: _Stretch, runs: Sequence[Floats], meets: float | None
) -> Iterator[tuple[float, float]]:
    """Yield what of a stretch carries no length though half of one would fit there."""
    least = link.pitch_mm * link.least_links / 2.0
    if not runs:
        if stretch.length > least:
            yield stretch.first, stretch.last
        return
    # What is left behind a place where it meets itself is a stretch of its own.
    low, high = stretch.low, stretch.high if meets is None else float(runs[-1][-1])
    if stretch.kind == "loop":
        low, high = float(runs[-1][-1]) - track.length, float(runs[-1][-1])
    bounds = [low, *(float(s) for run in runs for s in (run[0], run[-1])), high]
    for first, last in zip(bounds[::2], bounds[1::2], strict=True):
        # Between two lengths some of it is free anyway; at an end less than a pitch is left over.
        end = stretch.kind != "loop" and (first == low or last == high)
        if last - first > (max(least, link.pitch_mm) if end else least + link.apart_mm):
            yield first, last


def _along(walk: Walk, link: Link, stretch: _Stretch) -> list[Floats]:
    """Return the cut lengths of one stretch."""
    low, high = stretch.low, stretch.high
    if high < low:
        return []
    runs = _walked(walk, link, low, high)
    if stretch.kind == "loop":
        return _apart_from_first(walk.track, link, runs)
    # What is left over, alike at both ends of the last length, which without tight bends is the
    # only one; or none of it in a tip that it runs into.
    last = runs[-1]
    ends = [float(run[-1]) for run in runs[:-1] if len(run) >= link.least_links]
    begin = ends[-1] + link.apart_mm if ends else low
    left, before = high - float(last[-1]), float(last[0]) - begin
    tip = stretch.kind == "into a tip"
    shift = left - _HAIR_MM if tip else (left - max(before, 0.0)) / 2.0
    moved = _moved(walk, link, last, shift, high) if shift > 0.0 else None
    return runs if moved is None else [*runs[:-1], moved]


def _moved(walk: Walk, link: Link, run: Floats, shift: float, high: float) -> Floats | None:
    """Return a length moved on by as much of a shift as keeps its links, None where none does."""
    for share in _SHARES:
        # Links are their pitch apart in a straight line, so that round bends one may fall off.
        found = _walked(walk, link, float(run[0]) + share * shift, high)
        if len(found) == 1 and len(found[0]) == len(run):
            return found[0]
    return None


def _walked(walk: Walk, link: Link, low: float, high: float) -> list[Floats]:
    """Set link after link from a place on, cut where the line turns too much."""
    runs: list[list[float]] = [[low]]
    places = [walk.at(low)]
    most = _TOLERANCE * math.radians(link.most_turn_deg)
    for _ in range(_MOST_LINKS):
        found = walk.beyond(runs[-1][-1], link.pitch_mm, high)
        if found is None:
            break
        if len(runs[-1]) > 1 and _turn(places[-2], places[-1], found[1]) > most:
            found = walk.beyond(runs[-1][-1], link.apart_mm, high)
            if found is None:
                break
            runs.append([])
        runs[-1].append(found[0])
        places.append(found[1])
    return [np.array(run) for run in runs]


def _turn(one: Point, here: Point, there: Point) -> float:
    came, goes = (here[0] - one[0], here[1] - one[1]), (there[0] - here[0], there[1] - here[1])
    cross = came[0] * goes[1] - came[1] * goes[0]
    return abs(math.atan2(cross, came[0] * goes[0] + came[1] * goes[1]))


def _apart_from_first(track: Track, link: Link, runs: list[Floats]) -> list[Floats]:
    """Return a closed line's lengths, the last one ended before it comes too near the first."""
    begun = track.at(runs[0][:1])[0]
    while runs:
        last = runs[-1]
        away = np.hypot(*(track.at(last) - begun).T)
        if len(runs) == 1 and len(last) < 3:
            return runs
        if away[-1] >= link.apart_mm:
            return runs
        runs[-1] = last[:-1]
        if not len(runs[-1]):
            runs.pop()
    return runs


def headings_deg(track: Track, s: Floats) -> Floats:
    """Return how links lie, from the one before to the one after, clockwise as seen."""
    at = track.at(s)
    if len(at) < 2:
        return track.tangent_deg(s, s - 1.0, s + 1.0, 1.0)
    way = np.concatenate([at[1:2] - at[:1], at[2:] - at[:-2], at[-1:] - at[-2:-1]])
    lie: Floats = np.mod(np.degrees(np.arctan2(way[:, 1], way[:, 0])), 360.0)
    return lie

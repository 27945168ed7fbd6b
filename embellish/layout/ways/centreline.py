"""The way ``centreline``: strokes and letters filled down the middle, as large as fits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np
from pydantic import Field
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.artwork.flatten import region_of
from embellish.findings import Finding
from embellish.geometry.centreline import Branch, Centrelines, centrelines, corners, edge_distance
from embellish.geometry.centreline_fill import Standing, Track, even_samples, fill
from embellish.geometry.insets import Room
from embellish.geometry.streams import Stream
from embellish.geometry.vacancies import first_come
from embellish.layout.ways.fills import KEPT_SLACK_MM, room_of, stacked, too_small
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_SAMPLES: Final = 0.2
"""Step of the points along the outline, in radii of the smallest piece."""
_BEND: Final = 1.2
"""How far to either side of a corner its directions are taken, in local radii."""


class CentrelineSettings(WaySettings):
    """Settings of a centreline lay."""

    max_sizes: Annotated[int, Field(ge=1, le=50)] | None = None
    """At most so many of the lay's sizes are used, those that fill most; none given: all."""
    rows: Annotated[int, Field(ge=1, le=3)] = 1
    """At most so many rows side by side, where the stroke is wide enough."""
    corner_deg: Annotated[float, Field(ge=5, le=180)] = 50.0
    """A stroke that turns by more has a piece set in the corner; 180 sets none."""


def lay_centreline(
    ground: Ground, kit: Kit, settings: CentrelineSettings, stream: Stream, progress: Progress
) -> Laid:
    """Fill the strokes of each shape of the ground down their middle.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Each stretch between ends, corners and joints is a row; u is the index along it. Where no
        piece fits is the finding ``region-too-small``, where some of a stroke is too narrow for
        the smallest piece ``stroke-too-narrow``.
    """
    del stream  # nothing here is random
    parts: list[Seats] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):
        region = region_of(shape)
        room = room_of(region, ground, kit, stacked(parts))
        strokes = _Strokes.of(room, region, kit, settings)
        seats = strokes.laid(kit)
        if len(seats):
            parts.append(replace(seats, shape=np.full(len(seats), number, dtype=np.int64)))
            findings.extend(strokes.too_narrow(shape.id))
        else:
            findings.append(too_small(shape, region, kit))
        progress((number + 1) / len(ground.shapes))
    return Laid(stacked(parts), tuple(findings))


@dataclass(frozen=True, eq=False)
class _Row:
    """Pieces along one stretch."""

    xy: Floats
    size: Ints


@dataclass(frozen=True, eq=False)
class _Strokes:
    """The strokes of one region, ready to be filled.

    Parameters
    ----------
    sizes : array of shape (k,)
        Index into the kit of each size used, the largest first.
    radii : array of shape (k,)
        Its radius.
    tracks
        One a branch of the centreline.
    """

    room: Room
    settings: CentrelineSettings
    gap_mm: float
    sizes: Ints
    radii: Floats
    lines: Centrelines
    tracks: tuple[Track, ...]

    @classmethod
    def of(
        cls, room: Room, region: BaseGeometry, kit: Kit, settings: CentrelineSettings
    ) -> _Strokes:
        reach = kit.reach_mm
        order = np.argsort(-reach, kind="stable")
        # Of pieces alike the first named stands for all.
        order = order[np.append(True, np.diff(reach[order]) < 0.0)]
        lines = centrelines(region, _SAMPLES * float(reach.min()))
        tracks = []
        for branch in lines.branches:
            xy = branch.xy
            if len(xy) > 1:
                xy = even_samples(xy, float(reach.min()))
            free = _room_at(xy, region, room)
            tracks.append(_with_sides(Track(xy, free, free), branch))
        order = _best_sizes(order, reach, tracks, settings.max_sizes)
        gap = kit.gap_mm + LAY_SLACK_MM
        return cls(room, settings, gap, order, reach[order], lines, tuple(tracks))

    def laid(self, kit: Kit) -> Seats:
        """Return the seats."""
        standing = Standing(self.radii, self.gap_mm)
        pins = self._pinned(standing)
        rows = [_Row(np.array([xy]), np.array([size])) for xy, size in self._at_pins(standing)]
        for track, at, branch in zip(self.tracks, pins, self.lines.branches, strict=True):
            if branch.closed and len(at):
                track, at = track.from_sample(int(at[0])), np.append(at - at[0], len(track) - 1)
            rows.extend(
                self._filled(track.part(first, last), standing)
                for first, last in _stretches(track, at)
            )
        return self._seats(rows, kit)

    def _filled(self, track: Track, standing: Standing) -> _Row:
        start = _size_at(standing, track.xy[0])
        if start is None and track.room_mm[0] < track.room_mm[-1]:
            track = track.part(len(track) - 1, 0)
            start = _size_at(standing, track.xy[0])
        xy, size = fill(track, standing, start)
        for at, each in zip(xy, size.tolist(), strict=True):
            standing.put(at, each)
        return _Row(xy, size)

    def _pinned(self, standing: Standing) -> list[Ints]:
        """Set pieces at joints and corners, and one to start from; return where on each track."""
        pins: list[list[int]] = [[] for _ in self.tracks]
        self._pin_joints(standing)
        for number, (track, branch) in enumerate(
            zip(self.tracks, self.lines.branches, strict=True)
        ):
            pins[number] = self._pin_corners(track, branch, standing)
        return [np.array(sorted(some), dtype=np.int64) for some in pins]

    def _pin_joints(self, standing: Standing) -> None:
        joints, wide = self.lines.joints_xy, self.lines.joints_radius_mm
        for joint in np.argsort(-np.round(wide, 6), kind="stable").tolist():
            limit = self._size_around(joint)
            free = _room_at(joints[[joint]], self.room.region, self.room)
            spot = Track(joints[[joint]], free, free)
            size = standing.largest_at(spot, 0, limit)
            if size is not None:
                standing.put(joints[joint], size)

    def _size_around(self, joint: int) -> int:
        """Return the largest size that the strokes meeting at a joint take beyond it."""
        beyond = 1.5 * float(self.lines.joints_radius_mm[joint])
        rooms = []
        for track, branch in zip(self.tracks, self.lines.branches, strict=True):
            for end in (0, 1):
                if branch.joints[end] == joint:
                    ahead = track if end == 0 else track.part(len(track) - 1, 0)
                    index = min(int(beyond / max(track.step_mm, 1e-12)), len(track) - 1)
                    rooms.append(float(ahead.room_mm[index]))
        fits = np.flatnonzero(self.radii <= max(rooms, default=np.inf))
        return int(fits[0]) if len(fits) else len(self.radii) - 1

    def _pin_corners(self, track: Track, branch: Branch, standing: Standing) -> list[int]:
        last = len(track) - 1
        pins = [] if branch.closed else [end for end in (0, last) if branch.joints[end > 0] >= 0]
        if last > 4:
            window = _BEND * float(np.median(branch.radius_mm))
            bends = corners(track.xy, window, self.settings.corner_deg, closed=branch.closed)
            for index in np.flatnonzero(bends).tolist():
                size = standing.largest_at(track, index)
                if size is not None:
                    standing.put(track.xy[index], size)
                    pins.append(index)
        if not pins:
            index = _widest(track)
            size = standing.largest_at(track, index)
            if size is not None:
                standing.put(track.xy[index], size)
                pins.append(index)
        return pins

    def _at_pins(self, standing: Standing) -> list[tuple[Floats, int]]:
        return list(zip(standing.xy, standing.size, strict=True))

    def _seats(self, rows: list[_Row], kit: Kit) -> Seats:
        """Return the seats that truly have their room, in rows."""
        rows = [row for row in rows if len(row.xy)]
        if not rows:
            return Seats.none()
        xy = np.concatenate([row.xy for row in rows])
        size = np.concatenate([row.size for row in rows])
        number = np.repeat(np.arange(len(rows)), [len(row.xy) for row in rows])
        reach = self.radii[size]
        for smaller in range(1, len(self.radii)):
            # Measured on the line between two samples a piece may be a hair too large.
            out = ~self.room.holds(xy, reach, slack_mm=KEPT_SLACK_MM)
            size = np.where(out, np.maximum(size, smaller), size)
            reach = self.radii[size]
        keep = self.room.holds(xy, reach, slack_mm=KEPT_SLACK_MM)
        half = reach + (kit.gap_mm + KEPT_SLACK_MM) / 2.0
        keep[keep] = first_come(xy[keep], half[keep], np.arange(np.count_nonzero(keep)) * 1.0)
        xy, size, number = xy[keep], size[keep], number[keep]
        row = np.unique(number, return_inverse=True)[1].astype(np.int64)
        n = len(xy)
        return Seats(
            xy=xy,
            angle_deg=np.zeros(n),
            choice=self.sizes[size],
            shape=np.zeros(n, dtype=np.int64),
            row=row,
            u=(np.arange(n) - np.searchsorted(row, row)).astype(np.float64),
            weight=np.zeros(n),
        )

    def too_narrow(self, shape_id: str) -> list[Finding]:
        """Return a note where strokes are too narrow for the smallest piece."""
        least = float(self.radii[-1])
        narrow = 0.0
        where: Floats | None = None
        for track, branch in zip(self.tracks, self.lines.branches, strict=True):
            # Every end tapers off within a radius; that is no narrow stroke.
            out = _inner(track.room_mm < least, track, branch, 2.0 * least)
            if out.any():
                narrow += np.count_nonzero(out) * track.step_mm
                where = track.xy[int(np.argmax(out))] if where is None else where
        if where is None or narrow < 2.0 * least:
            return []
        return [
            Finding(
                code="stroke-too-narrow",
                severity="note",
                message=(
                    f"Strokes of '{shape_id}' are too narrow for a piece {2 * least:.2f} mm across "
                    f"along {narrow:.1f} mm, which stay bare."
                ),
                where_mm=(float(where[0]), float(where[1])),
                mend="Add a smaller piece to the lay, lower edge_mm, or widen the strokes.",
            )
        ]


def _inner(out: Bools, track: Track, branch: Branch, length_mm: float) -> Bools:
    """Return the mask without the free ends of a branch."""
    if branch.closed:
        return out
    k = round(length_mm / max(track.step_mm, 1e-12))
    out = out.copy()
    if branch.joints[0] < 0:
        out[:k] = False
    if branch.joints[1] < 0:
        out[max(len(out) - k, 0) :] = False
    return out


def _room_at(xy: Floats, region: BaseGeometry, room: Room) -> Floats:
    """Return the largest radius that has room about each point."""
    free = edge_distance(region, xy) - room.edge_mm
    if room.keep_out is not None and not room.keep_out.is_empty:
        free = np.minimum(free, -edge_distance(room.keep_out, xy))
    for reach in np.unique(room.others_reach_mm):
        near, _ = cKDTree(room.others_xy[room.others_reach_mm == reach]).query(xy)
        free = np.minimum(free, near - reach)
    return np.asarray(free - LAY_SLACK_MM, dtype=np.float64)


def _size_at(standing: Standing, xy: Floats) -> int | None:
    """Return the size of the piece that stands at a point, None where none does."""
    if not len(standing):
        return None
    away = np.hypot(*(np.array(standing.xy) - xy).T)
    near = int(np.argmin(away))
    return standing.size[near] if away[near] < 1e-9 else None


def _widest(track: Track) -> int:
    """Return the middle of the widest stretch."""
    wide = track.room_mm >= float(track.room_mm.max()) - 0.02 * abs(float(track.room_mm.max()))
    edge = np.flatnonzero(np.diff(np.concatenate([[0], wide.astype(np.int64), [0]])))
    starts, stops = edge[::2], edge[1::2]
    longest = int(np.argmax(stops - starts))
    return int((starts[longest] + stops[longest] - 1) // 2)


def _with_sides(track: Track, branch: Branch) -> Track:
    """Return a track whose blunt ends count as wide as the stroke that runs into them."""
    side = track.room_mm.copy()
    for end, tail in enumerate(branch.tails_mm):
        k = min(int(np.ceil(tail / max(track.step_mm, 1e-12))), len(side) - 1)
        if k and end == 0:
            side[:k] = np.maximum(side[:k], side[k])
        elif k:
            side[-k:] = np.maximum(side[-k:], side[-k - 1])
    return Track(track.xy, track.room_mm, side)


def _stretches(track: Track, pins: Ints) -> list[tuple[int, int]]:
    """Return the stretches between pins and ends, each from a pin on where it has one."""
    last = len(track) - 1
    if last < 1 or not len(pins):
        return []
    inner = [(int(a), int(b)) for a, b in zip(pins[:-1], pins[1:], strict=True)]
    # From the wider end, so that what is left over falls where it shows least.
    inner = [(a, b) if track.room_mm[a] >= track.room_mm[b] else (b, a) for a, b in inner]
    ends = [(int(pins[0]), 0), (int(pins[-1]), last)]
    return inner + [(a, b) for a, b in ends if a != b]


def _best_sizes(order: Ints, reach: Floats, tracks: list[Track], most: int | None) -> Ints:
    """Return the sizes, at most so many, that cover most of the tracks."""
    if most is None or most >= len(order):
        return order
    room = np.concatenate([track.room_mm for track in tracks])
    step = np.concatenate([np.full(len(track), track.step_mm) for track in tracks])
    # Length of centreline where each size fits.
    fits = np.array([step[room >= reach[size]].sum() for size in order])
    k = len(order)
    # best[m, j]: most area covered by m sizes of which j is the smallest.
    best = np.full((most + 1, k), -np.inf)
    came = np.zeros((most + 1, k), dtype=np.int64)
    best[1] = reach[order] * fits
    for m in range(2, most + 1):
        for j in range(m - 1, k):
            gain = best[m - 1, :j] + reach[order[j]] * (fits[j] - fits[:j])
            came[m, j] = int(np.argmax(gain))
            best[m, j] = gain[came[m, j]]
    m, j = np.unravel_index(int(np.argmax(np.round(best, 9))), best.shape)
    chosen = [int(j)]
    while m > 1:
        j, m = came[m, j], m - 1
        chosen.append(int(j))
    return order[np.array(chosen[::-1], dtype=np.int64)]


CENTRELINE: Final = Way(
    name="centreline",
    settings=CentrelineSettings,
    needs="region",
    fills=True,
    mixes=False,
    lay=lay_centreline,
    help="Strokes and letters filled down the middle, each piece the largest that fits there.",
)

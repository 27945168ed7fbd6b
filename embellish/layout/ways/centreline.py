"""The way ``centreline``: strokes and letters filled down the middle, as large as fits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np
from pydantic import Field
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.artwork.flatten import region_of
from embellish.findings import Finding
from embellish.geometry.centrelines.centreline import (
    Branch,
    Centrelines,
    centrelines,
    corners,
    edge_distance,
)
from embellish.geometry.centrelines.fill import Standing, fill
from embellish.geometry.centrelines.rows import Run, best_sizes, row_runs, side_lines
from embellish.geometry.centrelines.strokes import strokes
from embellish.geometry.centrelines.tracks import (
    Track,
    beside,
    between,
    even_samples,
    widest,
    with_sides,
)
from embellish.geometry.insets import Room
from embellish.geometry.streams import Stream
from embellish.geometry.vacancies import first_come
from embellish.layout.ways.fills import KEPT_SLACK_MM, room_of, stacked, too_small
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_SAMPLES: Final = 0.2
"""Step of the points along the outline, in radii of the smallest piece."""
_WIDER: Final = 1.02
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
    narrow: dict[str, tuple[float, tuple[float, float]]] = {}
    least_mm = 0.0
    for number, shape in enumerate(ground.shapes):
        region = region_of(shape)
        room = room_of(region, ground, kit, stacked(parts))
        strokes = _Strokes.of(room, region, kit, settings)
        seats = strokes.laid(kit)
        if len(seats):
            parts.append(replace(seats, shape=np.full(len(seats), number, dtype=np.int64)))
            least_mm = float(strokes.radii[-1])
            bare = strokes.too_narrow()
            if bare is not None:
                narrow[shape.id] = bare
        else:
            findings.append(too_small(shape, region, kit))
        progress((number + 1) / len(ground.shapes))
    findings.extend(_told_narrow(narrow, least_mm))
    return Laid(stacked(parts), tuple(findings))


def _told_narrow(
    narrow: dict[str, tuple[float, tuple[float, float]]], least_mm: float
) -> Iterator[Finding]:
    """Tell once of all shapes whose strokes are too narrow for the smallest piece."""
    if not narrow:
        return
    ids = [f"'{each}'" for each in narrow]
    named = ", ".join(ids[:3]) + (f" and {len(ids) - 3} more" if len(ids) > 3 else "")
    worst = max(narrow.values(), key=lambda each: each[0])
    yield Finding(
        code="stroke-too-narrow",
        severity="note",
        message=(
            f"Strokes of {named} are too narrow for a piece {2 * least_mm:.2f} mm across along"
            f" {sum(bare for bare, _ in narrow.values()):.1f} mm, which stay bare."
        ),
        where_mm=worst[1],
        mend="Add a smaller piece to the lay, lower edge_mm, or widen the strokes.",
    )


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
    branches: tuple[Branch, ...]
    meeting: Ints
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
        joined = strokes(lines)
        tracks = []
        for branch in joined.branches:
            xy, wide = branch.xy, branch.radius_mm
            if len(xy) > 1:
                xy, wide = even_samples(xy, wide, float(reach.min()))
            # Where a stroke runs through a joint it counts no wider than before and after.
            free = np.minimum(_room_at(xy, region, room), _WIDER * wide - kit.edge_mm)
            tracks.append(with_sides(Track(xy, free, free), branch))
        order = best_sizes(order, reach, tracks, settings.max_sizes)
        gap = kit.gap_mm + LAY_SLACK_MM
        return cls(
            room,
            settings,
            gap,
            order,
            reach[order],
            lines,
            joined.branches,
            joined.meeting,
            tuple(tracks),
        )

    def laid(self, kit: Kit) -> Seats:
        """Return the seats."""
        standing = Standing(self.radii, self.gap_mm)
        self._pin_joints(standing)
        every = list(zip(self.tracks, self.branches, strict=True))
        runs = [self._runs(track, branch) for track, branch in every]
        rows = [
            row
            for track, some in zip(self.tracks, runs, strict=True)
            for run in some
            for row in self._side_by_side(track, run, standing)
        ]
        pins = [
            self._pin_corners(track, branch, some, standing)
            for (track, branch), some in zip(every, runs, strict=True)
        ]
        # What ends against other strokes waits until those stand.
        for waiting in (False, True):
            for (track, branch), at, some in zip(every, pins, runs, strict=True):
                if not at and not some and waiting == any(self._against(branch)):
                    at.extend(self._seed(track, standing))
            rows.extend(
                self._filled(part, standing)
                for (track, branch), at, some in zip(every, pins, runs, strict=True)
                for part, against in self._stretches(track, at, branch, some)
                if against == waiting
            )
        return self._seats([*self._pinned(standing, rows), *rows], kit)

    def _runs(self, track: Track, branch: Branch) -> list[Run]:
        """Return where this stroke carries rows side by side."""
        if self.settings.rows == 1 or len(track) < 2:
            return []
        barred = np.zeros(len(track), dtype=np.bool_)
        for end, joint in enumerate(branch.joints):
            if joint >= 0:
                near = float(self.lines.joints_radius_mm[joint])
                k = min(round(1.2 * near / track.step_mm), len(track))
                barred[slice(None, k) if end == 0 else slice(len(track) - k, None)] = True
        return row_runs(track, self.radii, self.gap_mm, self.settings.rows, barred)

    def _side_by_side(self, track: Track, run: Run, standing: Standing) -> list[_Row]:
        out = []
        for line in side_lines(track, run, float(self.radii[run.size]), self.gap_mm):
            xy, _ = even_samples(line, np.zeros(len(line)), float(self.radii[-1]))
            free = _room_at(xy, self.room.region, self.room)
            out.append(self._filled(Track(xy, free, free), standing, run.size))
        return out

    def _pinned(self, standing: Standing, rows: list[_Row]) -> list[_Row]:
        """Return what stands on joints, corners and at starts, each a row of its own."""
        in_rows = {tuple(xy) for row in rows for xy in row.xy.tolist()}
        return [
            _Row(xy[None, :], np.array([size], dtype=np.int64))
            for xy, size in zip(standing.xy, standing.size, strict=True)
            if tuple(xy.tolist()) not in in_rows
        ]

    def _against(self, branch: Branch) -> tuple[bool, bool]:
        """Tell which ends of a branch end at a stroke that runs through."""
        a, b = (joint >= 0 and joint not in self.meeting for joint in branch.joints)
        return a, b

    def _stretches(
        self, track: Track, pins: list[int], branch: Branch, runs: list[Run]
    ) -> list[tuple[Track, bool]]:
        """Return the stretches between pins and ends, and whether each ends against a stroke."""
        at = np.array(sorted(pins), dtype=np.int64)
        if runs:
            return [
                (part, False) for part in beside(track, at, [(run.first, run.last) for run in runs])
            ]
        if branch.closed and len(at):
            track, at = track.from_sample(int(at[0])), np.append(at - at[0], len(track) - 1)
        last, against = len(track) - 1, self._against(branch)
        return [
            (track.part(a, b), (b == 0 and against[0]) or (b == last and against[1]))
            for a, b in between(track, at)
        ]

    def _filled(self, track: Track, standing: Standing, only: int | None = None) -> _Row:
        start = _size_at(standing, track.xy[0])
        if start is None and track.room_mm[0] < track.room_mm[-1]:
            track = track.part(len(track) - 1, 0)
            start = _size_at(standing, track.xy[0])
        xy, size = fill(track, standing, start, only or 0, only)
        for at, each in zip(xy, size.tolist(), strict=True):
            standing.put(at, each)
        return _Row(xy, size)

    def _pin_joints(self, standing: Standing) -> None:
        joints, wide = self.lines.joints_xy, self.lines.joints_radius_mm
        order = np.argsort(-np.round(wide[self.meeting], 6), kind="stable")
        for joint in self.meeting[order].tolist():
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
        for track, branch in zip(self.tracks, self.branches, strict=True):
            for end in (0, 1):
                if branch.joints[end] == joint:
                    ahead = track if end == 0 else track.part(len(track) - 1, 0)
                    index = min(int(beyond / max(track.step_mm, 1e-12)), len(track) - 1)
                    rooms.append(float(ahead.room_mm[index]))
        return self._fitting(max(rooms, default=np.inf))

    def _fitting(self, room_mm: float) -> int:
        """Return the largest size for a room, or the smallest there is."""
        fits = np.flatnonzero(self.radii <= room_mm)
        return int(fits[0]) if len(fits) else len(self.radii) - 1

    def _pin_corners(
        self, track: Track, branch: Branch, runs: list[Run], standing: Standing
    ) -> list[int]:
        last = len(track) - 1
        pins = [end for end in (0, last) if branch.joints[end > 0] in self.meeting]
        if last > 4:
            window = _BEND * float(np.median(branch.radius_mm))
            bends = corners(track.xy, window, self.settings.corner_deg, closed=branch.closed)
            k = round(1.5 * window / track.step_mm)
            for run in runs:
                bends[run.first : run.last + 1] = False
            for index in np.flatnonzero(bends).tolist():
                # A corner is wider than its strokes, and takes a piece like theirs.
                about = track.side_mm[[max(index - k, 0), min(index + k, last)]]
                size = standing.largest_at(track, index, self._fitting(float(about.max())))
                if size is not None:
                    standing.put(track.xy[index], size)
                    pins.append(index)
        return pins

    def _seed(self, track: Track, standing: Standing) -> list[int]:
        """Set a piece to start from, in the middle of the widest stretch that is free."""
        free = np.minimum(track.room_mm, standing.free(track.xy) - self.gap_mm)
        index = widest(free)
        size = standing.largest_at(track, index)
        if size is None:
            return []
        standing.put(track.xy[index], size)
        return [index]

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
        half: Floats = reach + (kit.gap_mm + KEPT_SLACK_MM) / 2.0
        rank = np.arange(np.count_nonzero(keep), dtype=np.float64)
        keep[keep] = first_come(xy[keep], half[keep], rank)
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

    def too_narrow(self) -> tuple[float, tuple[float, float]] | None:
        """Return how much of the strokes is too narrow for the smallest piece, and where first."""
        least = float(self.radii[-1])
        narrow = 0.0
        where: Floats | None = None
        for track, branch in zip(self.tracks, self.branches, strict=True):
            # Every end tapers off within a radius; that is no narrow stroke.
            out = _inner(track.room_mm < least, track, branch, 2.0 * least)
            if out.any():
                narrow += float(np.count_nonzero(out) * track.step_mm)
                where = track.xy[int(np.argmax(out))] if where is None else where
        if where is None or narrow < 2.0 * least:
            return None
        return narrow, (float(where[0]), float(where[1]))


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


CENTRELINE: Final = Way(
    name="centreline",
    settings=CentrelineSettings,
    needs="region",
    fills=True,
    mixes=False,
    lay=lay_centreline,
    help="Strokes and letters filled down the middle, each piece the largest that fits there.",
)

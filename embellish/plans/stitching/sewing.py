"""From marks in order to stitch records: the machine's grid, locks, travel, trims, and the time.

All here is in whole tenths of a millimetre, y down, about the hoop's start.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.findings import counted
from embellish.formats.stitches import JUMP, STITCH, TRIM, ThreadBlock
from embellish.plans.stitching.settings import StitchSettings
from embellish.units import MM_PER_STITCH_UNIT

JUMP_UNITS = 121
"""The longest jump of one record in the tightest format."""


@dataclass(frozen=True, slots=True)
class Effort:
    """What sewing costs."""

    stitches: int = 0
    trims: int = 0
    jumps: int = 0
    stops: int = 0
    travel_mm: float = 0.0
    """Ground covered with the thread cut, and by running stitches between marks."""

    def minutes(self, settings: StitchSettings) -> float:
        """Return the time it takes: a jump is one turn of the machine, as a stitch is."""
        turns = (self.stitches + self.jumps) * 60.0 / settings.speed_per_min
        return (turns + self.trims * settings.trim_s + self.stops * settings.stop_s) / 60.0

    def words(self, settings: StitchSettings) -> str:
        """Return how that time comes about."""
        parts = [f"{self.stitches + self.jumps} stitches and jumps / {settings.speed_per_min:g}"]
        for number, name, seconds in (
            (self.trims, "trim", settings.trim_s),
            (self.stops, "stop", settings.stop_s),
        ):
            if number:
                parts.append(f"{counted(number, name)} × {seconds:g} s")
        return " + ".join(parts)

    def __add__(self, other: Effort) -> Effort:
        return Effort(
            self.stitches + other.stitches,
            self.trims + other.trims,
            self.jumps + other.jumps,
            self.stops + other.stops,
            self.travel_mm + other.travel_mm,
        )

    def __mul__(self, times: int) -> Effort:
        return Effort(
            self.stitches * times,
            self.trims * times,
            self.jumps * times,
            self.stops * times,
            self.travel_mm * times,
        )


def on_grid(path_mm: Floats, centre_mm: Floats | None) -> Ints:
    """Return a path in tenths of a mm; the bounds of a path centred on a point stay so.

    Rounding each coordinate alone would move the middle of the bounds by up to 0.05 mm. Here
    twice the centre is rounded, and every point to a place that lies evenly about it: the middle
    is off by at most 0.025 mm (0.05 mm along an axis in which the path is flat).
    """
    tenths = path_mm / MM_PER_STITCH_UNIT
    if centre_mm is None:
        return np.rint(tenths).astype(np.int64)
    middle = centre_mm / MM_PER_STITCH_UNIT
    away = 2.0 * (tenths - middle)
    # A path flat along an axis has one place there, not two about a half.
    flat = np.abs(away).max(axis=0) < 1.0
    twice = np.where(flat, 2.0 * np.rint(middle), np.rint(2.0 * middle))
    away = np.where(flat, 0.0, away)
    odd = np.mod(twice, 2.0)
    # Places an odd centre allows are odd half units away, an even one even.
    reach = np.where(
        odd == 1.0,
        2.0 * np.floor(np.abs(away) / 2.0) + 1.0,
        2.0 * np.floor(np.abs(away) / 2.0 + 0.5 - 1e-9),
    )
    side = np.where(away < -1e-6, -1.0, 1.0)
    points: Ints = ((twice + side * reach) / 2.0).astype(np.int64)
    return points


def divided(path: Ints, longest: int) -> Ints:
    """Return a path with no stitch longer than asked, and none that stays where it is."""
    moved = np.any(np.diff(path, axis=0) != 0, axis=1)
    path = path[np.concatenate([[True], moved])]
    steps = np.hypot(*np.diff(path, axis=0).astype(np.float64).T)
    if steps.max(initial=0.0) <= longest:
        return path
    points: list[list[int]] = [path[0].tolist()]
    for start, end, step in zip(path[:-1], path[1:], steps, strict=True):
        count = math.ceil(step / longest - 1e-9)
        share = np.arange(1, count + 1)[:, None] / count
        points += np.rint(start + (end - start) * share).astype(np.int64).tolist()
    return np.array(points, dtype=np.int64)


@dataclass(slots=True)
class Sewer:
    """Writes records; knows where the needle is and how many stitches were made."""

    settings: StitchSettings
    count: int = 0
    effort: Effort = field(default_factory=Effort)
    at: tuple[int, int] = (0, 0)
    rows: list[tuple[int, int, int]] = field(default_factory=list)

    def block(self, name: str, colour: str) -> ThreadBlock:
        """Return what was sewn since the last block, and begin another."""
        table = np.array(self.rows, dtype=np.int64).reshape(-1, 3)
        self.rows = []
        return ThreadBlock(
            name, colour, table[:, :2].astype(np.float64) * MM_PER_STITCH_UNIT, table[:, 2]
        )

    def chain(
        self, paths: Sequence[Ints], ways: Sequence[Ints], *, cut: bool
    ) -> list[tuple[int, int]]:
        """Sew paths joined by running stitches, locked at both ends; tell where each one lies.

        Parameters
        ----------
        paths : arrays of shape (k, 2)
            In order, each as it is to be sewn, no step of length 0 in any.
        ways : arrays of shape (w, 2)
            For each path the places that the travel to it passes, w = 0 for straight there.
        cut
            Whether to trim after it.

        Returns
        -------
        list of (first, last)
            Numbers of each path's stitches in the file.
        """
        travel = math.dist(self.at, paths[0][0])
        steps = int(np.abs(paths[0][0] - np.array(self.at)).max())
        lock = self._lock(paths[0])
        # The needle first goes in at the far end of the first lock, so no stitch stays in place.
        first = lock[1] if len(lock) > 1 else tuple(paths[0][0 if lock else 1].tolist())
        self.rows.append((*first, JUMP))
        before = self.count
        self._sew(lock)
        spans = []
        for index, path in enumerate(paths):
            if index:
                passed = np.concatenate([ways[index], path[:1]])
                if (passed == np.array(self.at)).all():
                    # Two marks meet in a point: step aside along the next one and come back.
                    self._sew([tuple(path[1].tolist())])
                    passed = path[:1]
                travel += self._travel(passed)
            self._sew([(x, y) for x, y in path.tolist()])
            spans.append((self.count - len(path), self.count - 1))
        self._sew(self._lock(paths[-1][::-1])[::-1])
        if cut:
            self.rows.append((*self.at, TRIM))
        self.effort += Effort(
            self.count - before,
            int(cut),
            max(1, math.ceil(steps / JUMP_UNITS)),
            0,
            travel * MM_PER_STITCH_UNIT,
        )
        return spans

    def _sew(self, points: Sequence[tuple[int, int]]) -> None:
        self.rows += [(x, y, STITCH) for x, y in points]
        self.count += len(points)
        if points:
            self.at = points[-1]

    def _travel(self, places: Ints) -> float:
        """Run through places to the next mark's first point, which itself is the mark's.

        Returns how far it is.
        """
        path = np.concatenate([[self.at], places])
        way = float(np.hypot(*np.diff(path, axis=0).astype(np.float64).T).sum())
        path = divided(path, round(self.settings.stitch_mm / MM_PER_STITCH_UNIT))
        self._sew([(x, y) for x, y in path[1:-1].tolist()])
        return way

    def _lock(self, path: Ints) -> list[tuple[int, int]]:
        """Return the stitches there and back before a path's first point."""
        # A mark of seats all in one place is a single point: its lock goes to the right.
        here, there = path[0], path[1] if len(path) > 1 else path[0] + [10, 0]
        step = (there - here).astype(np.float64)
        length = float(np.hypot(*step))
        wanted = self.settings.lock_mm / MM_PER_STITCH_UNIT
        away = np.rint(here + step * min(1.0, wanted / length)).astype(np.int64)
        if (away == here).all():
            return []
        # A tick is sewn over itself, so two stitches hold it.
        count = (
            min(self.settings.lock_stitches, 2) if len(path) == 2 else (self.settings.lock_stitches)
        )
        ends = [tuple(away.tolist()), tuple(here.tolist())]
        return [ends[index % 2] for index in range(count)][::-1]

"""Walking along a line from point to point, each a straight distance from the one before.

Each step starts where the last one ended, so there is nothing to do at once for many: plain numbers
along the few segments of a step take a hundredth of what arrays of one entry take.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property

from embellish.geometry.rows.track import Track

Point = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Walk:
    """A track to be walked along.

    Parameters
    ----------
    track
        At least one segment; positions on a closed one may run on past its joint.
    """

    track: Track

    @cached_property
    def _vertices(self) -> list[tuple[float, float, float]]:
        return [
            (s, x, y)
            for s, (x, y) in zip(self.track.s.tolist(), self.track.points.tolist(), strict=True)
        ]

    @cached_property
    def _lengths(self) -> list[float]:
        return [s for s, _, _ in self._vertices]

    def at(self, s: float) -> Point:
        """Return the point at a position."""
        index, before = self._segment(s)
        return self._on(index, s - before)

    def beyond(self, s: float, distance_mm: float, most: float) -> tuple[float, Point] | None:
        """Return the first position after another, and its point, that is so far from it.

        Parameters
        ----------
        s
            Where to start.
        distance_mm
            The straight distance to reach.
        most
            The last position to look at.

        Returns
        -------
        (position, point), or None where the distance is not reached.
        """
        index, before = self._segment(s)
        x0, y0 = self._on(index, s - before)
        at, x1, y1 = s - before, x0, y0
        while True:
            if before + at > most:
                return None
            end, x2, y2 = self._vertices[index + 1]
            if math.hypot(x2 - x0, y2 - y0) >= distance_mm and end > at:
                # Where the segment leaves the circle round the start.
                ux, uy = (x2 - x1) / (end - at), (y2 - y1) / (end - at)
                along = (x1 - x0) * ux + (y1 - y0) * uy
                across2 = max((x1 - x0) ** 2 + (y1 - y0) ** 2 - along * along, 0.0)
                way = math.sqrt(max(distance_mm * distance_mm - across2, 0.0)) - along
                found = before + at + way
                if found > most:
                    return None
                return found, (x1 + ux * way, y1 + uy * way)
            at, x1, y1 = end, x2, y2
            index += 1
            if index == len(self._vertices) - 1:
                if not self.track.closed:
                    return None
                index, before, at = 0, before + self.track.length, 0.0

    def _segment(self, s: float) -> tuple[int, float]:
        """Return the segment that holds a position, and where the turn it is in began."""
        length = self.track.length
        before = math.floor(s / length) * length if self.track.closed else 0.0
        index = bisect_right(self._lengths, s - before) - 1
        return min(max(index, 0), len(self._lengths) - 2), before

    def _on(self, index: int, s: float) -> Point:
        (s1, x1, y1), (s2, x2, y2) = self._vertices[index : index + 2]
        share = (min(max(s, s1), s2) - s1) / (s2 - s1)
        return x1 + share * (x2 - x1), y1 + share * (y2 - y1)

"""What stands near a stretch of a row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Standing
from embellish.geometry.rows.bodies import Bodies, Lined
from embellish.geometry.rows.spans import Course, Spans


@dataclass(frozen=True, eq=False)
class Near:
    """What stays, by place: a tree of what stood at first, and boxes of what was added."""

    bodies: Bodies
    first: Standing
    tree: cKDTree
    added: list[Lined]
    boxes: list[Floats]

    @classmethod
    def of(cls, bodies: Bodies, kept: Lined, others: Standing) -> Near:
        """Gather pieces that stay and what stood before them."""
        first = all_standing(bodies, kept, others)
        return cls(bodies, first, cKDTree(first.xy), [], [])

    def add(self, laid: Lined) -> None:
        """Take pieces of a span that was laid anew."""
        if len(laid):
            self.added.append(laid)
            self.boxes.append(np.concatenate([laid.xy.min(axis=0), laid.xy.max(axis=0)]))

    def around(self, course: Course, span: Spans) -> Standing:
        """Return what may stand in the way of a span."""
        ends = np.array([span.start[0], span.end[0]])
        inner = course.track.vertices_between(ends[0], ends[1])
        xy = np.concatenate([course.track.at(ends), inner])
        reach = float(self.bodies.reach.max())
        if len(self.first):
            reach += float(self.first.reach_mm.max())
        low, high = (
            xy.min(axis=0) - reach - 2 * course.asked,
            xy.max(axis=0) + reach + 2 * course.asked,
        )
        far = 0.5 * float(np.hypot(*(high - low)))
        found = self.tree.query_ball_point(0.5 * (low + high), far, return_sorted=True)
        index = np.array(found, dtype=np.int64)
        inside = ((self.first.xy[index] >= low) & (self.first.xy[index] <= high)).all(axis=1)
        standing = some_standing(self.first, index[inside])
        if not self.boxes:
            return standing
        boxes = np.array(self.boxes)
        met = (boxes[:, :2] <= high).all(axis=1) & (boxes[:, 2:] >= low).all(axis=1)
        more = [self.added[number] for number in np.flatnonzero(met).tolist()]
        return all_standing(self.bodies, Lined.none().joined(*more), standing)


def all_standing(bodies: Bodies, kept: Lined, others: Standing) -> Standing:
    """Return pieces of the row and what stood before as one."""
    mine = bodies.standing(kept)
    return Standing(
        np.concatenate([mine.xy, others.xy]),
        np.concatenate([mine.angle_deg, others.angle_deg]),
        np.concatenate([mine.footprint, others.footprint + len(mine.footprints)]),
        mine.footprints + others.footprints,
    )


def some_standing(standing: Standing, which: Bools | Ints) -> Standing:
    """Return some of what stands."""
    return Standing(
        standing.xy[which],
        standing.angle_deg[which],
        standing.footprint[which],
        standing.footprints,
    )

"""Walls: what points of a room keep off, so that any step can be asked what it would hit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.insets import Room
from embellish.geometry.regions import areal
from embellish.units import LAY_SLACK_MM


@dataclass(frozen=True, eq=False)
class Walls:
    """What points keep off: stretches of edge, and points, each with its distance beyond a radius.

    Stretches run so that free ground lies to the left of them, in a frame with y up.

    Parameters
    ----------
    start, end : arrays of shape (s, 2)
        The ends of each straight stretch; equal for a point.
    keep_mm : array of shape (s,)
        Distance kept beyond the radius of the piece.
    hollow : bool array of shape (s, 2)
        Whether free ground fills less than half the turn about the start, and about the end.
    """

    start: Floats
    end: Floats
    keep_mm: Floats
    hollow: Bools
    tree: shapely.STRtree

    @classmethod
    def of(cls, room: Room) -> Walls:
        """Return the walls of a room."""
        starts, ends, keeps, hollows = [], [], [], []
        grounds = [(room.region, room.edge_mm, 1.0)]
        if room.keep_out is not None and not room.keep_out.is_empty:
            grounds.append((areal(room.keep_out), 0.0, -1.0))
        for ground, keep, side in grounds:
            tidy = shapely.orient_polygons(ground, exterior_cw=side < 0.0)
            for ring in shapely.get_rings(shapely.get_parts(tidy)):
                xy = shapely.get_coordinates(ring)
                step = np.diff(xy, axis=0)
                last = np.roll(step, 1, axis=0)
                turn = last[:, 0] * step[:, 1] - last[:, 1] * step[:, 0] >= 0.0
                starts.append(xy[:-1])
                ends.append(xy[1:])
                keeps.append(np.full(len(step), keep))
                hollows.append(np.stack([turn, np.roll(turn, -1)], axis=1))
        starts.append(room.others_xy)
        ends.append(room.others_xy)
        keeps.append(room.others_reach_mm)
        hollows.append(np.zeros((len(room.others_xy), 2), dtype=np.bool_))
        start, end = np.concatenate(starts), np.concatenate(ends)
        lines = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
        keep_mm = np.concatenate(keeps) + LAY_SLACK_MM
        return cls(start, end, keep_mm, np.concatenate(hollows), shapely.STRtree(lines))

    def near(self, xy: Floats, radius_mm: Floats, step_mm: float) -> tuple[Ints, Floats, Floats]:
        """Return what could be hit by a step: the point, the way out of the wall, the room left."""
        look = radius_mm + float(self.keep_mm.max(initial=0.0)) + 1.5 * step_mm
        at, wall = self.tree.query(shapely.points(xy), predicate="dwithin", distance=look)
        line = self.end[wall] - self.start[wall]
        to = xy[at] - self.start[wall]
        square = np.maximum((line * line).sum(axis=1), 1e-300)
        t = np.clip((line * to).sum(axis=1) / square, 0.0, 1.0)
        away = to - t[:, None] * line
        apart = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-12)
        need = radius_mm[at] + self.keep_mm[wall]
        out = away / apart[:, None]
        # Before a hollow corner the whole line is in the way, and one may slide along it.
        left = np.stack([-line[:, 1], line[:, 0]], axis=1) / np.sqrt(square)[:, None]
        beside = (to * left).sum(axis=1)
        end = np.where(t <= 0.0, self.hollow[wall, 0], self.hollow[wall, 1])
        slides = ((t <= 0.0) | (t >= 1.0)) & end & (beside >= need)
        out[slides] = left[slides]
        some = apart - need < 1.5 * step_mm
        room = np.where(slides, beside, apart) - need
        return at[some], out[some], room[some]

"""Scattering one piece that is not round: turned at random, by its true outline.

Candidates are strewn wherever the piece's inner circle has room, each with its own turn, and stand
where its true outline keeps gap and edge; round after round, until hardly any more is found.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats
from embellish.geometry.clashes import survivors
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.gaps.chains import signed_distance
from embellish.geometry.gaps.gaps import neighbour_gaps, neighbour_gaps_between
from embellish.geometry.insets import Room
from embellish.geometry.poisson import Obstacles, maximal_points
from embellish.geometry.streams import Stream
from embellish.layout.ways.way import Progress
from embellish.units import LAY_SLACK_MM

_ROUNDS: Final = 60
_COARSE: Final = 4
_ENOUGH: Final = 4
"""Rounds in a row that find next to nothing, after which the region counts as full."""
_LITTLE: Final = 0.001


def scattered(
    room: Room,
    footprint: Footprint,
    gap_mm: float,
    turn_deg: float | None,
    stream: Stream,
    progress: Progress,
) -> tuple[Floats, Floats]:
    """Return places and turns of pieces strewn until hardly any more fits.

    Parameters
    ----------
    room
        The region, its edge margin, and what else to keep off (by the circle about the piece).
    footprint
        The piece.
    gap_mm
        Free distance between outlines.
    turn_deg
        The turn of all pieces, or None: each at random.
    stream
        All randomness comes from here.
    progress
        Told how far it is.

    Returns
    -------
    xy : array of shape (n, 2)
    angle_deg : array of shape (n,)
    """
    inner = inner_radius(footprint)
    ground = room.centres(inner, safe=False)
    stand = Standing(np.zeros((0, 2)), np.zeros(0), np.zeros(0, dtype=np.int64), (footprint,))
    idle = 0
    for turn in range(_ROUNDS):
        own = stream.child(f"round {turn}")
        stood = Obstacles(stand.xy, np.full(len(stand), 2.0 * inner + gap_mm))
        # First far enough apart that most do not hinder each other, then thickly, in what is left.
        apart = inner + footprint.reach_mm + gap_mm
        xy = maximal_points(ground, apart if turn < _COARSE else apart / 4.0, own, stood)
        angle = np.full(len(xy), turn_deg or 0.0)
        if turn_deg is None:
            angle = np.round(360.0 * own.child("turn").uniform(0, len(xy)), 6)
        some = Standing(xy, angle, np.zeros(len(xy), dtype=np.int64), (footprint,))
        good = _fits(some, stand, room, gap_mm + LAY_SLACK_MM)
        stand = Standing(
            np.concatenate([stand.xy, xy[good]]),
            np.concatenate([stand.angle_deg, angle[good]]),
            np.zeros(len(stand) + int(good.sum()), dtype=np.int64),
            (footprint,),
        )
        progress((turn + 1) / _ROUNDS)
        idle = idle + 1 if good.sum() <= _LITTLE * len(stand) else 0
        if not len(xy) or idle == _ENOUGH:
            break
    return stand.xy, stand.angle_deg


def inner_radius(footprint: Footprint) -> float:
    """Return the radius of a circle about the seat's centre that the piece covers."""
    origin = np.zeros(1)
    depth = [float(-signed_distance(part.in_place, origin, origin)[0]) for part in footprint.parts]
    return max(0.2 * footprint.reach_mm, 0.999 * max(depth))


def _fits(some: Standing, stand: Standing, room: Room, gap_mm: float) -> Bools:
    """Tell which candidates keep their gap to all that stands, the edge, and each other."""
    edge = edge_clearance(
        some.xy,
        some.angle_deg,
        some.footprint,
        some.footprints,
        room.region,
        within_mm=room.edge_mm + 1.0,
    )
    good = edge >= room.edge_mm + LAY_SLACK_MM
    reach = some.reach_mm
    good &= room.clear_of_others(some.xy, reach)
    if room.keep_out is not None and not room.keep_out.is_empty:
        away = shapely.distance(room.keep_out, shapely.points(some.xy))
        good &= away >= reach + LAY_SLACK_MM
    if len(stand) and len(some):
        pairs, _ = neighbour_gaps_between(some, stand, gap_mm)
        good[pairs[:, 0]] = False
    index = np.flatnonzero(good)
    pairs, _ = neighbour_gaps(
        some.xy[index], some.angle_deg[index], some.footprint[index], some.footprints, gap_mm
    )
    good[index] = survivors(len(index), pairs, np.arange(len(index))[::-1])
    return good

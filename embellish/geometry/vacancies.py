"""Vacancies: where among standing points another still has room, and which of a crowd must go."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from scipy.spatial import Voronoi, cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.settling import neighbours

_EDGE_STEP: Final = 0.04


def first_come(xy: Floats, half_mm: Floats, rank: Floats, factor: Floats | float = 1.0) -> Bools:
    """Tell which points stay when those of lower rank stand first and drop what is too near.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points.
    half_mm : array of shape (n,)
        Half the distance each keeps to its likes.
    rank : array of shape (n,)
        Lower stays; equal ranks go by order.
    factor : number or array of shape (n,)
        What share of the distance is enough; of a pair the larger counts.
    """
    keep = np.ones(len(xy), dtype=np.bool_)
    if len(xy) < 2:
        return keep
    i, j = neighbours(xy, half_mm, 0.0)
    step = xy[i] - xy[j]
    share = np.broadcast_to(np.asarray(factor, dtype=np.float64), (len(xy),))
    need = (half_mm[i] + half_mm[j]) * np.maximum(share[i], share[j])
    near = np.hypot(step[:, 0], step[:, 1]) < need
    place = np.empty(len(xy), dtype=np.int64)
    place[np.argsort(rank, kind="stable")] = np.arange(len(xy))
    early = np.where(place[i] < place[j], i, j)[near]
    late = np.where(place[i] < place[j], j, i)[near]
    # In order of the earlier one: when its turn comes it is known whether it stands itself.
    for at in np.lexsort((place[late], place[early])):
        if keep[early[at]]:
            keep[late[at]] = False
    return keep


def filled_holes(xy: Floats, half_mm: Floats, centres: BaseGeometry, new_half_mm: float) -> Floats:
    """Return points that still have room, the roomiest first, each counted before the next.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points that stand.
    half_mm : array of shape (n,)
        Half the distance each keeps.
    centres
        Region of centres for the new ones.
    new_half_mm
        Half the distance the new ones keep to one another and, with ``half_mm``, to the others.

    Returns
    -------
    array of shape (k, 2)
    """
    if centres.is_empty:
        return np.zeros((0, 2))
    shapely.prepare(centres)
    edge = _edge_points(centres, _EDGE_STEP * 2.0 * new_half_mm)
    added = np.zeros((0, 2))
    while True:
        standing = np.concatenate([xy, added])
        half = np.concatenate([half_mm, np.full(len(added), new_half_mm)])
        spots = np.concatenate([_corners_between(standing), edge])
        spots = spots[shapely.intersects_xy(centres, spots[:, 0], spots[:, 1])]
        room = _room(spots, standing, half) - new_half_mm
        roomy = np.flatnonzero(room >= 0.0)
        if not len(roomy):
            return added
        spots, room = spots[roomy], room[roomy]
        # Rounded, so that of places equally roomy but for noise the first in order wins.
        fresh = first_come(spots, np.full(len(spots), new_half_mm), -np.round(room, 9))
        added = np.concatenate([added, spots[fresh]])


def _corners_between(xy: Floats) -> Floats:
    """Return the Voronoi corners of points: the places furthest from all around them."""
    if len(xy) < 4 or np.linalg.matrix_rank(xy - xy.mean(axis=0), tol=1e-6) < 2:
        return np.zeros((0, 2))
    return np.asarray(Voronoi(xy).vertices, dtype=np.float64)


def _edge_points(centres: BaseGeometry, step_mm: float) -> Floats:
    """Return points along the edge of a region, its vertices among them."""
    dense = shapely.segmentize(centres, step_mm)
    return np.concatenate([shapely.get_coordinates(dense), _inner_points(centres)])


def _inner_points(centres: BaseGeometry) -> Floats:
    """Return a point within each part, for parts too small for anything else."""
    return shapely.get_coordinates(shapely.point_on_surface(shapely.get_parts(centres)))


def _room(spots: Floats, xy: Floats, half_mm: Floats) -> Floats:
    """Return how far each spot is from the nearest standing point, less that one's half."""
    room = np.full(len(spots), np.inf)
    for half in np.unique(half_mm):
        nearest, _ = cKDTree(xy[half_mm == half]).query(spots)
        room = np.minimum(room, nearest - half)
    return room


def worst_crowded(xy: Floats, half_mm: Floats, fixed: Bools, apart: float = 3.0) -> Ints:
    """Return the most crowded points, no two of them near one another: the ones to take out.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points, some nearer than they should.
    half_mm : array of shape (n,)
        Half the distance each keeps.
    fixed : bool array of shape (n,)
        Points that stay.
    apart
        How many diameters two of the result are apart.
    """
    i, j = neighbours(xy, half_mm, 0.0)
    step = xy[i] - xy[j]
    lack = np.maximum(half_mm[i] + half_mm[j] - np.hypot(step[:, 0], step[:, 1]), 0.0)
    load = np.bincount(i, lack, len(xy)) + np.bincount(j, lack, len(xy))
    load[fixed] = 0.0
    if not load.any():
        return np.zeros(0, dtype=np.int64)
    bad = np.flatnonzero(load > 0.4 * load.max())
    return bad[first_come(xy[bad], apart * half_mm[bad], -np.round(load[bad], 9))]

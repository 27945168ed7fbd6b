"""Ways under pieces: from mark to mark without cutting the thread, where no straight line hides.

A thread may go from piece to piece as long as no stretch of it shows further than allowed. Seats
are the nodes, hidden steps between neighbours the edges; the shortest way along them is taken
where it costs less time than to cut and start again.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints
from embellish.plans.stitching.covers import Covers

_NEAR: Final = 8
"""Neighbours a thread may go to from a piece."""


class HiddenWays:
    """The steps between marked seats that hardly show."""

    def __init__(self, covers: Covers, visible_mm: float) -> None:
        self.covers = covers
        self.visible_mm = visible_mm
        count = len(covers.places)
        self._steps = csr_matrix((count, count), dtype=np.float64)
        self._tree = cKDTree(covers.places)
        near = min(_NEAR, count - 1)
        if near < 1:
            return
        to = np.asarray(self._tree.query(covers.places, k=near + 1)[1])
        one, two = np.repeat(np.arange(count), near + 1), to.ravel()
        pair = np.unique(np.sort(np.stack([one, two], axis=1)[one != two], axis=1), axis=0)
        start, end = covers.places[pair[:, 0]], covers.places[pair[:, 1]]
        # Rounded, so that no step hangs on the last bits of a sine.
        hidden = np.round(covers.shown_mm(start, end), 4) <= visible_mm
        pair, length = pair[hidden], np.hypot(*(end - start)[hidden].T)
        # Two seats in one place touch: a step of no length would be none.
        rows = (np.maximum(length, 1e-6), (pair[:, 0], pair[:, 1]))
        self._steps = csr_matrix(rows, shape=(count, count))

    def seats_at(self, places: Floats) -> Ints:
        """Return the nearest seat that a thread gets to from each place unseen, -1 for none."""
        near = min(3, len(self.covers.places))
        found = np.full(len(places), -1, dtype=np.int64)
        if not near or not len(places):
            return found
        seats = np.asarray(self._tree.query(places, k=near)[1]).reshape(len(places), near)
        for rank in range(near - 1, -1, -1):
            seat = seats[:, rank]
            shown = self.covers.shown_mm(places, self.covers.places[seat])
            hidden = np.round(shown, 4) <= self.visible_mm
            found[hidden] = seat[hidden]
        return found

    def lengths(self, first: Ints, last: Ints, most_mm: float) -> Floats:
        """Return how long the ways between seats are, shape (n, m), infinite above ``most_mm``."""
        away = np.full((len(first), len(last)), np.inf)
        known = np.flatnonzero(first >= 0)
        if len(known) and (last >= 0).any():
            rows = dijkstra(self._steps, directed=False, indices=first[known], limit=most_mm)
            away[known] = np.where(last >= 0, np.round(rows[:, last], 4), np.inf)
        return away

    def way(self, first: int, last: int, most_mm: float) -> Floats | None:
        """Return the places a thread passes between two seats, both with it, or None."""
        if first < 0 or last < 0:
            return None
        start = np.array([first])
        found, came = dijkstra(
            self._steps, directed=False, indices=start, return_predecessors=True, limit=most_mm
        )
        if not np.isfinite(found[0, last]):
            return None
        before = came[0]
        nodes = [last]
        while nodes[-1] != first:
            nodes.append(int(before[nodes[-1]]))
        places: Floats = self.covers.places[np.array(nodes[::-1], dtype=np.int64)]
        return places

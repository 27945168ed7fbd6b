"""Short open tours through points: greedy edges, then 2-opt and Or-opt over near neighbours.

Bentley 1992, "Fast algorithms for geometric traveling salesman problems"; Or 1976; Johnson &
McGeoch 1997, "The traveling salesman problem: a case study in local optimization". All candidate
moves of a round are judged at once as arrays and the best that do not touch each other are made,
best first, ties by number, so that the same points give the same tour.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Bools, Floats, Ints

Extra = Callable[[Ints, Ints], Floats]
"""What a step between two points costs beside its length, in mm; symmetric, never negative."""

NEIGHBOURS: Final = 10
_LEAST_GAIN: Final = 1e-6


def no_extra(i: Ints, j: Ints) -> Floats:
    """Return that steps cost their length alone."""
    del j
    return np.zeros(i.shape)


def tour_length(xy: Floats, order: Ints, *, closed: bool = False) -> float:
    """Return the length of the tour through points of shape (n, 2) in this order."""
    path = xy[order]
    if closed:
        path = np.concatenate([path, path[:1]])
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


class _Tour:
    """A round trip being shortened.

    An open path is a round trip over one more node, the gate, that is near to everything: the
    path's two ends are the gate's neighbours. A given start is tied to the gate.
    """

    def __init__(
        self, xy: Floats, extra: Extra, *, given: int, start: int | None, closed: bool = False
    ) -> None:
        self.xy = xy
        self.surcharge = extra
        self.given = given
        self.start = start
        self.gate = -1 if closed else len(xy)
        self.count = len(xy) + (0 if closed else 1)
        near = min(NEIGHBOURS, len(xy) - 1)
        to = np.asarray(cKDTree(xy).query(xy, k=near + 1)[1])
        # A point among equals may not come first in its own list: whatever stands where it should.
        own = np.arange(len(xy))[:, None]
        at = np.where((to == own).any(axis=1), np.argmax(to == own, axis=1), near)
        keep = np.arange(near + 1)[None, :] != at[:, None]
        self.near: Ints = to[keep].reshape(len(xy), near).astype(np.int64)
        self.tour: Ints = np.zeros(0, dtype=np.int64)
        self.place: Ints = np.zeros(0, dtype=np.int64)

    def cost(self, i: Ints, j: Ints) -> Floats:
        """Return the cost of going straight between nodes."""
        last = len(self.xy) - 1
        a, b = np.minimum(i, last), np.minimum(j, last)
        step = self.xy[a] - self.xy[b]
        cost = np.hypot(step[..., 0], step[..., 1])
        real = (i < self.given) & (j < self.given)
        cost[real] += self.surcharge(i[real], j[real])
        if self.gate >= 0:
            cost[(i == self.gate) | (j == self.gate)] = 0.0
        return cost

    def tied(self, i: Ints, j: Ints) -> Bools:
        """Return which edges tie the start to the gate and must stay."""
        if self.start is None:
            return np.zeros(i.shape, dtype=np.bool_)
        tied: Bools = (i == self.gate) & (j == self.start) | (j == self.gate) & (i == self.start)
        return tied

    def solved(self) -> Ints:
        """Return the order of the points, from the start of an open path."""
        path = self._greedy()
        if self.start is not None and path[-1] == self.start:
            path = path[::-1]
        self.tour = np.concatenate([path, [self.gate]]) if self.gate >= 0 else path.copy()
        self.place = np.empty_like(self.tour)
        self.place[self.tour] = np.arange(self.count)
        self._improve()
        if self.gate < 0:
            return self.tour
        order = np.roll(self.tour, -int(self.place[self.gate]))[1:]
        return order[::-1] if self.start is not None and order[-1] == self.start else order

    def _greedy(self) -> Ints:
        """Return a path of cheapest edges first: pieces of path are grown and joined."""
        count = len(self.xy)
        links = np.full((count, 2), -1, dtype=np.int64)
        chain = list(range(count))
        room = np.full(count, 2)
        if self.start is not None:
            room[self.start] = 1
        free = np.arange(count)
        candidates = self.near
        while True:
            i = np.repeat(free, candidates.shape[1])
            j = candidates.ravel()
            one, two = np.minimum(i, j), np.maximum(i, j)
            keys = np.unique((one * count + two)[one != two])
            one, two = keys // count, keys % count
            cheap = np.argsort(self.cost(one, two), kind="stable")
            left = room.tolist()
            for a, b in zip(one[cheap].tolist(), two[cheap].tolist(), strict=True):
                if left[a] and left[b] and (root := _root(chain, a)) != (other := _root(chain, b)):
                    chain[root] = other
                    for x, y in ((a, b), (b, a)):
                        links[x, 0 if links[x, 0] < 0 else 1] = y
                        left[x] -= 1
            room = np.array(left)
            parts = np.array([_root(chain, node) for node in range(count)])
            free = np.flatnonzero(room > 0)
            if len(np.unique(parts)) == 1:
                return _walked(links, self.start)
            candidates = self._between(free, parts)

    def _between(self, free: Ints, parts: Ints) -> Ints:
        """Return for each free end the nearest free ends; more of them where all were its own."""
        near = min(NEIGHBOURS, len(free))
        tree = cKDTree(self.xy[free])
        while True:
            _, to = tree.query(self.xy[free], k=near)
            to = free[to.reshape(len(free), near)]
            if (parts[to] != parts[free][:, None]).any():
                return to
            near = min(2 * near, len(free))

    def _improve(self) -> None:
        active = np.arange(len(self.xy))
        while len(active):
            moves = self._moves(active)
            touched = [nodes for nodes in moves if self._made(nodes)]
            if not touched:
                return
            hit = np.unique(np.array([node for nodes in touched for node in nodes[:-1]]))
            hit = hit[(hit >= 0) & (hit < len(self.xy))]
            around = np.concatenate([hit, self.near[hit].ravel()])
            active = np.unique(around)

    def _succ(self, nodes: Ints) -> Ints:
        return self.tour[(self.place[nodes] + 1) % self.count]

    def _pred(self, nodes: Ints) -> Ints:
        return self.tour[(self.place[nodes] - 1) % self.count]

    def _moves(self, active: Ints) -> list[tuple[int, ...]]:
        """Return the best move of each node, best first.

        A 2-opt move is (a, b, c, d, 0): edges ab and cd give way to ac and bd. An Or-opt move is
        (p, s, t, n, c, e, kind): the run s..t between p and n goes between c and e.
        """
        a = np.repeat(active, self.near.shape[1])
        c = self.near[active].ravel()
        to_c = self.cost(a, c)
        gains, moves = [], []
        for step in (self._succ, self._pred):
            b, d = step(a), step(c)
            gain = self.cost(a, b) + self.cost(c, d) - to_c - self.cost(b, d)
            gain[(c == b) | (a == d) | self.tied(a, b) | self.tied(c, d)] = -1.0
            gains.append(gain)
            moves.append(np.stack([a, b, c, d, *[np.full_like(a, -1)] * 3], axis=1))
        for away, back in ((self._succ, self._pred), (self._pred, self._succ)):
            tail = a
            inside = np.zeros(len(a), dtype=np.bool_)
            for _ in range(3):
                inside = inside | (tail == c)
                p, n = back(a), away(tail)
                freed = self.cost(p, a) + self.cost(tail, n) - self.cost(p, n)
                stay = self.tied(p, a) | self.tied(tail, n)
                for beside in (self._succ, self._pred):
                    e = beside(c)
                    gain = freed + self.cost(c, e) - to_c - self.cost(tail, e)
                    # The edge ce must lie outside the run and be none of the two cut.
                    bad = inside | (e == a) | (e == tail) | (p == tail) | (n == p) | (n == a)
                    gain[bad | stay | self.tied(c, e)] = -1.0
                    gains.append(gain)
                    moves.append(np.stack([p, a, tail, n, c, e, np.zeros_like(a)], axis=1))
                tail = away(tail)
        return self._best(np.array(gains), np.array(moves), len(active))

    def _best(self, gain: Floats, move: Ints, nodes: int) -> list[tuple[int, ...]]:
        # kinds x (nodes x neighbours) -> one row a node.
        gain = gain.reshape(len(gain), nodes, -1).transpose(1, 0, 2).reshape(nodes, -1)
        move = move.reshape(len(move), nodes, -1, 7).transpose(1, 0, 2, 3).reshape(nodes, -1, 7)
        best = np.argmax(gain, axis=1)
        rows = np.arange(nodes)
        gains = gain[rows, best]
        good = np.flatnonzero(gains > _LEAST_GAIN)
        good = good[np.argsort(-gains[good], kind="stable")]
        return [tuple(row) for row in move[good, best[good]].tolist()]

    def _made(self, move: tuple[int, ...]) -> bool:
        """Make a move if its edges still stand; tell whether it was made."""
        place, count = self.place, self.count
        if move[-1] < 0:
            a, b, c, d = move[:4]
            return self._swapped(a, b, c, d)
        p, s, t, n, c, e, _ = move
        way = 1 if (place[s] - place[p]) % count == 1 else -1
        if (place[s] - place[p]) * way % count != 1 or (place[n] - place[t]) * way % count != 1:
            return False
        run = int((place[t] - place[s]) * way % count)
        if run > 2 or int((place[e] - place[c]) % count) not in (1, count - 1):
            return False
        for node in (c, e):
            if int((place[node] - place[s]) * way % count) <= run:
                return False
        # Seen along `way`: ... p s..t n ... x y ..., where {x, y} = {c, e}.
        x, y = (c, e) if (place[e] - place[c]) * way % count == 1 else (e, c)
        # p s..t n..x y -> p x..n t..s y -> p n..x t..s y: now t follows x.
        self._swapped(p, s, x, y)
        if n != x:
            self._swapped(p, x, n, t)
        if x == c and s != t:
            self._swapped(x, t, s, y)
        return True

    def _swapped(self, a: int, b: int, c: int, d: int) -> bool:
        """Replace edges ab and cd by ac and bd, if both stand the same way round."""
        place, count = self.place, self.count
        if (place[b] - place[a]) % count == 1 and (place[d] - place[c]) % count == 1:
            self._reverse(int(place[b]), int(place[c]))
            return True
        if (place[a] - place[b]) % count == 1 and (place[c] - place[d]) % count == 1:
            self._reverse(int(place[a]), int(place[d]))
            return True
        return False

    def _reverse(self, first: int, last: int) -> None:
        """Reverse the places first..last, or all others, whichever are fewer."""
        count = self.count
        length = (last - first) % count + 1
        if 2 * length > count:
            first, last, length = (last + 1) % count, (first - 1) % count, count - length
        if first + length <= count:
            self.tour[first : first + length] = self.tour[first : first + length][::-1].copy()
            self.place[self.tour[first : first + length]] = np.arange(first, first + length)
            return
        at = np.arange(first, first + length) % count
        self.tour[at] = self.tour[at][::-1]
        self.place[self.tour[at]] = at


def _root(chain: list[int], node: int) -> int:
    while chain[node] != node:
        chain[node] = chain[chain[node]]
        node = chain[node]
    return node


def _walked(links: Ints, start: int | None) -> Ints:
    """Return the nodes of one path from its links, from the given end or the first there is."""
    ends = np.flatnonzero(links[:, 1] < 0)
    node = int(ends[0]) if start is None else start
    pairs = links.tolist()
    path, before = [node], -1
    while len(path) < len(pairs):
        one, two = pairs[node]
        node, before = (two if one == before else one), node
        path.append(node)
    return np.array(path, dtype=np.int64)


def open_path(xy: Floats, start: Floats | None = None, *, extra: Extra = no_extra) -> Ints:
    """Return a short order of points (n, 2), begun near ``start`` and ended anywhere."""
    count = len(xy)
    points = xy if start is None else np.concatenate([xy, np.asarray(start)[None]])
    if count < 3:
        away = np.zeros(count) if start is None else np.hypot(*(xy - start).T)
        return np.argsort(away, kind="stable")
    tour = _Tour(points, extra, given=count, start=None if start is None else count)
    order = tour.solved()
    return order[order < count]


def closed_tour(xy: Floats, *, extra: Extra = no_extra) -> Ints:
    """Return a short round trip through points (n, 2)."""
    if len(xy) < 4:
        return np.arange(len(xy))
    return _Tour(xy, extra, given=len(xy), start=None, closed=True).solved()

"""Points joined by edges, as a medial axis comes: its chains between ends and joints."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from embellish.arrays import Floats, Ints


@dataclass(frozen=True, eq=False)
class Graph:
    """Points and edges.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points.
    radius : array of shape (n,)
        Distance of each to the outline.
    edges : array of shape (e, 2)
        Pairs of indices, each once, the lower first.
    """

    xy: Floats
    radius: Floats
    edges: Ints

    @property
    def degree(self) -> Ints:
        """How many edges each point has."""
        return np.bincount(self.edges.ravel(), minlength=len(self.xy)).astype(np.int64)

    def length(self, nodes: Ints) -> float:
        """Return the length of the way along some points."""
        step = np.diff(self.xy[nodes], axis=0)
        return float(np.hypot(step[:, 0], step[:, 1]).sum())

    def without(self, nodes: Ints) -> Graph:
        """Return the graph without the edges of some points."""
        gone = np.zeros(len(self.xy), dtype=np.bool_)
        gone[nodes] = True
        return Graph(self.xy, self.radius, self.edges[~gone[self.edges].any(axis=1)])


def traced(graph: Graph) -> tuple[list[tuple[Ints, bool]], Ints]:
    """Return the chains of a graph and its joints.

    Returns
    -------
    chains
        The points along each chain between points of one, three or more edges, and whether it is
        closed (then the last repeats the first, and no joint is on it).
    joints : array of shape (k,)
        Points of three or more edges.
    """
    near: dict[int, list[int]] = {}
    for a, b in graph.edges.tolist():
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    chains: list[tuple[Ints, bool]] = []
    seen: set[tuple[int, int]] = set()
    stops = [node for node in sorted(near) if len(near[node]) != 2]
    for start in stops:
        # Each walk adds to what is seen, so one after the other.
        chains.extend(
            (_walk(near, start, second, seen), False)
            for second in near[start]
            if (start, second) not in seen
        )
    on_way = {node for edge in seen for node in edge}
    for start in sorted(near):
        if start not in on_way:
            chains.append((_walk(near, start, near[start][0], seen), True))
            on_way.update(chains[-1][0].tolist())
    joints = np.array([node for node in stops if len(near[node]) > 2], dtype=np.int64)
    return chains, joints


def _walk(near: dict[int, list[int]], start: int, second: int, seen: set[tuple[int, int]]) -> Ints:
    """Follow edges until a point that is not just passed through."""
    nodes = [start, second]
    while nodes[-1] != start and len(near[nodes[-1]]) == 2:
        a, b = near[nodes[-1]]
        nodes.append(b if a == nodes[-2] else a)
    for a, b in pairwise(nodes):
        seen.add((a, b))
        seen.add((b, a))
    return np.array(nodes, dtype=np.int64)

"""Points joined by edges, as a medial axis comes: its chains between ends and joints."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from embellish.arrays import Floats, Ints


@dataclass(frozen=True, eq=False)
class Chain:
    """Points along a line between ends and joints.

    Parameters
    ----------
    nodes : array of shape (m,)
        Their indices; where it is closed the last repeats the first.
    closed
        Whether it runs round, with no joint on it.
    """

    nodes: Ints
    closed: bool = False

    @property
    def ends(self) -> tuple[int, int]:
        """The first point and the last."""
        return int(self.nodes[0]), int(self.nodes[-1])


def traced(count: int, edges: Ints) -> list[Chain]:
    """Return the chains of a graph.

    Parameters
    ----------
    count
        How many points there are.
    edges : array of shape (e, 2)
        Pairs of points, each once.
    """
    both = np.concatenate([edges, edges[:, ::-1]])
    both = both[np.lexsort((both[:, 1], both[:, 0]))]
    begin = np.searchsorted(both[:, 0], np.arange(count + 1)).tolist()
    near = both[:, 1].tolist()
    degree = np.diff(begin).tolist()
    seen = bytearray(count)
    gone: set[tuple[int, int]] = set()

    def walk(start: int, second: int) -> Ints:
        """Follow edges until a point that is not just passed through."""
        nodes, last, here = [start], start, second
        while here != start and degree[here] == 2:
            nodes.append(here)
            seen[here] = 1
            first = begin[here]
            last, here = here, near[first + 1] if near[first] == last else near[first]
        nodes.append(here)
        gone.update(((start, second), (here, last)))
        return np.array(nodes, dtype=np.int64)

    chains: list[Chain] = []
    for start in range(count):
        if degree[start] not in (0, 2):
            # Each walk adds to what is gone, so one after the other.
            chains.extend(
                Chain(walk(start, second))
                for second in near[begin[start] : begin[start + 1]]
                if (start, second) not in gone
            )
    for start in range(count):
        if degree[start] == 2 and not seen[start]:
            seen[start] = 1
            chains.append(Chain(walk(start, near[begin[start]]), closed=True))
    return chains


def joints_of(chains: list[Chain]) -> list[int]:
    """Return the points where three ends of chains or more meet, in order."""
    ends = _ends(chains)
    return sorted(node for node, count in ends.items() if count > 2)


def pruned(chains: list[Chain], xy: Floats, radius: Floats, prune: float) -> list[Chain]:
    """Return the chains without those that end and are no longer than a corner makes them.

    Parameters
    ----------
    chains
        All chains.
    xy : array of shape (n, 2)
        Points.
    radius : array of shape (n,)
        Distance of each to the outline.
    prune
        How long a chain must be to stay, in radii of the joint it leaves.
    """
    while True:
        ends = _ends(chains)
        left = [chain for chain in chains if not _short(chain, ends, xy, radius, prune)]
        if len(left) == len(chains):
            return chains
        chains = _run_on(left)


def _ends(chains: list[Chain]) -> Counter[int]:
    return Counter(node for chain in chains if not chain.closed for node in chain.ends)


def _short(chain: Chain, ends: Counter[int], xy: Floats, radius: Floats, prune: float) -> bool:
    """Tell whether a chain only leads from a joint to an end near by."""
    first, last = chain.ends
    if chain.closed or min(ends[first], ends[last]) != 1 or max(ends[first], ends[last]) < 3:
        return False
    step = np.diff(xy[chain.nodes], axis=0)
    length = float(np.hypot(step[:, 0], step[:, 1]).sum())
    return length < prune * float(radius[first if ends[last] == 1 else last])


def _run_on(chains: list[Chain]) -> list[Chain]:
    """Join chains where only two ends are left of a joint."""
    chains = list(chains)
    for node in sorted(node for node, count in _ends(chains).items() if count == 2):
        meeting = [chain for chain in chains if not chain.closed and node in chain.ends]
        chains = [chain for chain in chains if all(chain is not each for each in meeting)]
        if len(meeting) == 1:
            chains.append(Chain(meeting[0].nodes, closed=True))
            continue
        before, after = meeting
        into = before.nodes if before.ends[1] == node else before.nodes[::-1]
        out = after.nodes if after.ends[0] == node else after.nodes[::-1]
        chains.append(Chain(np.concatenate([into, out[1:]])))
    return chains

"""Letters that overlap made one shape, as a script is written in one stroke."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from embellish.arrays import Ints
from embellish.artwork.artwork import Path, Shape
from embellish.artwork.flatten import LINE_TOLERANCE_MM, region_of
from embellish.geometry.curves import chain_area, line_segments

_OVERLAP_MM2: Final = 1e-6
"""Letters that share less only touch."""


def united(shapes: Sequence[Shape]) -> tuple[Shape, ...]:
    """Return the letters with those that overlap united under the first one's id.

    A letter whose own outlines overlap, as in fonts drawn of strokes, is made one outline too.
    The others keep their curves; what is united is of lines finer than any machine's step.
    """
    regions = [region_of(shape, LINE_TOLERANCE_MM) for shape in shapes]
    result: list[Shape] = []
    for rows in _touching(regions):
        first = shapes[int(rows[0])]
        if len(rows) == 1 and not _crosses_itself(first, float(regions[rows[0]].area)):
            result.append(first)
            continue
        whole = shapely.union_all([regions[row] for row in rows])
        rings = shapely.get_rings(shapely.get_parts(whole))
        paths = tuple(
            Path(line_segments(shapely.get_coordinates(ring)), closed=True) for ring in rings
        )
        result.append(replace(first, paths=paths, fill_rule="evenodd"))
    return tuple(result)


def _touching(regions: Sequence[shapely.Geometry]) -> list[Ints]:
    """Return the letters in groups that hang together, in order of their first."""
    n = len(regions)
    tree = shapely.STRtree(regions)
    i, j = tree.query(regions, predicate="intersects")
    pairs = i < j
    i, j = i[pairs], j[pairs]
    if len(i):
        held = np.asarray(regions, dtype=object)
        over = shapely.area(shapely.intersection(held[i], held[j])) > _OVERLAP_MM2
        i, j = i[over], j[over]
    graph = coo_matrix((np.ones(len(i)), (i, j)), shape=(n, n))
    _, group = connected_components(graph, directed=False)
    _, first = np.unique(group, return_index=True)
    return [np.flatnonzero(group == group[row]) for row in np.sort(first)]


def _crosses_itself(shape: Shape, area: float) -> bool:
    """Tell whether outlines of one letter overlap: then their areas add up to more."""
    signed = abs(sum(chain_area(path.segments) for path in shape.paths))
    return signed > area * (1.0 + 1e-3) + _OVERLAP_MM2

"""The ways, by the name a job gives them. Adding a way is one file beside this and one entry."""

from __future__ import annotations

from embellish.layout.ways.border import BORDER
from embellish.layout.ways.centreline import CENTRELINE
from embellish.layout.ways.chain import CHAIN
from embellish.layout.ways.cluster import CLUSTER
from embellish.layout.ways.grid import GRID
from embellish.layout.ways.points import POINTS
from embellish.layout.ways.rings import RINGS
from embellish.layout.ways.row import ROW
from embellish.layout.ways.scatter import SCATTER
from embellish.layout.ways.way import Way

WAYS: dict[str, Way] = {
    way.name: way
    for way in (
        ROW,
        BORDER,
        RINGS,
        GRID,
        SCATTER,
        CENTRELINE,
        POINTS,
        CLUSTER,
        CHAIN,
    )
}

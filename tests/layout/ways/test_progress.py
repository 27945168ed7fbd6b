"""Ways that take long tell how far they are, often enough to be stopped soon."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely

from embellish.geometry.streams import Stream
from embellish.layout.ways.grid import GRID
from embellish.layout.ways.rings import RINGS
from embellish.layout.ways.scatter import SCATTER
from embellish.layout.ways.way import Ground
from tests.layout.ways.fill_cases import kit_of, shape_of

SQUARE = shapely.box(0.0, 0.0, 80.0, 60.0)
LONG = [
    (SCATTER, {"settle": 1.0}),
    (SCATTER, {"density": 0.74}),
    (RINGS, {}),
    (GRID, {"fit_edge": True}),
]


class _StoppedError(Exception):
    """What is told of progress has ended the work."""


@pytest.mark.parametrize(("way", "settings"), LONG)
def test_progress_is_told_often_and_only_goes_on(way, settings):
    shares: list[float] = []
    ground = Ground((shape_of(SQUARE, "square"),))
    way.lay(ground, kit_of(2.0), way.settings(**settings), Stream.of(1, "lay"), shares.append)
    assert len(shares) >= 15
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert all(later >= share - 1e-9 for share, later in pairwise(shares))


@pytest.mark.parametrize(("way", "settings"), LONG)
def test_who_is_told_may_stop_the_work(way, settings):
    def stop(share: float) -> None:
        if share > 0.3:
            raise _StoppedError

    ground = Ground((shape_of(SQUARE, "square"),))
    with pytest.raises(_StoppedError):
        way.lay(ground, kit_of(2.0), way.settings(**settings), Stream.of(1, "lay"), stop)

"""Every way tells how far it has come, and the slow ones not only at the end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from shapely import affinity

from embellish.catalogue.strung import Strung
from embellish.geometry.streams import Stream
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Ground
from tests.layout.ways.fill_cases import kit_of, shape_of

SQUARE = shapely.box(0.0, 0.0, 80.0, 60.0)
REGION = shapely.Polygon(
    shapely.Point(0, 0).buffer(15).exterior, [shapely.Point(4, 2).buffer(3).exterior]
)

LONG: dict[str, tuple[str, dict[str, object]]] = {
    "strewn": ("scatter", {}),
    "strewn and evened": ("scatter", {"settle": 1.0}),
    "to a density": ("scatter", {"density": 0.65}),
    "ringed": ("rings", {}),
}


LASTING: dict[str, tuple[str, dict[str, object]]] = {
    **{name: LONG[name] for name in ("strewn and evened", "ringed")},
    "to a great density": ("scatter", {"density": 0.74}),
    "fitted to the edge": ("grid", {"fit_edge": True}),
}
"""What would keep a newer state of a job waiting."""


class _StoppedError(Exception):
    """What is told of progress has ended the work."""


def lay(
    way: str,
    settings: dict[str, object],
    regions: list[shapely.Polygon],
    diameter: float,
    progress: Callable[[float], None],
) -> None:
    ground = Ground(tuple(shape_of(region, f"s{n}") for n, region in enumerate(regions)))
    chosen = WAYS[way].settings.model_validate(settings)
    kit = replace(kit_of(diameter, gap=0.3), strung=Strung(pitch_mm=1.4, least_bend_mm=2.0))
    WAYS[way].lay(ground, kit, chosen, Stream.of(3, "lay"), progress)


def told(way: str, settings: dict[str, object], shapes: int = 1) -> list[float]:
    seen: list[float] = []
    moved = [affinity.translate(REGION, 40.0 * n) for n in range(shapes)]
    lay(way, settings, moved, 1.2, seen.append)
    return seen


@pytest.mark.parametrize("way", sorted(WAYS))
def test_every_way_tells_each_shape_and_ends_at_the_whole(way: str):
    seen = told(way, {}, shapes=3)
    assert min(seen) >= 0.0
    assert max(seen) == seen[-1] == 1.0
    if way != "points":  # it does nothing that lasts
        assert len(set(seen)) >= 3


@pytest.mark.parametrize("name", LONG)
def test_slow_ways_tell_within_a_shape(name: str):
    seen = told(*LONG[name])
    assert len({share for share in seen if 0.0 < share < 1.0}) >= 3
    assert seen[-1] == 1.0


@pytest.mark.parametrize("name", LASTING)
def test_lasting_ways_tell_often_and_only_go_on(name: str):
    seen: list[float] = []
    lay(*LASTING[name], [SQUARE], 2.0, seen.append)
    assert len(seen) >= 15
    assert all(0.0 <= share <= 1.0 for share in seen)
    assert all(later >= share - 1e-9 for share, later in pairwise(seen))


@pytest.mark.parametrize("name", LASTING)
def test_who_is_told_may_stop_the_work(name: str):
    def stop(share: float) -> None:
        if share > 0.3:
            raise _StoppedError

    with pytest.raises(_StoppedError):
        lay(*LASTING[name], [SQUARE], 2.0, stop)

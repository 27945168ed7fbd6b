"""The tightest packing in awkward regions: everything inside, clear of what stands, and even."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.insets import Room
from embellish.geometry.streams import Stream
from embellish.geometry.tightest import Tightest, tightest_points
from tests.layout.ways.fill_cases import FILL_REGIONS

FEW: dict[str, Any] = {"starts": 4, "shakes": 2}
AWKWARD = sorted(set(FILL_REGIONS) - {"five thousand vertices", "sliver"})


def least_gap(found: Tightest, radius: np.ndarray) -> float:
    i, j = np.triu_indices(len(radius), 1)
    step = found.xy[i] - found.xy[j]
    return float((np.hypot(*step.T) - radius[i] - radius[j]).min())


@settings(max_examples=10, deadline=None)
@given(st.sampled_from(AWKWARD), st.integers(2, 14), st.floats(0.2, 1.0), st.integers(0, 99))
def test_all_stand_inside_and_the_gap_is_told_truly(name, count, small, seed):
    radius = np.where(np.arange(count) % 2, small, 1.0)
    room = Room(FILL_REGIONS[name], 0.2)
    found = tightest_points(room, radius, Stream.of(seed, "t"), starts=2, shakes=1)
    assert len(found.xy) == count
    assert room.holds(found.xy, radius, slack_mm=1e-6).all()
    assert found.gap_mm == pytest.approx(least_gap(found, radius), abs=1e-12)


def test_what_stands_and_what_is_kept_out_is_kept_clear_of():
    stood, hole = np.array([[10.0, 10.0], [30.5, 20.0]]), shapely.Point(20, 8).buffer(3)
    room = Room(FILL_REGIONS["square"], 0.5, hole, stood, np.full(2, 3.8))
    radius = np.full(9, 1.0)
    found = tightest_points(room, radius, Stream.of(1, "t"), **FEW)
    assert room.holds(found.xy, radius, slack_mm=1e-6).all()
    assert found.gap_mm > 5.0


def test_one_stands_in_the_middle_and_two_far_apart():
    room, radius = Room(shapely.box(0, 0, 40, 30)), np.full(1, 2.0)
    assert tightest_points(room, radius, Stream.of(1, "t")).xy[0] == pytest.approx([20, 15], abs=5)
    two = tightest_points(room, np.full(2, 2.0), Stream.of(1, "t"), **FEW)
    # From corner to corner of the region of centres.
    assert two.gap_mm == pytest.approx(np.hypot(36, 26) - 4.0, abs=1e-4)


def test_what_rattles_stands_in_the_middle_of_its_room():
    """In the best-known packing of seven in a square one is free."""
    room = Room(shapely.box(0, 0, 30, 30))
    found = tightest_points(room, np.full(7, 1.0), Stream.of(3, "t"), starts=8, shakes=2)
    gaps = np.sort(
        [np.sort(np.hypot(*(np.delete(found.xy, k, 0) - found.xy[k]).T))[0] - 2.0 for k in range(7)]
    )
    assert gaps[0] == pytest.approx(found.gap_mm)
    assert gaps[-1] > found.gap_mm + 0.1


def test_no_room_is_nothing_and_equal_calls_are_equal():
    none = tightest_points(Room(shapely.box(0, 0, 3, 3)), np.full(4, 2.0), Stream.of(1, "t"))
    assert len(none.xy) == 0
    room, radius = Room(FILL_REGIONS["star"]), np.full(6, 1.0)
    one, two = (tightest_points(room, radius, Stream.of(1, "t"), **FEW).xy for _ in range(2))
    assert one.tobytes() == two.tobytes()


def test_it_tells_how_far_it_is_and_can_be_stopped_there():
    room, radius = Room(FILL_REGIONS["square"], 0.2), np.ones(5)
    shares: list[float] = []
    found = tightest_points(room, radius, Stream.of(1, "t"), **FEW, progress=shares.append)
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] < 0.4 < shares[-1] <= 1.0
    alone = tightest_points(room, radius, Stream.of(1, "t"), **FEW)
    assert np.array_equal(found.xy, alone.xy)

    def stop(share: float) -> None:
        if share > 0.2:
            raise StopIteration

    with pytest.raises(StopIteration):
        tightest_points(room, radius, Stream.of(1, "t"), **FEW, progress=stop)

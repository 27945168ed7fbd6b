"""A mirrored layout covers the mirrored cloth: every piece whose form allows it, exactly."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.footprints import Footprint
from embellish.geometry.mirror_images import mirror_image
from embellish.geometry.outline_forms import own, pear
from embellish.geometry.outlines import Outline, placed, recentred, sampled
from embellish.geometry.transforms import Affine
from embellish.layout.mirroring import mirrored_seats

HEART = own([(0, -2, 0.3), (2, -3, 0.6), (4, 0, 0.1), (0, 5, 0.1), (-4, 0, 0.6), (-2, -3, 0.3)])[0]


def covered(outline: Outline, x: float, y: float, angle: float) -> shapely.Polygon:
    return shapely.Polygon(sampled(placed(outline, x, y, angle), 1e-4))


@pytest.mark.parametrize("lies", [0.0, 90.0, 31.0])
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(-50, 50), st.floats(-50, 50))
@settings(max_examples=25, deadline=None)
def test_what_is_covered_is_the_mirror_image(
    lies: float, angle: float, axis: float, x: float, y: float
):
    for form in (HEART, pear(8, 5)):
        outline = recentred(placed(form, 0.0, 0.0, lies))[0]
        mirror = Affine.reflect(axis, 3.0, -2.0)
        images = (mirror_image(Footprint.of(outline)),)
        sort = np.zeros(1, dtype=np.int64)
        xy, turned = mirrored_seats(np.array([[x, y]]), np.array([angle]), sort, images, mirror)
        now = covered(outline, float(xy[0, 0]), float(xy[0, 1]), float(turned[0]))
        before = covered(outline, x, y, angle)
        wanted = shapely.Polygon(mirror(shapely.get_coordinates(before)))
        assert shapely.hausdorff_distance(now.exterior, wanted.exterior) < 1e-6
        back, again = mirrored_seats(xy, turned, sort, images, mirror)
        assert back[0] == pytest.approx([x, y], abs=1e-6)
        assert np.mod(again[0] - angle + 180.0, 360.0) == pytest.approx(180.0, abs=1e-6)

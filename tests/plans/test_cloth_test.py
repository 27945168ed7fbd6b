"""A cloth test holds every lay and every piece of it, apart as asked, patch from patch."""

from __future__ import annotations

import dataclasses

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.layout.spacing import least_layout_gap
from embellish.plans.cloth_test import APART_MM, cloth_test
from tests.outputs.cast import ALL, layout

CODES = [*[each.code for each in ALL], "SPRIG"]


@given(
    seats=st.lists(st.tuples(st.sampled_from(CODES), st.integers(0, 2)), min_size=1, max_size=20),
    gap=st.floats(0.1, 4.0),
)
@settings(max_examples=60, deadline=None)
def test_every_lay_has_a_patch_with_all_that_it_sets(seats, gap: float):
    places = [(9.0 * i, 0.0, 10.0 * i, code) for i, (code, _) in enumerate(seats)]
    laid = layout(places)
    lays = tuple(dataclasses.replace(laid.lays[0], id=f"lay-{i}") for i in range(3))
    which = np.array([lay for _, lay in seats])
    laid = dataclasses.replace(laid, lays=lays, lay=which)
    test = cloth_test(laid, np.full(3, gap))
    for lay in range(3):
        used = set(laid.footprint[laid.rows(lay)].tolist())
        shown = test.footprint[test.rows(lay)].tolist()
        assert set(shown) == used
        assert all(3 <= shown.count(each) <= 8 for each in used)
    least = least_layout_gap(test)
    assert least is not None
    assert least >= max(gap, 0.5) - 2e-6
    assert (test.lay == np.sort(test.lay)).all()
    reach = test.reach_mm
    for one in range(len(test)):
        other = test.lay != test.lay[one]
        apart = np.hypot(*(test.xy[other] - test.xy[one]).T) - reach[other] - reach[one]
        assert apart.min(initial=np.inf) >= APART_MM - 2e-6


def test_nothing_laid_is_no_patch():
    assert len(cloth_test(layout([]), np.zeros(1))) == 0

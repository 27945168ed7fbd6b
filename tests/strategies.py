"""Hypothesis strategies that tests share."""

from __future__ import annotations

from hypothesis import strategies as st

from tests.shapes import CONVEX_OUTLINES, OUTLINES

millimetres = st.floats(-12.0, 12.0, allow_nan=False)
angles = st.one_of(
    st.floats(0.0, 360.0, allow_nan=False), st.sampled_from([0.0, 45.0, 90.0, 180.0])
)
places = st.tuples(millimetres, millimetres, angles)
outline_names = st.sampled_from(sorted(OUTLINES))
convex_names = st.sampled_from(sorted(CONVEX_OUTLINES))

"""Did you mean: case, dashes and letters that changed places are slips of the pen."""

from __future__ import annotations

import pytest

from embellish.formats.nearest import close_to, nearest


@pytest.mark.parametrize(
    ("word", "wanted"),
    [
        ("r-ss10-clear", "R-SS10-CLEAR"),
        ("R SS10 CLEAR", "R-SS10-CLEAR"),
        ("xd_mm", "dx_mm"),
        ("gap", "gap_mm"),
        ("flubber", None),
        ("", None),
    ],
)
def test_the_nearest_word(word: str, wanted: str | None):
    known = ["dy_mm", "dx_mm", "gap_mm", "edge_mm", "R-SS10-CLEAR", "R-SS16-CLEAR"]
    assert close_to(word, known) == wanted


def test_where_none_is_near_all_are_named_up_to_a_dozen():
    assert nearest("x", ["row", "grid"]) == "Known are: grid, row."
    assert nearest("x", [f"long-{n:02}" for n in range(20)]).endswith("long-11 and 8 more.")
    assert nearest("x", []) == ""

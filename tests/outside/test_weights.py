"""Estimated weights against counts of seed beads to the gram.

Beads to the gram: estherbeadwork.blogspot.com 2013/10, as in catalogues/pieces/beads.toml.
"""

from __future__ import annotations

import pytest

from embellish.catalogue.shipped import shipped
from embellish.plans.weights import weight_of

TO_THE_GRAM = {"15/0": 271.5, "11/0": 105.0, "8/0": 34.7, "6/0": 15.0}


@pytest.mark.parametrize("size", TO_THE_GRAM)
def test_a_bead_is_estimated_within_two_fifths(size: str):
    bead = next(
        piece
        for piece in shipped("beads").pieces.values()
        if piece.kind == "bead" and piece.size == size and piece.weight_g is not None
    )
    estimate, guessed = weight_of(bead.model_copy(update={"weight_g": None}))
    assert guessed
    assert estimate == pytest.approx(1.0 / TO_THE_GRAM[size], rel=0.4)
    assert weight_of(bead)[0] == pytest.approx(1.0 / TO_THE_GRAM[size], rel=0.01)

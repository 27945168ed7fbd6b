"""Rows too near together are one finding a lay, which names the worst place."""

from __future__ import annotations

import numpy as np

from embellish.layout.ways.left_out import LeftOut, left_out_told

WORDS = "Rows of {shapes} meet"


def test_nothing_left_out_is_not_told():
    assert left_out_told([LeftOut("a", np.zeros((0, 3)))], WORDS, "Mend.") == []


def test_one_place_of_one_shape():
    (told,) = left_out_told([LeftOut("wing", np.array([[1.0, 2.0, 3.25]]))], WORDS, "Mend.")
    assert told.message == (
        "Rows of 'wing' meet at one place; 3.2 mm carry no pieces of their own."
    )
    assert told.where_mm == (1.0, 2.0)


def test_many_shapes_are_counted_and_the_worst_place_named():
    found = [
        LeftOut("a", np.array([[0.0, 0.0, 1.0]])),
        LeftOut("b", np.array([[5.0, 6.0, 4.0], [7.0, 8.0, 1.0]])),
        LeftOut("a", np.array([[9.0, 9.0, 2.0]])),
        LeftOut("none", np.zeros((0, 3))),
    ]
    (told,) = left_out_told(found, WORDS, "Mend.")
    assert told.message == (
        "Rows of 2 shapes meet at 4 places; 8.0 mm carry no pieces of their own, "
        "most at one place of 'b' (4.0 mm)."
    )
    assert told.where_mm == (5.0, 6.0)
    assert told.mend == "Mend."

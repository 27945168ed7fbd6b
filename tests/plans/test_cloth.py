"""States of the cloth: which way along is, what is said of it, and what the map does."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.plans.cloth import ClothSettings, ClothState

PAGE = (200.0, 100.0)
PERCENT = st.floats(-50, 300)


@pytest.mark.parametrize(
    ("grain", "expected"), [(90.0, (111.0, 62.0)), (0.0, (112.0, 61.0)), (-90.0, (111.0, 62.0))]
)
def test_along_is_the_way_of_the_grain(grain: float, expected: tuple[float, float]):
    state = ClothState("board", 20.0, 10.0, grain)
    # 10 right of and 10 below the middle of the page; what is not along is across.
    assert state.map(PAGE)(np.array([[110.0, 60.0]]))[0] == pytest.approx(expected)


@settings(deadline=None)
@given(PERCENT, PERCENT, st.floats(-360, 360))
def test_the_map_lengthens_along_and_across_and_turns_nothing(along, across, grain):
    state = ClothState("board", along, across, grain)
    a, b, c, d, _, _ = state.map(PAGE).as_list()
    linear = np.array([[a, c], [b, d]])
    assert linear == pytest.approx(linear.T)
    turn = np.radians(grain)
    way = np.array([np.cos(turn), np.sin(turn)])
    side = np.array([-way[1], way[0]])
    assert linear @ way == pytest.approx(way * (1 + along / 100), abs=1e-12)
    assert linear @ side == pytest.approx(side * (1 + across / 100), abs=1e-12)
    middle = np.array([PAGE]) / 2
    assert state.map(PAGE)(middle) == pytest.approx(middle)


def test_words_of_a_state():
    assert ClothState("flat").words == "FOR CLOTH LYING FLAT"
    state = ClothState("board", 20.0, -5.0)
    assert state.words == "FOR CLOTH STRETCHED ON THE BOARD: 20 % ALONG, 5 % NARROWER ACROSS"


def test_nothing_is_said_of_cloth_that_does_not_give():
    assert ClothSettings().state_words == ""
    assert ClothSettings(stretch_across_percent=5).state_words == "FOR CLOTH LYING FLAT"
    board = ClothSettings(set="board", board_along_percent=10)
    assert board.state_words == "FOR CLOTH STRETCHED ON THE BOARD: 10 % ALONG"


def test_worn_it_is_drawn_out_one_way_and_narrower_the_other():
    cloth = ClothSettings(
        stretch_along_percent=30, stretch_across_percent=20, narrows_percent=5, grain_deg=0
    )
    assert [(each.along_percent, each.across_percent) for each in cloth.as_worn] == [
        (30, -5),
        (-5, 20),
    ]
    assert ClothSettings(narrows_percent=5).as_worn == ()


@pytest.mark.parametrize(
    ("cloth", "words"),
    [
        ({"set": "board"}, "how much"),
        ({"board_along_percent": 10}, "mean nothing for cloth lying flat"),
        ({"set": "hoop"}, "board"),
        ({"set": "board", "board_along_percent": -60}, "-50"),
    ],
)
def test_a_board_needs_to_say_how_much(cloth, words):
    with pytest.raises(ValidationError, match=words):
        ClothSettings(**cloth)

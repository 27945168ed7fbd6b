"""Colours that a maker writes: digits, or names with or without spaces."""

from __future__ import annotations

import pytest

from embellish.errors import UnfitError
from embellish.formats.colours import NAMED, colour_hex, hex_of


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("#1C2F2B", "#1c2f2b"),
        ("#abc", "#aabbcc"),
        ("Navy", "#000080"),
        ("light sea green", "#20b2aa"),
        (" dark-red ", "#8b0000"),
        ("nvy", None),
        ("#12345", None),
        ("", None),
    ],
)
def test_a_colour_is_six_digits_or_none(text: str, wanted: str | None):
    assert hex_of(text) == wanted


def test_what_is_no_colour_proposes_the_nearest_name():
    with pytest.raises(UnfitError, match="'nvy' is no colour") as told:
        colour_hex("nvy")
    assert "'navy'" in told.value.mend


def test_every_name_is_read_as_it_stands():
    assert all(hex_of(name) == digits for name, digits in NAMED.items())

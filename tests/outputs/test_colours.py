"""Colours mix, keep their bounds, and words on them can be read."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.formats.colours import as_hex
from embellish.outputs.colours import (
    PALETTE,
    contrast,
    darken,
    lighten,
    luminance,
    mix,
    readable_on,
    rgb,
)

colours = st.tuples(*[st.integers(0, 255)] * 3).map(lambda parts: as_hex(*parts))


@settings(max_examples=50, deadline=None)
@given(colours, colours, st.floats(0, 1))
def test_a_mix_lies_between(first, second, share):
    for a, b, c in zip(rgb(first), rgb(second), rgb(mix(first, second, share)), strict=True):
        assert min(a, b) <= c <= max(a, b)
    assert mix(first, second, 0.0) == first
    assert mix(first, second, 1.0) == second


def test_lighter_and_darker():
    assert lighten("#808080", 0.5) == "#c0c0c0"
    assert darken("#808080", 0.5) == "#404040"
    assert as_hex(300, -5, 16) == "#ff0010"


@settings(max_examples=50, deadline=None)
@given(colours)
def test_words_on_any_colour_can_be_read(background):
    assert contrast(readable_on(background), background) >= 4.5


def test_contrast_of_black_and_white():
    """WCAG 2.2 gives 21:1 for black on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert luminance("#ffffff") == pytest.approx(1.0)


def test_the_palette_has_eight_different_colours():
    assert len(set(PALETTE)) == 8

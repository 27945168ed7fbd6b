"""Words set in a font whose every measure is known: places, sizes, unions, what is told."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
import shapely
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import Line, region_of
from embellish.artwork.lettering.lettering import SetText, set_text
from embellish.artwork.lettering.settings import LetteringSettings
from embellish.errors import ArtworkError
from embellish.formats.fonts import read_font
from embellish.formats.fonts_single_line import single_line_font
from tests.artwork.own_font import own_font

FONT = read_font(own_font(), "boxes.ttf")
SCALE = 7.0 / 700.0
"""Capitals 7 mm high: a unit of the font is a hundredth of a millimetre."""


def words(text: str, baseline: Line | None = None, **more: Any) -> SetText:
    asked = {"text": text, "font": "boxes.ttf", "cap_height_mm": 7.0, **more}
    return set_text(LetteringSettings.model_validate(asked), FONT, baseline)


def bounds(shape: Shape) -> list[float]:
    return [round(value, 6) for value in region_of(shape).bounds]


def test_letters_stand_on_the_baseline_at_their_advances():
    made = words("HH", at_mm=(10, 20))
    assert [shape.id for shape in made.shapes] == ["name-1", "name-2"]
    assert bounds(made.shapes[0]) == [10.5, 13.0, 15.5, 20.0]
    assert bounds(made.shapes[1]) == [16.5, 13.0, 21.5, 20.0]
    assert made.shapes[1].groups == ("name", "name-line-1")


@pytest.mark.parametrize(("align", "start"), [("left", 0.0), ("centre", -6.0), ("right", -12.0)])
def test_words_are_aligned_about_their_anchor(align: str, start: float):
    assert bounds(words("HH", align=align).shapes[0])[0] == pytest.approx(start + 0.5)


def test_room_between_letters_lines_and_a_step_of_ones_own():
    made = words("HH\nH", letter_gap_mm=2.0, line_step_mm=11.0)
    assert bounds(made.shapes[1])[0] == pytest.approx(8.5)
    assert bounds(made.shapes[2]) == [0.5, 4.0, 5.5, 11.0]
    assert made.shapes[2].groups == ("name", "name-line-2")


def test_kerning_and_ligatures_are_the_fonts_and_can_be_left_out():
    kerned, plain = words("TH"), words("TH", kerning=False)
    assert bounds(kerned.shapes[1])[0] == pytest.approx(5.7)
    assert bounds(plain.shapes[1])[0] == pytest.approx(6.5)
    assert len(words("fi").shapes) == 1
    assert len(words("fi", ligatures=False).shapes) == 2


def test_letters_that_overlap_are_one_shape_without_a_seam():
    made = words("HJH")
    assert [shape.id for shape in made.shapes] == ["name-1", "name-3"]
    assert region_of(made.shapes[0]).area == pytest.approx(3.5 * 0 + (11.0 - 0.5) * 7.0)
    assert len(made.shapes[0].paths) == 1
    assert len(words("HJH", unite=False).shapes) == 3


def test_a_letter_that_crosses_itself_is_one_outline():
    (shape,) = words("X").shapes
    assert len(shape.paths) == 1
    assert region_of(shape).area == pytest.approx(4 * 3 + 4 * 5 - 2 * 1)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_on_an_arc_letters_stand_upright_to_the_circle(sign: float):
    made = words("HHHHH", align="centre", arc_mm=sign * 80.0, at_mm=(0, 0))
    centre = np.array([0.0, sign * 80.0])
    for shape in made.shapes:
        ring = shapely.get_coordinates(region_of(shape))[:-1]
        away = np.sort(np.hypot(*(ring - centre).T))
        foot = away[:2] if sign > 0 else away[2:]
        # Feet on the chord of the circle, heads 7 mm further out (or in), letters undistorted.
        assert foot == pytest.approx([np.hypot(80.0, 2.5)] * 2, abs=1e-6)
        assert region_of(shape).area == pytest.approx(35.0)
    middle = region_of(made.shapes[2]).centroid
    assert (middle.x, middle.y) == pytest.approx((0.0, -3.5), abs=1e-6)


def test_along_a_line_of_the_drawing():
    line = Line(np.array([[0.0, 0.0], [0.0, 30.0], [30.0, 30.0]]), closed=False)
    first, *_, last = words("HHHHHHH", line).shapes
    assert bounds(first) == [0.0, 0.5, 7.0, 5.5]  # it runs downward: letters lie to its right
    assert bounds(last)[3] == pytest.approx(30.0)
    with pytest.raises(ArtworkError, match=r"62\.8 mm wide at the least, and 60 mm are allowed"):
        words("HHHHHHHHHHHH", line, beyond=["tighten"])


@settings(max_examples=40, deadline=None)
@given(
    st.text("HTf i", min_size=1, max_size=25).filter(str.strip),
    st.floats(8.0, 200.0),
    st.permutations(["tighten", "smaller", "two-lines"]),
)
def test_a_width_is_never_exceeded_and_what_was_done_is_told(
    text: str, most: float, beyond: list[str]
):
    try:
        made = words(text, most_width_mm=most, beyond=beyond)
    except ArtworkError as wrong:
        assert f"{most:g} mm are allowed" in str(wrong)  # noqa: PT017 - either is right
        return
    left = min(bounds(shape)[0] for shape in made.shapes)
    right = max(bounds(shape)[2] for shape in made.shapes)
    assert right - left <= most + 1e-6
    as_asked = words(text)
    changed = [bounds(a) for a in made.shapes] != [bounds(a) for a in as_asked.shapes]
    assert changed == any(each.code == "lettering-fitted" for each in made.findings)


def test_a_letter_that_is_missing_is_an_error_that_names_it():
    made = words("HÄH")
    (finding,) = made.findings
    assert (finding.code, finding.severity) == ("letters-missing", "error")
    assert "does not have 'Ä'" in finding.message
    with pytest.raises(ArtworkError, match="none of these letters"):
        words("ÄÖ")


@pytest.mark.parametrize(("bits", "code"), [(0, None), (2, "font-restricted"), (4, "font-limited")])
def test_what_the_fonts_maker_limits_is_told(bits: int, code: str | None):
    found = [finding.code for finding in read_font(own_font(limits=bits), "b.ttf").findings]
    assert found == ([code] if code else [])


@pytest.mark.parametrize("flavor", ["woff", "woff2"])
def test_a_packed_font_is_the_same_font(flavor: str):
    font, packed = TTFont(io.BytesIO(own_font())), io.BytesIO()
    font.flavor = flavor
    font.save(packed)
    asked = LetteringSettings.model_validate({"text": "HO", "font": "f", "cap_height_mm": 7.0})
    drawn = set_text(asked, read_font(packed.getvalue(), f"b.{flavor}")).shapes
    for one, other in zip(drawn, words("HO").shapes, strict=True):
        assert region_of(one).equals_exact(region_of(other), 1e-9)


@pytest.mark.parametrize("data", [b"", b"<svg/>", b"\x00\x01\x00\x00", own_font()[:300]])
def test_what_is_no_font_is_refused_in_a_sentence(data: bytes):
    with pytest.raises(ArtworkError, match=r"no font file|damaged"):
        read_font(data, "b.ttf")


def test_single_line_letters_are_open_lines_and_leave_nothing_out_in_silence():
    asked = LetteringSettings.model_validate(
        {"text": "Hé", "font": "single-line:futural", "cap_height_mm": 21.0}
    )
    made = set_text(asked, single_line_font("single-line:futural"))
    lines = [path for shape in made.shapes for path in shape.paths]
    assert not any(path.closed for path in lines)
    heights = [float(np.ptp(path.segments[..., 1])) for path in lines]
    assert max(heights) == pytest.approx(21.0)
    assert [finding.code for finding in made.findings] == ["letters-missing"]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"text": "  "}, "no letter"),
        ({"text": "a\x07"}, "no letter"),
        ({"arc_mm": 3.0}, "smaller than the letters"),
        ({"arc_mm": 90.0, "along": "#a"}, "Keep one of them"),
        ({"along": "#a", "text": "H\nH"}, "one line of text"),
        ({"least_cap_height_mm": 9.0}, "the smaller of the two"),
        ({"id": "two words"}, "one short word"),
    ],
)
def test_what_cannot_be_is_refused(more: dict[str, Any], told: str):
    with pytest.raises(ValidationError) as wrong:
        words(more.pop("text", "H"), **more)
    cause = wrong.value.errors()[0]["ctx"]["error"]
    assert told in f"{cause.message} {cause.mend}"

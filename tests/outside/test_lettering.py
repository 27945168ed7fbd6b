"""Words against other readers of the same fonts: fontTools' tables, and Pillow's FreeType raster.

Fonts: Playfair Display, Dancing Script and Amiri, SIL Open Font License, from the npm registry.
"""

from __future__ import annotations

import io

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFont

from embellish.artwork.flatten import region_of
from embellish.artwork.lettering.lettering import set_text
from embellish.artwork.lettering.settings import LetteringSettings
from embellish.formats.fonts import read_font
from tests.real_artwork import font

SERIF = ("playfair-display", "playfair-display-latin-700-normal")
SCRIPT = ("dancing-script", "dancing-script-latin-700-normal")
ARABIC = ("amiri", "amiri-arabic-400-normal")


def words(text: str, of: tuple[str, str], **more: object):
    asked = {"text": text, "font": "f", "cap_height_mm": 20.0, **more}
    return set_text(LetteringSettings.model_validate(asked), read_font(font(*of), "f.woff"))


def test_letters_advance_as_the_fonts_own_table_says():
    table = TTFont(io.BytesIO(font(*SERIF)))
    text = "Embroidery"
    made = words(text, SERIF, kerning=False, ligatures=False)
    cmap, hmtx, glyf = table.getBestCmap(), table["hmtx"], table["glyf"]
    scale = 20.0 / glyf[cmap[ord("H")]].yMax
    pen = 0.0
    for letter, shape in zip(text, made.shapes, strict=True):
        name = cmap[ord(letter)]
        left = pen + glyf[name].xMin * scale
        assert region_of(shape).bounds[0] == pytest.approx(left, abs=2e-3)
        pen += hmtx[name][0] * scale


def test_kerning_is_what_an_independent_layout_of_the_same_font_gives():
    face = ImageFont.truetype(io.BytesIO(font(*SERIF)), 1000)
    em = TTFont(io.BytesIO(font(*SERIF)))["head"].unitsPerEm
    cap = TTFont(io.BytesIO(font(*SERIF)))["glyf"]["H"].yMax / em
    if not hasattr(face, "getlength"):
        pytest.skip("this Pillow cannot measure text")
    plain, kerned = words("AVATAR", SERIF, kerning=False), words("AVATAR", SERIF)
    narrower = plain.shapes[-1], kerned.shapes[-1]
    ours = region_of(narrower[0]).bounds[0] - region_of(narrower[1]).bounds[0]
    assert ours > 1.0  # A and V come together
    alone = sum(face.getlength(letter) for letter in "AVATA")
    together = face.getlength("AVATAR") - face.getlength("R")
    if together < alone:  # Pillow built with a layout engine that kerns
        assert ours == pytest.approx((alone - together) / 1000 * 20.0 / cap, rel=0.03)


@pytest.mark.parametrize(
    ("text", "of"), [("Rag", SERIF), ("Annabelle", SCRIPT), ("Bouquet", SCRIPT)]
)
def test_the_ink_is_what_an_independent_raster_shows(text: str, of: tuple[str, str]):
    made = words(text, of, ligatures=False, kerning=False)
    area = sum(region_of(shape).area for shape in made.shapes)
    data = font(*of)
    table = TTFont(io.BytesIO(data))
    cap = table["glyf"][table.getBestCmap()[ord("H")]].yMax / table["head"].unitsPerEm
    size = 1200
    face = ImageFont.truetype(io.BytesIO(data), size, layout_engine=ImageFont.Layout.BASIC)
    image = Image.new("L", (size * (len(text) + 1), size * 2))
    draw, pen = ImageDraw.Draw(image), size / 2
    for letter in text:  # letter by letter, so that no layout of Pillow's takes part
        draw.text((pen, size // 4), letter, font=face, fill=255)
        pen += face.getlength(letter)
    ink = float((np.asarray(image) / 255.0).sum()) * (20.0 / (cap * size)) ** 2
    assert area == pytest.approx(ink, rel=0.01)


def test_arabic_is_joined_and_runs_from_right_to_left():
    whole = words("سارة", ARABIC)
    alone = [words(letter, ARABIC).shapes[0] for letter in "سارة"]
    # Sin and alef are joined into one stroke, reh ends a stroke: three shapes of four letters,
    # as the Unicode standard's joining types (ArabicShaping.txt, from memory) have it.
    assert len(whole.shapes) == 3
    # The word begins with sin and alef, so the largest stroke stands farthest to the right.
    regions = [region_of(shape) for shape in whole.shapes]
    largest = max(regions, key=lambda region: region.area)
    assert largest.centroid.x == max(region.centroid.x for region in regions)
    # The joined form of sin is narrower than sin alone: it was shaped, not put side by side.
    assert sum(region_of(s).area for s in whole.shapes) < sum(region_of(s).area for s in alone)

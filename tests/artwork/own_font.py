"""A font of our own for tests: boxes whose every measure is known."""

from __future__ import annotations

import io

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

EM = 1000
CAP = 700


def box(*corners: tuple[int, int, int, int]):
    pen = TTGlyphPen(None)
    for x0, y0, x1, y1 in corners:
        pen.moveTo((x0, y0))
        for point in ((x0, y1), (x1, y1), (x1, y0)):  # clockwise, as TrueType fills
            pen.lineTo(point)
        pen.closePath()
    return pen.glyph()


def own_font(*, limits: int = 0) -> bytes:
    """H: 500 wide, 700 high, advance 600. J reaches back into the letter before. X crosses itself.

    'f' and 'i' together are one ligature; H after T is kerned by -80.
    """
    glyphs = {
        ".notdef": box((0, 0, 100, 100)),
        "H": box((50, 0, 550, CAP)),
        "J": box((-100, 0, 500, CAP)),
        "X": box((0, 0, 400, 300), (200, 200, 600, CAP)),
        "T": box((0, 0, 500, CAP)),
        "f": box((0, 0, 200, CAP)),
        "i": box((0, 0, 100, CAP)),
        "f_i": box((0, 0, 900, CAP)),
        "space": box(),
    }
    bearings = {"H": 50, "J": -100}
    advances = {".notdef": 100, "f": 300, "i": 200, "f_i": 1000, "space": 400}
    builder = FontBuilder(EM, isTTF=True)
    builder.setupGlyphOrder(list(glyphs))
    builder.setupCharacterMap({ord(name): name for name in "HJXTfi"} | {32: "space"})
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics(
        {name: (advances.get(name, 600), bearings.get(name, 0)) for name in glyphs}
    )
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Boxes", "styleName": "Regular"})
    builder.setupOS2(sCapHeight=CAP, fsType=limits)
    builder.setupPost()
    builder.addOpenTypeFeatures(
        "feature kern { pos T H -80; } kern; feature liga { sub f i by f_i; } liga;"
    )
    whole = io.BytesIO()
    builder.save(whole)
    return whole.getvalue()

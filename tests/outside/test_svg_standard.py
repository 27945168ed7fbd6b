"""The W3C's SVG 1.1 test drawings: what we read covers what resvg paints, or a finding says why.

The drawings are those that Debian ships in librsvg2-tests, with many more made to break readers.
Lettering and pictures are taken out before both read them, since every drawing has a title in
letters; that they are told is checked elsewhere.
"""

import io
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from lxml import etree
from PIL import Image
from scipy.ndimage import binary_dilation

from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import region_of
from embellish.artwork.look import look_facts
from embellish.artwork.strokes import stroke_region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from tests.real_artwork import standard_drawings

WIDTH_PX = 480
"""A pixel is a unit of these drawings."""
STRIDE_PX = 3
NEAR_PX = 1.5
"""What a pixel may be off: half of itself by rounding, and a pixel whose edge alone is painted."""

REASONS = {
    "clipped",  # the stroke follows the clip too
    "dashes-ignored",
    "data-cut-short",
    "filter-ignored",
    "marker-left-out",
    "mask-ignored",
    "paint-simplified",
    "stroke-uneven",
}
"""Findings that say why something is painted otherwise."""


def without_letters(path: Path) -> bytes | None:
    """Return a drawing without lettering and pictures, or None where no parser reads it."""
    try:
        tree = etree.parse(str(path), etree.XMLParser(remove_comments=True, no_network=True))
    except etree.XMLSyntaxError:
        return None
    for element in list(tree.iter("{*}text", "{*}image", "{*}foreignObject")):
        parent = element.getparent()
        if parent is not None:
            parent.remove(element)
    return etree.tostring(tree)


def painted(artwork: Artwork) -> shapely.Geometry:
    """Return what fills and strokes cover, in the drawing's units."""
    parts = []
    for shape in artwork.shapes:
        if shape.fill is not None:
            try:
                parts.append(region_of(shape, 0.05))
            except ArtworkError:
                continue
        if shape.stroke is not None:
            parts.append(stroke_region_of(shape, 0.05))
    return shapely.union_all(parts)


def off(artwork: Artwork, data: bytes) -> float:
    """Return the share of what is painted that is painted by one of the two alone."""
    assert artwork.page is not None
    png = resvg_py.svg_to_bytes(svg_string=data.decode(), width=WIDTH_PX, dpi=96)
    with Image.open(io.BytesIO(bytes(png))) as picture:
        theirs = np.asarray(picture.convert("RGBA"))[..., 3] > 0
    unit = artwork.page[0] / theirs.shape[1]
    rows, columns = np.mgrid[0 : theirs.shape[0] : STRIDE_PX, 0 : theirs.shape[1] : STRIDE_PX]
    points = shapely.points((columns + 0.5) * unit, (rows + 0.5) * unit)
    ours = painted(artwork)
    inside = shapely.buffer(ours, -NEAR_PX * unit)
    shapely.prepare(ours)
    shapely.prepare(inside)
    seen = theirs[::STRIDE_PX, ::STRIDE_PX]
    missing = seen & ~shapely.dwithin(ours, points, NEAR_PX * unit)
    # What a pixel's neighbour has is there: thin lines fall between the middles of pixels.
    extra = shapely.contains(inside, points) & ~binary_dilation(theirs)[::STRIDE_PX, ::STRIDE_PX]
    return float(missing.sum() + extra.sum()) / max(1, int(seen.sum()))


@pytest.mark.slow
def test_the_standard_s_drawings_are_read_as_they_are_painted():
    alike, told, wrong = [], [], {}
    for path in sorted((standard_drawings() / "reftests" / "svg1.1").glob("*.svg")):
        data = without_letters(path)
        if data is None:
            continue
        artwork, findings = read_svg(data, path.name)
        share = off(artwork, data)
        if share <= 0.01:
            alike.append(path.name)
        elif {finding.code for finding in findings} & REASONS:
            told.append(path.name)
        else:
            wrong[path.name] = share
    assert wrong == {}
    assert len(alike) >= 105
    assert len(alike) + len(told) >= 150


@pytest.mark.slow
def test_every_drawing_made_to_break_readers_is_read_or_refused_in_a_sentence():
    read = 0
    refused: dict[str, ArtworkError] = {}
    for path in sorted(standard_drawings().rglob("*.svg")):
        try:
            artwork, findings = read_svg(path.read_bytes(), path.name)
        except ArtworkError as wrong:
            refused[path.name] = wrong
            continue
        look_facts(artwork, findings)
        read += 1
    assert read > 700
    # What is refused holds nothing but lettering, is broken, or asks for thousands of copies.
    assert "323-nested-use.svg" in refused
    assert len(refused) < 90
    assert all(wrong.mend and len(str(wrong)) < 700 for wrong in refused.values())

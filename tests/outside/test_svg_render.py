"""Against an independent renderer (resvg): what we read covers what it paints.

Only files written here, or icon sets from a pinned package, are given to it.
"""

import io

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image

from embellish.arrays import Floats
from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import region_of
from embellish.artwork.strokes import stroke_region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from tests.artwork.svg.cases import CASES, page, svg
from tests.real_artwork import icons

CAST_PX = 1000
ICON_PX = 480
"""Whole numbers of pixels a user unit, so that straight edges fall between pixels."""


def rendered(text: str, width: int | None = CAST_PX) -> Floats:
    """Return the coverage (rows, columns) from 0 to 1 that the renderer paints."""
    data = resvg_py.svg_to_bytes(svg_string=text, width=width, dpi=96)
    with Image.open(io.BytesIO(bytes(data))) as picture:
        return np.asarray(picture, dtype=np.float64)[..., 3] / 255.0


def painted(artwork: Artwork, tolerance: float = 1e-3) -> float:
    """Return the share of the page that fills and strokes cover."""
    assert artwork.page is not None
    parts = []
    for shape in artwork.shapes:
        if shape.fill is not None:
            try:
                parts.append(region_of(shape, tolerance))
            except ArtworkError:
                continue
        if shape.stroke is not None:
            parts.append(stroke_region_of(shape, tolerance))
    seen = shapely.intersection(shapely.union_all(parts), shapely.box(0, 0, *artwork.page))
    return float(shapely.area(seen)) / (artwork.page[0] * artwork.page[1])


@pytest.mark.parametrize("case", [c for c in CASES if c.renders_alike], ids=lambda c: c.name)
def test_the_cast_paints_alike(case):
    artwork, _ = read_svg(case.svg.encode(), "case.svg")
    theirs = rendered(case.svg).mean()
    assert painted(artwork) == pytest.approx(theirs, rel=0.01, abs=2e-5)


@pytest.mark.parametrize(
    ("attributes", "pixels"),
    [
        # CSS Values and Units 3, section 6.2: 1in = 2.54cm = 96px, so 254 mm are 960 px.
        ('width="254mm" height="127mm"', (960, 480)),
        ('width="25.4cm" height="5in"', (960, 480)),
        ('width="720pt" height="30pc"', (960, 480)),
        ('width="254mm" viewBox="0 0 200 100"', (960, 480)),
    ],
)
def test_the_page_is_as_large_as_the_renderer_makes_it(attributes, pixels):
    text = svg(attributes, '<rect width="10" height="10"/>')
    artwork, _ = read_svg(text.encode(), "page.svg")
    assert rendered(text, width=None).shape == (pixels[1], pixels[0])
    assert artwork.page == pytest.approx((pixels[0] * 25.4 / 96, pixels[1] * 25.4 / 96))


@pytest.mark.parametrize("align", ["xMinYMid", "xMidYMax slice", "xMaxYMin meet", "none"])
def test_the_drawing_stands_where_the_renderer_puts_it(align):
    text = svg(
        f'width="100mm" height="50mm" viewBox="-5 3 60 80" preserveAspectRatio="{align}"',
        '<rect x="10" y="62" width="25" height="13"/>',
    )
    artwork, _ = read_svg(text.encode(), "page.svg")
    seen = rendered(text, width=1000) > 0.5
    rows, columns = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
    theirs = (columns[0] / 10, rows[0] / 10, (columns[-1] + 1) / 10, (rows[-1] + 1) / 10)
    assert artwork.bounds() == pytest.approx(theirs, abs=0.11)


@pytest.mark.parametrize("cap", ["butt", "round", "square"])
@pytest.mark.parametrize("join", ["miter", "round", "bevel"])
def test_strokes_paint_alike(cap, join):
    text = page(
        f'<path d="M20 20H60V60L30 70A20 10 20 0 1 20 40" fill="none" stroke="red" '
        f'stroke-width="6" stroke-linecap="{cap}" stroke-linejoin="{join}"/>'
        f'<rect x="70" y="70" width="20" height="20" fill="none" stroke="red" stroke-width="5" '
        f'stroke-linejoin="{join}"/>'
    )
    artwork, _ = read_svg(text.encode(), "stroke.svg")
    assert painted(artwork) == pytest.approx(rendered(text).mean(), rel=0.003)


@pytest.mark.slow
@pytest.mark.parametrize("package", ["bootstrap-icons", "lucide-static"])
def test_icons_paint_alike(package):
    worst, unread = {}, {}
    for name, data in icons(package)[::9]:
        artwork, findings = read_svg(data, f"{name}.svg")
        theirs = rendered(data.decode(), ICON_PX).mean()
        left = {f.code for f in findings} - {"no-physical-size", "outside-page", "dot-as-shape"}
        # What is half seen through counts half in the renderer's picture.
        if left != {"opacity-ignored"}:
            worst[name] = abs(painted(artwork) / theirs - 1.0)
        if left - {"opacity-ignored"}:
            unread[name] = left
    assert len(worst) > 150
    assert max(worst.values()) < 0.01, sorted(worst, key=worst.__getitem__)[-5:]
    assert unread == {}

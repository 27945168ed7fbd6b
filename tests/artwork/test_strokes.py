"""Strokes as regions: widths, ends, corners, and shapes taken as they are painted."""

import io
import math
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image
from shapely.geometry import Point, box

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import region_of
from embellish.artwork.strokes import as_painted, stroke_region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError, EmbellishError
from embellish.job.files import open_job
from embellish.job.making import check_job
from tests.artwork.svg.cases import page

PAGE = box(0, 0, 100, 100)


def read(body: str) -> Artwork:
    return read_svg(page(body).encode(), "a.svg")[0]


def shape(body: str) -> Shape:
    (one,) = read(body).shapes
    return one


# A stroke of width 2 along 10 mm: 20 mm², plus its ends: two half circles or two half squares.
@pytest.mark.parametrize(("cap", "ends"), [("butt", 0.0), ("round", math.pi), ("square", 4.0)])
def test_stroke_region_and_its_ends(cap, ends):
    line = shape(f'<path d="M5 5h10" stroke="red" stroke-width="2" stroke-linecap="{cap}"/>')
    assert stroke_region_of(line, 1e-4).area == pytest.approx(20 + ends, rel=1e-4)


# A square loop of side 10, stroke 2: 12² - 8² with pointed corners; four corners of 1 mm² become
# quarter circles or triangles.
@pytest.mark.parametrize(("join", "corners"), [("miter", 4.0), ("round", math.pi), ("bevel", 2.0)])
def test_stroke_region_and_its_corners(join, corners):
    loop = shape(
        '<rect x="5" y="5" width="10" height="10" fill="none" stroke="red" stroke-width="2" '
        f'stroke-linejoin="{join}"/>'
    )
    assert stroke_region_of(loop, 1e-4).area == pytest.approx(76 + corners, rel=1e-4)


def test_without_a_stroke_there_is_no_stroke_region():
    with pytest.raises(ArtworkError, match="no painted stroke"):
        stroke_region_of(shape('<rect width="5" height="5"/>'))


def corner(turn_deg: float, limit: float) -> float:
    """Return the area of a stroke 2 wide along two legs of 20 that turn so far."""
    turn = math.radians(turn_deg)
    x, y = 50 + 20 * math.cos(turn), 50 + 20 * math.sin(turn)
    one = shape(
        f'<path d="M30 50H50L{x:.9f} {y:.9f}" fill="none" stroke="red" stroke-width="2"'
        f' stroke-miterlimit="{limit}"/>'
    )
    return float(stroke_region_of(one, 1e-4).area)


@pytest.mark.parametrize("turn_deg", [-150, -91, -30, 5, 60, 120, 150])
def test_a_mitre_adds_its_point_and_past_its_limit_is_a_bevel(turn_deg):
    # Two legs of 20 × 2, of which a kite about the corner is counted twice: its area is
    # tan(t/2) for half a width of 1. The bevel adds the triangle sin(t)/2; the mitre all of the
    # outer kite, tan(t/2). Its length is 1 / cos(t/2) widths (SVG 2, section 13.5.6).
    turn = math.radians(abs(turn_deg))
    length = 1.0 / math.cos(turn / 2.0)
    inner = math.tan(turn / 2.0)
    assert corner(turn_deg, length * 1.001) == pytest.approx(80.0, abs=1e-5)
    if length * 0.999 >= 1.0:
        bevel = 80 - inner + math.sin(turn) / 2.0
        assert corner(turn_deg, length * 0.999) == pytest.approx(bevel, abs=1e-5)


def test_a_limit_that_is_none_is_four():
    one = shape('<path d="M0 0h9v9" stroke="red" fill="none" stroke-miterlimit="0.5"/>')
    assert one.stroke_miter_limit == 4.0


@pytest.mark.parametrize(
    ("attributes", "width"),
    [
        # 96 px an inch: 4 px are 4 × 25.4 / 96 mm, whatever the view box and the maps are.
        ('vector-effect="non-scaling-stroke"', 4 * 25.4 / 96),
        ('style="vector-effect:non-scaling-stroke"', 4 * 25.4 / 96),
        ("", 12.0),
    ],
)
def test_a_stroke_that_keeps_its_width(attributes, width):
    body = (
        f'<g transform="scale(3)"><path d="M1 1h9" stroke="red" stroke-width="4" {attributes}/></g>'
    )
    assert shape(body).stroke_width_mm == pytest.approx(width)


def test_a_stroke_stretched_unevenly_is_told():
    body = '<g transform="scale(1 2)"><circle r="9" fill="none" stroke="red"/></g>'
    _, findings = read_svg(page(body).encode(), "a.svg")
    assert [f.code for f in findings if f.code == "stroke-uneven"]
    even = '<g transform="rotate(20) scale(2 -2)"><circle r="9" fill="none" stroke="red"/></g>'
    assert not [f for f in read_svg(page(even).encode(), "a.svg")[1] if f.code == "stroke-uneven"]


def test_shapes_are_taken_as_they_are_painted():
    drawing = read(
        '<path id="band" d="M10 10h40" fill="none" stroke="#00f" stroke-width="6"/>'
        '<circle id="ring" cx="30" cy="50" r="10" fill="none" stroke="red" stroke-width="4"/>'
        '<rect id="box" x="60" y="60" width="10" height="10" stroke="red" stroke-width="2"/>'
        '<path id="thin" d="M0 90h40" fill="none" stroke="#000" stroke-width="6"/>'
    )
    band, ring, box, thin = as_painted(drawing, "#band, #ring, #box").shapes
    assert [one.id for one in (band, ring, box)] == ["band", "ring", "box"]
    assert region_of(band).area == pytest.approx(240.0)
    # A ring between radii 8 and 12.
    assert region_of(ring).area == pytest.approx(math.pi * (144 - 64), rel=1e-3)
    # The square of 10 with 1 mm all round, corners pointed.
    assert region_of(box).area == pytest.approx(144.0)
    assert (band.fill, band.stroke, box.fill) == ("#0000ff", None, "#000000")
    assert thin is drawing.shapes[-1]


def test_what_paints_no_line_is_not_taken_as_painted():
    with pytest.raises(ArtworkError, match="no painted stroke"):
        as_painted(read('<rect id="a" width="9" height="9"/>'), "#a")
    with pytest.raises(ArtworkError, match="finds no shape"):
        as_painted(read('<rect id="a" width="9" height="9"/>'), "#b")


def test_another_renderer_paints_the_same_strokes():
    """Outside check (resvg): sharp corners past and within the limit, as one picture."""
    body = "".join(
        f'<path d="M{x} 90L{x + w} 10L{x + 2 * w} 90" fill="none" stroke="#000" stroke-width="3"'
        f' stroke-miterlimit="{limit}"/>'
        for x, w, limit in ((8, 4, 30), (30, 4, 2), (52, 8, 6), (76, 7, 12))
    )
    data = resvg_py.svg_to_bytes(svg_string=page(body), width=1000, dpi=96)
    theirs = np.asarray(Image.open(io.BytesIO(bytes(data))), dtype=float)[..., 3].mean() / 255.0
    # Every two legs are apart from the next.
    ours = sum(stroke_region_of(one, 1e-4).intersection(PAGE).area for one in read(body).shapes)
    assert ours / 1e4 == pytest.approx(theirs, rel=2e-3)


JOB = """version = 1
title = "Band"
catalogues = ["shipped:stones"]
[artwork]
file = "a.svg"
{key}
[[lay]]
id = "fill"
shapes = "#band"
way = "grid"
pieces = ["R-SS6-RED"]
gap_mm = 0.8
"""
BAND = '<path id="band" d="M10 20C30 0 60 60 90 30" fill="none" stroke="#00f" stroke-width="9"/>'


def test_a_wide_line_is_filled_where_the_job_asks_for_it(tmp_path: Path):
    (tmp_path / "a.svg").write_text(page(BAND))
    (tmp_path / "job.toml").write_text(JOB.format(key=""))
    with pytest.raises(EmbellishError, match=r"9\.0 mm wide") as wrong:
        check_job(open_job(tmp_path / "job.toml"))
    assert "as_painted" in wrong.value.mend
    (tmp_path / "job.toml").write_text(JOB.format(key='as_painted = "#band"'))
    checked = check_job(open_job(tmp_path / "job.toml"))
    assert len(checked.layout) > 40
    region = stroke_region_of(shape(BAND))
    radius = checked.layout.reach_mm
    reach = [
        region.buffer(1e-6).covers(Point(x, y).buffer(r))
        for (x, y), r in zip(checked.layout.xy, radius, strict=True)
    ]
    assert all(reach)


@pytest.mark.parametrize("selector", ["#bond", "[[", ""])
def test_a_selector_of_nothing_names_the_key(tmp_path: Path, selector: str):
    (tmp_path / "a.svg").write_text(page(BAND))
    (tmp_path / "job.toml").write_text(JOB.format(key=f'as_painted = "{selector}"'))
    with pytest.raises(EmbellishError, match="as_painted"):
        open_job(tmp_path / "job.toml")

"""Small DXF drawings whose areas and lengths are known exactly."""

import io
import math
from typing import Any

import numpy as np
import pytest

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import LINE_TOLERANCE_MM, region_of
from embellish.artwork.readers import read_artwork
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.geometry.curves import chain_length

ezdxf = pytest.importorskip("ezdxf")


def drawing(units: int = 4) -> Any:
    document = ezdxf.new("R2010", units=units)
    return document, document.modelspace()


def data_of(document: Any, *, binary: bool = False) -> bytes:
    if binary:
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def read(document: Any, *, binary: bool = False) -> tuple[Artwork, tuple[Finding, ...]]:
    return read_artwork(data_of(document, binary=binary), "a.dxf")


def area(shape: Shape) -> float:
    return region_of(shape, LINE_TOLERANCE_MM).area


def length(shape: Shape) -> float:
    return sum(chain_length(path.segments) for path in shape.paths)


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [each.code for each in findings]


def circle(space: Any) -> None:
    space.add_circle((70, -20), 10)


def ellipse(space: Any) -> None:
    space.add_ellipse((0, 0), (20, 0), 0.5)


def bulged(space: Any) -> None:
    space.add_lwpolyline([(0, 0, 1), (20, 0, 1)], format="xyb", close=True)


def slot(space: Any) -> None:
    points = [(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)]
    space.add_lwpolyline(points, format="xyb", close=True)


def old_polyline(space: Any) -> None:
    space.add_polyline2d([(0, 0), (30, 0), (30, 10)], close=True)


def four_lines(space: Any) -> None:
    corners = [(0, 0), (30, 0), (30, 10), (0, 10)]
    for a, b in ((0, 1), (3, 2), (1, 2), (0, 3)):  # neither in order nor one way round
        space.add_line(corners[a], corners[b])


def half_disc(space: Any) -> None:
    space.add_arc((0, 0), 10, 0, 180)
    space.add_line((10, 0), (-10, 0))


def hatched(space: Any) -> None:
    hatch = space.add_hatch(color=1)
    hatch.paths.add_polyline_path([(0, 0), (40, 0), (40, 40), (0, 40)], is_closed=True)
    hatch.paths.add_polyline_path([(10, 10), (30, 10), (30, 30), (10, 30)], is_closed=True)


def block(space: Any, **scales: float) -> None:
    made = space.doc.blocks.new("B")
    made.add_circle((5, 0), 3)
    space.add_blockref("B", (7, 7), dxfattribs=scales)


def mirrored(space: Any) -> None:
    block(space, xscale=-2, yscale=2, rotation=30)


def squeezed(space: Any) -> None:
    block(space, xscale=2, yscale=0.5)


def nested(space: Any) -> None:
    made = space.doc.blocks.new("IN")
    made.add_lwpolyline([(0, 0), (2, 0), (2, 3), (0, 3)], close=True)
    outer = space.doc.blocks.new("OUT")
    outer.add_blockref("IN", (1, 1), dxfattribs={"xscale": 2, "yscale": 2})
    space.add_blockref("OUT", (5, 5), dxfattribs={"rotation": 45, "xscale": -1})


AREAS: dict[Any, float] = {
    circle: 100 * math.pi,
    ellipse: 200 * math.pi,
    bulged: 100 * math.pi,
    slot: 300 + 25 * math.pi,
    old_polyline: 150,
    four_lines: 300,
    half_disc: 50 * math.pi,
    hatched: 1200,
    mirrored: 36 * math.pi,
    squeezed: 9 * math.pi,
    nested: 24,
}


@pytest.mark.parametrize("draw", AREAS, ids=lambda draw: draw.__name__)
@pytest.mark.parametrize("binary", [False, True], ids=["text", "binary"])
def test_areas_are_exact(draw, binary):
    document, space = drawing()
    draw(space)
    artwork, _ = read(document, binary=binary)
    assert artwork.sized
    (shape,) = artwork.shapes
    assert area(shape) == pytest.approx(AREAS[draw], rel=1e-4)
    bounds = artwork.bounds()
    assert bounds is not None
    assert bounds[:2] == pytest.approx((0, 0), abs=1e-9)
    assert artwork.page == pytest.approx(bounds[2:])


def test_a_spline_keeps_its_curve():
    document, space = drawing()
    space.add_open_spline([(0, 0), (10, 30), (30, -30), (40, 0)], degree=3)
    (shape,) = read(document)[0].shapes
    t = np.linspace(0, 1, 20001)[:, None]
    points = np.array([(0, 0), (10, 30), (30, -30), (40, 0)])
    weights = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3
    curve = sum(w * p for w, p in zip(weights, points, strict=True))
    assert length(shape) == pytest.approx(np.hypot(*np.diff(curve, axis=0).T).sum(), rel=1e-6)


def test_up_is_up():
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (10, 0), (0, 5)], close=True)
    (shape,) = read(document)[0].shapes
    corners = {tuple(np.round(xy, 6)) for xy in shape.paths[0].segments[:, 0]}
    assert corners == {(0, 5), (10, 5), (0, 0)}


@pytest.mark.parametrize(("units", "mm"), [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000)])
def test_units(units, mm):
    document, space = drawing(units)
    space.add_line((0, 0), (3, 4))
    artwork, _ = read(document)
    assert length(artwork.shapes[0]) == pytest.approx(5 * mm)


def test_without_unit_the_size_is_asked():
    document, space = drawing(0)
    circle(space)
    artwork, findings = read(document)
    assert not artwork.sized
    assert codes(findings) == ["no-physical-size"]


def test_gaps_are_bridged_within_the_tolerance_and_told():
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (30, 0), (30, 10)])
    space.add_lwpolyline([(30, 10.08), (0, 10), (0, 0.02)])
    artwork, findings = read(document)
    (shape,) = artwork.shapes
    assert shape.id == "loop-1"
    assert shape.is_closed
    (told,) = findings
    assert told.code == "ends-joined"
    assert "2 loose lines" in told.message
    assert "1 closed loop made" in told.message
    assert "0.0800 mm" in told.message


def test_wide_gaps_stay_and_so_do_other_layers():
    document, space = drawing()
    space.add_line((0, 0), (30, 0))
    space.add_line((30.2, 0), (30.2, 10))
    space.add_line((0, 0), (0, 10), dxfattribs={"layer": "other"})
    artwork, findings = read(document)
    assert [shape.id for shape in artwork.shapes] == ["line-1", "line-2", "line-3"]
    assert artwork.shapes[2].layer == "other"
    assert findings == ()


def test_lines_drawn_twice_are_read_once():
    document, space = drawing()
    space.add_line((0, 0), (30, 0))
    space.add_line((30, 0), (0, 0))
    artwork, findings = read(document)
    assert len(artwork.shapes) == 1
    assert not artwork.shapes[0].is_closed
    assert codes(findings) == ["drawn-twice"]


def test_colours_by_index_layer_block_and_truth():
    document, space = drawing()
    document.layers.add("red", color=1)
    made = document.blocks.new("B")
    made.add_circle((0, 0), 1, dxfattribs={"color": 0})
    space.add_circle((0, 0), 2, dxfattribs={"layer": "red"})
    space.add_circle((0, 0), 3, dxfattribs={"color": 5})
    space.add_circle((0, 0), 4).rgb = (1, 2, 3)
    space.add_circle((0, 0), 5)
    space.add_blockref("B", (0, 0), dxfattribs={"color": 3, "layer": "red"})
    shapes = read(document)[0].shapes
    strokes = [shape.stroke for shape in shapes]
    assert strokes == ["#ff0000", "#0000ff", "#010203", "#000000", "#00ff00"]
    assert shapes[-1].layer == "red"  # layer 0 in a block stands for the layer it is put on


def test_what_is_left_out_is_told():
    document, space = drawing()
    document.layers.add("off").off()
    circle(space)
    space.add_text("name")
    space.add_circle((0, 0), 5, dxfattribs={"layer": "off"})
    artwork, findings = read(document)
    assert len(artwork.shapes) == 1
    assert codes(findings) == ["element-left-out", "hidden-layer"]
    assert "TEXT" in findings[0].message


def test_a_block_within_itself_is_left_out():
    document, space = drawing()
    circle(space)
    made = document.blocks.new("B")
    made.add_blockref("B", (1, 1))
    space.add_blockref("B", (0, 0))
    _, findings = read(document)
    assert codes(findings) == ["broken-entity"]


def test_a_block_bomb_is_refused():
    document, space = drawing()
    document.blocks.new("B").add_circle((0, 0), 1)
    many = {"row_count": 30000, "column_count": 30000, "row_spacing": 3, "column_spacing": 3}
    space.add_blockref("B", (0, 0), dxfattribs=many)
    with pytest.raises(ArtworkError, match="repeats block"):
        read(document)


@pytest.mark.parametrize("binary", [False, True], ids=["text", "binary"])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.999])
def test_cut_files_are_refused(binary, share):
    document, space = drawing()
    circle(space)
    data = data_of(document, binary=binary)
    with pytest.raises(ArtworkError, match=r"a\.dxf"):
        read_artwork(data[: int(len(data) * share)], "a.dxf")


@pytest.mark.parametrize("data", [b"EOF", b"SECTION ENTITIES EOF", b"\x00" * 99 + b"EOF"])
def test_junk_is_refused(data):
    with pytest.raises(ArtworkError, match=r"a\.dxf"):
        read_artwork(data, "a.dxf")


def test_an_empty_drawing_is_refused():
    with pytest.raises(ArtworkError, match="no shape"):
        read(drawing()[0])

"""The picture of shapes with their ids: every name there, none lapping another, near its shape."""

import io

import numpy as np
import pytest
import resvg_py
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from embellish.artwork.artwork import Artwork
from embellish.artwork.svg.reading import read_svg
from embellish.outputs.drawing.drawing import Curves, Drawing, Lines, Words
from embellish.outputs.drawing.png import png_bytes
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.label_places import Wanted, box_size, label_places, leader_end
from embellish.outputs.shapes_picture import shapes_drawing
from tests.artwork.svg.cases import page


def read(body: str) -> Artwork:
    return read_svg(page(body).encode(), "a.svg")[0]


def words(drawing: Drawing, layer: str) -> list[Words]:
    return [
        item
        for each in drawing.layers
        if each.id == layer
        for item in each.items
        if isinstance(item, Words)
    ]


def boxes(drawing: Drawing) -> np.ndarray:
    (names,) = (layer for layer in drawing.layers if layer.id == "names")
    rings = [item.lines[0] for item in names.items if isinstance(item, Lines)]
    corners = np.array([[*ring.min(axis=0), *ring.max(axis=0)] for ring in rings])
    found: np.ndarray = shapely.box(*corners.T)
    return found


def lapping(some: np.ndarray) -> int:
    a, b = shapely.STRtree(some).query(some, predicate="intersects")
    return int((shapely.area(shapely.intersection(some[a], some[b])) > 1e-9)[a < b].sum())


SCATTERED = "".join(
    f'<circle id="dot-{i}" cx="{7 * i % 97 + 1}" cy="{31 * i % 95 + 2}" r="2"/>' for i in range(60)
)


def test_every_shape_is_named_as_a_selector_names_it():
    body = (
        '<g id="wings"><path id="left wing" d="M5 5h40v40z"/><rect class="spot" x="60" y="9"'
        ' width="9" height="9"/></g><path id="feeler" d="M9 90h60" fill="none" stroke="red"/>'
    )
    drawing, unnamed = shapes_drawing(read(body), "moth.svg")
    assert unnamed == ()
    assert {each.text for each in words(drawing, "names")} == {
        '[id="left wing"]',
        "#rect-1",
        "#feeler",
    }
    said = " ".join(each.text for each in words(drawing, "words"))
    for part in ("moth.svg", "100 × 100 mm", "3 shapes", "#wings (2)", ".spot (1)", "#ff0000"):
        assert part in said


def test_names_do_not_lap_and_stay_on_the_page():
    drawing, unnamed = shapes_drawing(read(SCATTERED), "dots.svg")
    assert unnamed == ()
    every = boxes(drawing)
    assert len(every) == 60
    assert lapping(every) == 0
    assert shapely.covers(shapely.box(0, 0, drawing.width_mm, drawing.height_mm), every).all()


def test_a_name_stands_within_a_shape_that_has_room_for_it():
    drawing, _ = shapes_drawing(read('<rect id="big" x="10" y="10" width="80" height="80"/>'), "a")
    curve = next(layer.items[0] for layer in drawing.layers if layer.id == "shapes")
    assert isinstance(curve, Curves)
    low, high = curve.chains[0].min(axis=(0, 1)), curve.chains[0].max(axis=(0, 1))
    assert shapely.covers(shapely.box(*low, *high), boxes(drawing)).all()


def test_a_small_drawing_on_a_large_page_fills_the_picture():
    drawing, _ = shapes_drawing(read('<rect id="a" x="70" y="80" width="6" height="4"/>'), "a")
    curve = next(layer.items[0] for layer in drawing.layers if layer.id == "shapes")
    assert isinstance(curve, Curves)
    assert float(np.ptp(curve.chains[0][..., 0])) > 150
    assert "page" not in {layer.id for layer in drawing.layers}


def test_shapes_upon_each_other_are_told_apart():
    body = "".join(f'<rect id="one-{i}" x="40" y="40" width="9" height="9"/>' for i in range(12))
    drawing, unnamed = shapes_drawing(read(body), "a.svg")
    assert unnamed == ()
    assert lapping(boxes(drawing)) == 0


def test_names_without_room_are_told():
    body = '<circle cx="50" cy="50" r=".3"/>' * 250
    drawing, unnamed = shapes_drawing(read(body), "a.svg")
    assert lapping(boxes(drawing)) == 0
    assert len(unnamed) + len(words(drawing, "names")) == 250
    assert unnamed
    said = " ".join(each.text for each in words(drawing, "words"))
    assert f"Without room for their names here: {len(unnamed)}" in said


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M50 50h1e-7" fill="none" stroke="red"/>',
        '<path d="M10 10v80" fill="none" stroke="red"/>',
        '<path d="M0 0L10 10V0L0 10z"/>',
        '<circle cx="5000" cy="5" r="5"/>',
        f'<rect id="{"long" * 60}" width="9" height="9"/>',
    ],
)
def test_odd_shapes_are_drawn(body):
    drawing, unnamed = shapes_drawing(read(body), "odd.svg")
    assert unnamed == ()
    assert len(png_bytes(drawing, 2.0)) > 500


def test_an_artwork_without_size_is_drawn_and_says_so():
    text = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 12"><path d="M1 1h9v9z"/></svg>'
    drawing, _ = shapes_drawing(read_svg(text.encode(), "a.svg")[0], "a.svg")
    assert any("24 × 12 units, with no size in mm" in w.text for w in words(drawing, "words"))


def test_the_same_artwork_gives_the_same_bytes():
    first, again = (svg_bytes(shapes_drawing(read(SCATTERED), "a.svg")[0]) for _ in range(2))
    assert first == again


def test_another_renderer_shows_the_shapes_where_they_are_drawn():
    """Outside check: resvg paints the SVG of the picture as our own PNG writer does."""
    body = '<rect id="b" x="10" y="60" width="30" height="30" fill="#c00"/>'
    drawing, _ = shapes_drawing(read(body), "a.svg")
    ours = np.asarray(Image.open(io.BytesIO(png_bytes(drawing, 4.0))).convert("RGB"), dtype=float)
    data = resvg_py.svg_to_bytes(
        svg_string=svg_bytes(drawing).decode(), width=ours.shape[1], dpi=96, background="white"
    )
    theirs = np.asarray(Image.open(io.BytesIO(bytes(data))).convert("RGB"), dtype=float)
    high = min(len(ours), len(theirs))
    reddish = [(p[:high, :, 0] - p[:high, :, 2]) > 40 for p in (ours, theirs)]
    assert reddish[0].sum() > 10_000
    assert (reddish[0] != reddish[1]).sum() < 0.03 * reddish[0].sum()


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(2, 30), st.floats(0, 100), st.floats(0, 80)), min_size=1, max_size=40
    )
)
def test_wherever_names_are_wanted_none_lap_and_no_leader_is_covered(points):
    """Law of the places, for any anchors."""
    height = 2.0
    wanted = [Wanted(wide, np.array([[x, y]])) for wide, x, y in points]
    spots = label_places(wanted, height, (0.0, 0.0, 100.0, 80.0), np.zeros((0, 2)))
    found = [(spot, one) for spot, one in zip(spots, wanted, strict=True) if spot is not None]
    some = []
    for spot, one in found:
        wide, high = box_size(one.width_mm, height)
        some.append(
            shapely.box(
                spot.x_mm - wide / 2,
                spot.y_mm - high / 2,
                spot.x_mm + wide / 2,
                spot.y_mm + high / 2,
            )
        )
    every = np.array(some)
    assert lapping(every) == 0
    assert shapely.covers(shapely.box(-1e-9, -1e-9, 100 + 1e-9, 80 + 1e-9), every).all()
    for index, (spot, one) in enumerate(found):
        if spot.leader is None:
            continue
        line = shapely.LineString([spot.leader, leader_end(spot, one.width_mm, height)])
        others = np.delete(every, index)
        # The grid of what is taken has cells of half a millimetre.
        assert (shapely.length(shapely.intersection(line, others)) < 1.1).all()

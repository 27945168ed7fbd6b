"""Ids, layers, colours, classes and strokes of shapes as read."""

import gzip

import pytest

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.findings import Finding
from tests.artwork.svg.cases import NS, PAGE, SQUARE, page

LABEL = 'xmlns:any="urn:any" '


def read(body: str) -> tuple[Artwork, tuple[Finding, ...]]:
    return read_svg(page(body).encode(), "drawing.svg")


def shapes(body: str) -> tuple[Shape, ...]:
    return read(body)[0].shapes


def test_ids_are_kept_and_made_by_kind_and_order():
    body = '<rect id="a" width="1" height="1"/><path d="M0 0h1v1z"/><rect width="1" height="1"/>'
    assert [s.id for s in shapes(body)] == ["a", "path-1", "rect-2"]


def test_made_ids_never_clash():
    body = '<rect width="1" height="1"/><rect id="rect-1" width="1" height="1"/>'
    assert [s.id for s in shapes(body)] == ["rect-1-2", "rect-1"]


def test_an_id_used_twice_is_told_and_numbered():
    artwork, findings = read(
        '<rect id="a" width="1" height="1"/><rect id="a" width="2" height="1"/>'
    )
    assert [s.id for s in artwork.shapes] == ["a", "a-2"]
    assert [f.code for f in findings] == ["duplicate-id"]


def test_copies_carry_the_ids_of_both():
    body = (
        '<defs><g id="leaf"><rect id="blade" width="1" height="1"/><circle r="1"/></g></defs>'
        '<use id="one" href="#leaf"/><use href="#leaf" x="5"/>'
    )
    found = shapes(body)
    assert [s.id for s in found] == ["one/blade", "one/circle-1", "use-2/blade", "use-2/circle-1"]
    assert found[0].groups == ("one", "one/leaf")
    assert found[2].groups == ("use-2", "use-2/leaf")


def test_copies_of_copies():
    body = (
        '<defs><rect id="r" width="1" height="1"/><use id="b" href="#r"/></defs>'
        '<use id="c" href="#b"/>'
    )
    assert [s.id for s in shapes(body)] == ["c/b/r"]


def test_paint_order_is_document_order():
    body = '<g><rect id="a" width="1" height="1"/></g><rect id="b" width="1" height="1"/>'
    assert [s.id for s in shapes(body)] == ["a", "b"]


@pytest.mark.parametrize(
    ("body", "layer"),
    [
        (SQUARE, ""),
        (f'<g id="top">{SQUARE}</g>', "top"),
        (f'<g id="top"><g id="in">{SQUARE}</g></g>', "top"),
        (f'<g {LABEL} id="top" any:label="Wing, left">{SQUARE}</g>', "Wing, left"),
        (f'<g {LABEL} any:label="Out"><g any:label="In">{SQUARE}</g></g>', "In"),
        (f'<g {LABEL} any:label="Out"><g id="in">{SQUARE}</g></g>', "Out"),
        (f'<g {LABEL} id="top" any:label=" ">{SQUARE}</g>', "top"),
        (f'<g><g id="in">{SQUARE}</g></g>', "in"),
        (f'<switch><g id="in">{SQUARE}</g></switch>', "in"),
    ],
)
def test_layers(body, layer):
    assert shapes(body)[0].layer == layer


@pytest.mark.parametrize(
    ("paint", "expected"),
    [
        ("", "#000000"),
        ('fill="#F0a"', "#ff00aa"),
        ('fill="#12345678"', "#123456"),
        ('fill="Teal"', "#008080"),
        ('fill="rgb(10%, 20%, 100%)"', "#1a33ff"),
        ('fill="hsl(120, 100%, 50%)"', "#00ff00"),
        ('color="#010203" fill="currentColor"', "#010203"),
        ('style="fill:#abc"', "#aabbcc"),
        ('fill="#cd853f icc-color(x, 0.1)"', "#cd853f"),
        ('fill="none"', None),
        ('fill="transparent"', None),
        ('fill="red" fill-opacity="0"', None),
        ('fill="url(#gone) #0f0"', "#00ff00"),
    ],
)
def test_fills(paint, expected):
    (shape,) = shapes(f'<rect {paint} width="1" height="1"/>')
    assert shape.fill == expected


def test_current_color_is_the_elements_own_though_inherited():
    (shape,) = shapes(
        '<g fill="currentColor" color="red"><rect color="blue" width="1" height="1"/></g>'
    )
    assert shape.fill == "#0000ff"


def test_a_gradient_is_its_mean_and_told():
    # Black to white over the whole length: the mean is middle grey; the second half is white.
    stops = (
        '<stop offset="0"/><stop offset=".5" stop-color="#fff"/>'
        '<stop offset="1" stop-color="#fff"/>'
    )
    body = (
        f'<linearGradient id="a">{stops}</linearGradient><radialGradient id="b" href="#a"/>'
        '<rect fill="url(#b)" width="1" height="1"/>'
    )
    artwork, findings = read(body)
    assert artwork.shapes[0].fill == "#bfbfbf"
    assert [f.code for f in findings] == ["paint-simplified"]
    assert "#bfbfbf" in findings[0].message


def test_strokes():
    (shape,) = shapes(
        '<g transform="scale(2)"><path d="M0 0h5v5" fill="none" stroke="#00f" stroke-width="1.5" '
        'stroke-linecap="round" stroke-linejoin="bevel"/></g>'
    )
    assert (shape.fill, shape.stroke) == (None, "#0000ff")
    assert shape.stroke_width_mm == pytest.approx(3)
    assert (shape.stroke_cap, shape.stroke_join) == ("round", "bevel")
    assert shape.kind == "path"


@pytest.mark.parametrize("how", ['stroke-width="0"', 'stroke-opacity="0"', 'stroke="none"'])
def test_strokes_that_do_not_show(how):
    (shape,) = shapes(f'<g stroke="red"><rect {how} width="1" height="1"/></g>')
    assert shape.stroke is None
    assert shape.stroke_width_mm == 0.0


@pytest.mark.parametrize(
    "body", ['<line x2="5" y2="1" stroke="red"/>', '<path d="M0 0L5 5 9 9" stroke="red"/>']
)
def test_a_straight_line_is_no_region_though_black_by_default(body):
    (shape,) = shapes(body)
    assert shape.fill is None
    assert shape.kind == "path"


def test_unpainted_shapes_stay_as_guides():
    (shape,) = shapes('<rect fill="none" width="1" height="1"/>')
    assert shape.kind == "region"


def test_classes_come_from_the_groups_as_well():
    (shape,) = shapes('<g class="wing big"><rect class="left wing" width="1" height="1"/></g>')
    assert shape.classes == ("wing", "big", "left")


def test_gzip_is_unpacked():
    artwork, _ = read_svg(gzip.compress(page(SQUARE).encode()), "a.svgz")
    assert len(artwork.shapes) == 1


def test_utf_16_and_no_namespace_are_read():
    plain = page(SQUARE).replace(NS, "")
    artwork, _ = read_svg(plain.encode("utf-16"), "a.svg")
    assert len(artwork.shapes) == 1


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "empty"),
        (b"  \n", "empty"),
        (b"<svg", "line 1"),
        (f"{PAGE}\n\n<g></svg>".encode(), "line 3"),
        (b"<html/>", "no SVG"),
        (b"\x89PNG\r\n", "another kind"),
        (page("").encode(), "no shape"),
        (page("<text>hello</text>").encode(), "lettering"),
        (page('<g display="none"><rect width="5" height="5"/></g>').encode(), "hidden"),
        (gzip.compress(page(SQUARE).encode())[:-9], "cut short"),
        (b"\x1f\x8bjunk", "damaged"),
    ],
)
def test_what_cannot_be_read_says_so(data, part):
    with pytest.raises(ArtworkError, match=part) as wrong:
        read_svg(data, "moth.svg")
    assert str(wrong.value).startswith("moth.svg")


def test_a_line_without_length_is_the_dot_it_paints():
    stroke = 'stroke="red" stroke-width="4" stroke-linecap="round"'
    artwork, findings = read(f'<line id="eye" x1="9" x2="9" y1="7" y2="7" {stroke}/>')
    (dot,) = artwork.shapes
    assert (dot.id, dot.fill, dot.stroke, dot.kind) == ("eye", "#ff0000", None, "region")
    assert artwork.bounds() == pytest.approx((7, 5, 11, 9))
    assert [f.code for f in findings] == ["dot-as-shape"]


def test_dots_beside_lines_are_a_shape_of_their_own():
    stroke = 'fill="none" stroke="red" stroke-width="2" stroke-linecap="square"'
    found = shapes(f'<path id="p" d="M0 0h5M9 9h0M20 20z" {stroke}/>')
    assert [(s.id, s.kind, len(s.paths)) for s in found] == [
        ("p", "path", 1),
        ("p-dots", "region", 2),
    ]


def test_butt_ends_paint_no_dot():
    _, findings = read(f'<path d="M9 9h0" stroke="red" stroke-width="2"/>{SQUARE}')
    assert [f.code for f in findings] == ["empty-shape"]

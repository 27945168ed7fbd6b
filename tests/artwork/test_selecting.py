import pytest

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.selecting import by_id, select
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from tests.artwork.svg.cases import page

BODY = """
<g id="left" any:label="Wing, left" xmlns:any="urn:any" class="wing">
  <rect id="a" class="big dot" fill="#F00" width="5" height="5"/>
  <path id="b.1" class="dot" fill="none" stroke="#0000ff" d="M0 0h5v5"/>
</g>
<g id="tail"><circle id="c" fill="#f00" stroke="#00f" r="3"/></g>
<use id="copy" href="#c" x="20"/>
"""


@pytest.fixture(scope="module")
def artwork() -> Artwork:
    return read_svg(page(BODY).encode(), "moth.svg")[0]


def ids(shapes: tuple[Shape, ...]) -> list[str]:
    return [shape.id for shape in shapes]


@pytest.mark.parametrize(
    ("selector", "found"),
    [
        ("*", ["a", "b.1", "c", "copy/c"]),
        ("#a", ["a"]),
        ("#c, #a", ["a", "c"]),
        ("#left", ["a", "b.1"]),
        ("#copy", ["copy/c"]),
        ("#copy/c", ["copy/c"]),
        (r"#b\.1", ["b.1"]),
        ('[id="b.1"]', ["b.1"]),
        (".dot", ["a", "b.1"]),
        (".wing", ["a", "b.1"]),
        (".dot.big", ["a"]),
        ("#left.big", ["a"]),
        ('[layer="Wing, left"]', ["a", "b.1"]),
        ("[layer='tail']", ["c"]),
        ("[layer=tail]", ["c"]),
        ('[layer=""]', ["copy/c"]),
        ('[fill="#ff0000"]', ["a", "c", "copy/c"]),
        ('[fill="#F00"]', ["a", "c", "copy/c"]),
        ("[fill=none]", ["b.1"]),
        ('[stroke="#0000FF"]', ["b.1", "c", "copy/c"]),
        ('[fill="#f00"][stroke="none"]', ["a"]),
        ("[kind=path]", ["b.1"]),
        (" #a ,\n .dot , #c ", ["a", "b.1", "c"]),
    ],
)
def test_found_in_paint_order(artwork, selector, found):
    assert ids(select(artwork, selector)) == found


@pytest.mark.parametrize(
    "selector",
    [
        "",
        " ",
        ",",
        "#a,",
        ",#a",
        "#a,,#c",
        "rect",
        "#left .dot",
        "#left > .dot",
        "#",
        ".",
        "[layer]",
        "[layer=",
        "[size=3]",
        "[fill=red]",
        '[fill="#ff"]',
        "[kind=blob]",
        "#a:hover",
        "#left>.dot",
        "#a+#c",
        "a#b",
    ],
)
def test_what_cannot_be_read_lists_what_there_is(artwork, selector):
    with pytest.raises(ArtworkError, match="cannot be read") as wrong:
        select(artwork, selector)
    assert "#a" in wrong.value.mend
    assert '[layer="Wing, left"]' in wrong.value.mend


def test_nothing_found_lists_what_there_is(artwork):
    with pytest.raises(ArtworkError, match="finds no shape") as wrong:
        select(artwork, "#wing")
    assert '#a, [id="b.1"], #c' in wrong.value.mend
    assert "groups: #left, #tail, #copy" in wrong.value.mend


def test_long_lists_are_shortened():
    body = "".join(f'<rect id="r{i}" width="1" height="1"/>' for i in range(40))
    artwork, _ = read_svg(page(body).encode(), "many.svg")
    with pytest.raises(ArtworkError) as wrong:
        select(artwork, "#no")
    assert "#r11 and 28 more" in wrong.value.mend


def test_every_id_has_a_selector_that_finds_it(artwork):
    for shape in artwork.shapes:
        assert shape in select(artwork, by_id(shape.id))


@pytest.mark.parametrize(
    ("selector", "meant"),
    [
        ("#tial", "#tail"),
        ("tail", "#tail"),
        ("#TAIL", "#tail"),
        (".wign", ".wing"),
        ("#left #tail", ""),
        ("#zip", ""),
    ],
)
def test_a_selector_that_finds_nothing_names_the_nearest(artwork, selector, meant):
    with pytest.raises(ArtworkError) as told:
        select(artwork, selector)
    assert (f"Did you mean '{meant}'?" in str(told.value)) == bool(meant)
    assert "Shapes: #a" in str(told.value)

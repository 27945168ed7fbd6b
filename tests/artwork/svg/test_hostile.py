"""Drawings made to hurt are refused with a sentence, or read with a finding; none runs away."""

import gzip
import os
import re
import subprocess
import sys

import pytest

from embellish.artwork.flatten import region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.formats.xml import MAX_BYTES
from tests.artwork.svg.cases import PAGE, SQUARE, page

ENTITIES = '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">' + "".join(
    f'<!ENTITY {one} "{f"&{before};" * 10}">'
    for before, one in zip("abcdefgh", "bcdefghi", strict=True)
)
COPIES = "".join(f'<g id="u{i}">' + f'<use href="#u{i - 1}"/>' * 10 + "</g>" for i in range(1, 9))
CLIP_CHAIN = "".join(
    f'<clipPath id="c{i}"><rect clip-path="url(#c{i + 1})" width="9" height="9"/></clipPath>'
    for i in range(2000)
)


def nested(depth: int, body: str) -> str:
    return "<g>" * depth + body + "</g>" * depth


REFUSED = pytest.mark.parametrize(
    ("name", "data", "part"),
    [
        ("entities", f"{ENTITIES}]>{page('<text>&i;</text>')}", "entities"),
        ("100 000 deep", page(nested(100_000, SQUARE)), "deep|depth"),
        ("250 deep", page(nested(250, SQUARE)), "nested more than"),
        ("copies", page(f'<defs><rect id="u0"/>{COPIES}</defs><use href="#u8"/>'), "copies"),
        ("30 MB", page('<path d="' + "M0 0L1 1" * (30 * 2**20 // 8) + '"/>'), "larger than"),
        ("segments", page('<path d="M0 0' + "l1 2" * 400_000 + '"/>'), "curve segments"),
        ("elements", page(SQUARE * 110_000), "elements"),
        ("nan alone", page('<path d="M0 0L nan 3"/>'), "no shape"),
        ("infinite", page('<circle r="1e999"/>'), "no shape"),
        ("huge", page('<path d="M0 0L1e11 3L4 4"/>'), "beyond any garment"),
        (
            "huge maps",
            page(f'<g transform="scale(1e9)"><g transform="scale(1e9)">{SQUARE}</g></g>'),
            "bounds",
        ),
        ("clips of clips", page(f'{CLIP_CHAIN}<g clip-path="url(#c0)">{SQUARE}</g>'), "clip"),
        (
            "selectors",
            page("<style>" + ":not(" * 3000 + "a" + ")" * 3000 + "{}</style>" + SQUARE),
            "deep",
        ),
        ("values", page('<rect width="1" height="1" style="fill:' + "(" * 50_000 + '"/>'), "deep"),
        (
            "rules",
            page(
                "<style>"
                + ".a{k:v}" * 2000
                + "</style>"
                + '<rect class="a" width="1" height="1"/>' * 2000
            ),
            "style rules",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) and len(value) < 20 else "",
)


@REFUSED
def test_refused(name, data, part):
    with pytest.raises(ArtworkError, match=part) as wrong:
        read_svg(data.encode(), f"{name}.svg")
    assert len(str(wrong.value)) < 600


WITHIN = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (2**30, 2**30))
resource.setrlimit(resource.RLIMIT_CPU, (20, 20))
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
try:
    read_svg(sys.stdin.buffer.read(), "a.svg")
except ArtworkError as wrong:
    print("refused", wrong)
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory are Linux's")
@REFUSED
def test_refused_within_a_gigabyte_and_seconds(name, data, part):
    done = subprocess.run(
        [sys.executable, "-c", WITHIN],
        input=data.encode(),
        capture_output=True,
        check=False,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )
    said = done.stdout.decode()
    assert said.startswith("refused"), (name, done.stderr[-400:])
    assert re.search(part, said)


def test_entities_in_utf_16_are_seen():
    with pytest.raises(ArtworkError, match="entities"):
        read_svg(f"{ENTITIES}]>{page(SQUARE)}".encode("utf-16"), "a.svg")


def test_a_small_gzip_cannot_fill_the_memory():
    with pytest.raises(ArtworkError, match="larger than"):
        read_svg(gzip.compress(b" " * (4 * MAX_BYTES)), "a.svgz")


def test_an_outside_document_type_is_not_fetched(tmp_path):
    types = tmp_path / "types.dtd"
    types.write_text('<!ATTLIST rect width CDATA "50">')
    data = f'<!DOCTYPE svg SYSTEM "{types.as_uri()}">{PAGE}<rect height="5"/>{SQUARE}</svg>'
    artwork, _ = read_svg(data.encode(), "a.svg")
    assert len(artwork.shapes) == 1


COPY_LOOP = f'<g id="a"><use href="#a"/>{SQUARE}</g>'
COPY_RING = f'<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/>{SQUARE}</g>'
CLIP_LOOP = f"""<clipPath id="c" clip-path="url(#c)"><rect width="9" height="9"/></clipPath>
<g clip-path="url(#c)">{SQUARE}</g>"""
PAINT_LOOP = """<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>
<rect fill="url(#a)" width="5" height="5"/>"""
HUGE_CLIP = f'<clipPath id="c"><circle r="1e11"/></clipPath><g clip-path="url(#c)">{SQUARE}</g>'
BOXES = (
    '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/>'
    "</clipPath>" + '<g clip-path="url(#c)">' * 60 + SQUARE + "</g>" * 60
)
STEPS = "<style>x * * * * * * * a{fill:red}</style>" + nested(150, SQUARE)
DEEP = nested(190, SQUARE)


@pytest.mark.parametrize(
    "body", [COPY_LOOP, COPY_RING, CLIP_LOOP, PAINT_LOOP, HUGE_CLIP, BOXES, STEPS, DEEP]
)
def test_loops_and_depths_end(body):
    artwork, _ = read_svg(page(body).encode(), "a.svg")
    assert artwork.shapes


def test_lines_that_cross_without_end_are_not_filled():
    points = " ".join(f"{i * 7919 % 1000} {i * 104729 % 977}" for i in range(30_000))
    artwork, _ = read_svg(page(f'<polygon points="{points}"/>').encode(), "a.svg")
    with pytest.raises(ArtworkError, match="cross each other too often"):
        region_of(artwork.shapes[0])


def test_clip_paths_that_cross_without_end_are_refused():
    points = " ".join(f"{i * 7919 % 1000} {i * 104729 % 977}" for i in range(30_000))
    clip = f'<clipPath id="c"><polygon points="{points}"/></clipPath>'
    with pytest.raises(ArtworkError, match="cross each other too often"):
        read_svg(page(f'{clip}<g clip-path="url(#c)">{SQUARE}</g>').encode(), "a.svg")


def test_curves_that_need_too_many_points_are_refused():
    data = "c90 90-90 90 0 0" * 8000
    clip = f'<clipPath id="c"><path d="M0 0{data}"/></clipPath>'
    with pytest.raises(ArtworkError, match="points"):
        read_svg(page(f'{clip}<g clip-path="url(#c)">{SQUARE}</g>').encode(), "a.svg")

"""What is not understood is told, with the element and the effect."""

import pytest

from embellish.artwork.svg.reading import read_svg
from tests.artwork.svg.cases import SQUARE, page

CLIP = '<clipPath id="c"><rect width="5" height="5"/></clipPath>'


@pytest.mark.parametrize(
    ("body", "code", "words"),
    [
        ('<text id="t">Hi</text>', "element-left-out", ["<text> 't'", "lettering"]),
        ('<image id="i" href="a.png"/>', "element-left-out", ["<image> 'i'", "picture"]),
        ("<foreignObject/>", "element-left-out", ["<foreignObject> in line 1", "left out"]),
        ("<script>1</script>", "element-left-out", ["<script>", "never run"]),
        ("<blob/>", "element-left-out", ["<blob>", "unknown"]),
        ('<use href="#gone"/>', "element-left-out", ["#gone", "not in the file"]),
        ('<use href="other.svg#a"/>', "element-left-out", ["other.svg#a", "outside the file"]),
        ('<use id="u" href="#u"/>', "use-loop", ["<use> 'u'", "itself"]),
        ('<rect id="r" width="-1" height="5"/>', "element-left-out", ["'r'", "width is negative"]),
        ('<rect width="5x" height="5"/>', "element-left-out", ["5x", "no length"]),
        ('<circle id="z"/>', "empty-shape", ["'z'", "no extent"]),
        ('<path id="p" d="M0 0H5V5z Q"/>', "data-cut-short", ["'p'", "up to the error"]),
        ('<polygon points="0 0 5 5 5"/>', "data-cut-short", ["<polygon>"]),
        (
            '<rect transform="spin(2)" width="5" height="5"/>',
            "bad-transform",
            ["spin(2)", "ignored"],
        ),
        ('<rect mask="url(#m)" width="5" height="5"/>', "mask-ignored", ["mask", "whole"]),
        (
            '<g filter="url(#f)"><rect width="5" height="5"/></g>',
            "filter-ignored",
            ["<g>", "filter"],
        ),
        ('<path marker-end="url(#m)" d="M0 0h5"/>', "marker-left-out", ["markers", "left out"]),
        (
            '<path stroke-dasharray="2 1" stroke="red" d="M0 0h5"/>',
            "dashes-ignored",
            ["dashed", "unbroken"],
        ),
        (
            '<pattern id="k"/><rect fill="url(#k)" width="5" height="5"/>',
            "paint-simplified",
            ["pattern", "#808080"],
        ),
        ('<rect fill="url(#k)" width="5" height="5"/>', "paint-simplified", ["#k", "unpainted"]),
        ('<rect fill="notacolour" width="5" height="5"/>', "style-left-out", ["notacolour"]),
        ('<rect style="fill:var(--x)" width="5" height="5"/>', "style-left-out", ["variable"]),
        ("<style>@import 'a.css';</style>", "style-left-out", ["@import"]),
        ("<style>a..b{fill:red}</style>", "style-left-out", ["a..b"]),
        ("<style type='text/x'>a</style>", "style-left-out", ["text/x"]),
        ("<style>@media print{a{fill:red}}</style>", "style-left-out", ["print"]),
        ('<g visibility="hidden"><rect width="5" height="5"/></g>', "hidden-left-out", ["hidden"]),
        ('<g clip-path="circle(5px)"><rect width="5" height="5"/></g>', "clip-ignored", ["circle"]),
        ('<g clip-path="url(#gone)"><rect width="5" height="5"/></g>', "clip-ignored", ["#gone"]),
        (f'{CLIP}<rect clip-path="url(#c)" width="9" height="9"/>', "clipped", ["cut along"]),
        (
            f'{CLIP}<rect clip-path="url(#c)" x="20" width="9" height="9"/>',
            "clipped-away",
            ["outside"],
        ),
        (
            '<svg width="5" height="5" viewBox="x"><rect width="1" height="1"/></svg>',
            "bad-length",
            ["viewBox"],
        ),
        ('<g opacity=".5"><rect width="5" height="5"/></g>', "opacity-ignored", ["<g>", "solid"]),
        ('<rect fill-opacity="40%" width="5" height="5"/>', "opacity-ignored", ["<rect>"]),
        ('<rect fill="rgba(9,9,9,.5)" width="5" height="5"/>', "opacity-ignored", ["<rect>"]),
        ('<rect width="5" height="5"><animate/></rect><animate/>', "element-left-out", ["still"]),
    ],
)
def test_each_is_told(body, code, words):
    _, findings = read_svg(page(body + SQUARE).encode(), "f.svg")
    told = [finding for finding in findings if finding.code == code]
    assert told, [(f.code, f.message) for f in findings]
    for word in words:
        assert any(word in finding.message for finding in told), told


def test_plain_drawings_have_no_findings():
    body = '<title>x</title><metadata><a xmlns="urn:x"/></metadata><defs/><desc/>' + SQUARE
    assert read_svg(page(body).encode(), "f.svg")[1] == ()


def test_like_cases_are_one_finding():
    _, findings = read_svg(page("<text/>" * 40 + SQUARE).encode(), "f.svg")
    assert len(findings) == 1
    assert "and 39 more" in findings[0].message
    named = "".join(f'<text id="t{i}"/>' for i in range(7))
    _, findings = read_svg(page(named + SQUARE).encode(), "f.svg")
    assert "'t0'" in findings[0].message
    assert "'t4' and 2 more" in findings[0].message


def test_an_outside_style_sheet_is_told():
    data = b'<?xml-stylesheet href="a.css"?>' + page(SQUARE).encode()
    _, findings = read_svg(data, "f.svg")
    assert "outside style sheet" in findings[0].message

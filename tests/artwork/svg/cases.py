"""Small drawings with one oddity each, and the area or length they must have.

Each body stands on a page of 100 × 100 mm with a view box of 100 × 100, so that a user unit is a
millimetre, unless the case gives its own document. ``area`` is that of everything filled taken
together, in mm²; ``length`` that of all lines; both follow from school geometry, shown beside.
"""

# ruff: noqa: E501 - a drawing of one line is read as one line

from __future__ import annotations

import math
from dataclasses import dataclass

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
PAGE = f'<svg {NS} width="100mm" height="100mm" viewBox="0 0 100 100">'
PI = math.pi


def page(body: str) -> str:
    return f"{PAGE}{body}</svg>"


def svg(attributes: str, body: str) -> str:
    return f"<svg {NS} {attributes}>{body}</svg>"


@dataclass(frozen=True)
class Case:
    name: str
    svg: str
    area: float | None = None
    length: float | None = None
    renders_alike: bool = True
    """Whether the reference renderer is right on it, so that it may be an outside check."""


def shape(
    name: str,
    body: str,
    *,
    area: float | None = None,
    length: float | None = None,
    renders_alike: bool = True,
) -> Case:
    return Case(name, page(body), area, length, renders_alike)


SQUARE = '<rect width="10" height="10"/>'

BASIC = [
    shape("rect", '<rect x="5" y="6" width="20" height="10"/>', area=200.0, length=60.0),
    # Four quarter circles of radius 3 stand in for four squares of side 3: 200 - (4 - π) 9.
    shape("rect rounded", '<rect width="20" height="10" rx="3"/>', area=200 - (4 - PI) * 9),
    shape("rect, ry alone", '<rect width="20" height="10" ry="3"/>', area=200 - (4 - PI) * 9),
    # Radii beyond half a side are cut to it: 10 and 5, an ellipse.
    shape("rect, radii cut", '<rect width="20" height="10" rx="50" ry="50"/>', area=PI * 10 * 5),
    shape("rect, rx zero", '<rect width="20" height="10" rx="0" ry="4"/>', area=200.0),
    shape("circle", '<circle cx="20" cy="20" r="10"/>', area=100 * PI, length=20 * PI),
    shape("ellipse", '<ellipse cx="20" cy="20" rx="10" ry="5"/>', area=50 * PI),
    shape("ellipse, auto radius", '<ellipse cx="20" cy="20" rx="10"/>', area=100 * PI),
    shape("line", '<line x1="10" y1="10" x2="13" y2="14" stroke="red"/>', length=5.0),
    shape("polyline is filled", '<polyline points="0,0 10,0 10,10"/>', area=50.0, length=20.0),
    shape("polygon", '<polygon points="0 0 10 0 10 10 0 10"/>', area=100.0, length=40.0),
    shape("polygon, odd number", '<polygon points="0 0 10 0 10 10 0 10 5"/>', area=100.0),
    shape("polygon, tight numbers", '<polygon points="0-0 1e1-0 10 10-0 10"/>', area=100.0),
    # r in % is of the normalised diagonal: √(100² + 100²) / √2 = 100.
    shape("circle in percent", '<circle cx="50%" cy="50%" r="10%"/>', area=100 * PI),
    # 10 mm are 960/25.4 px: lengths in user space count px, whatever the page's scale.
    shape("lengths in millimetres", '<rect width="10mm" height="1cm"/>', area=(960 / 25.4) ** 2),
    shape("lengths in em", '<rect font-size="5" width="2em" height="4ex"/>', area=100.0),
]

PATHS = [
    shape("relative", '<path d="m10 10h10v10h-10z"/>', area=100.0, length=40.0),
    shape("moveto goes on as lineto", '<path d="M0 0 10 0 10 10 0 10z"/>', area=100.0),
    shape("relative moveto goes on", '<path d="m5 5 10 0 0 10 -10 0z"/>', area=100.0),
    # Area under a parabola arc: two thirds of its box, 2/3 · 20 · 5; the peak is half the control.
    shape("quadratic", '<path d="M0 10Q10 0 20 10z"/>', area=2 / 3 * 20 * 5),
    shape("smooth quadratic", '<path d="M0 20Q10 10 20 20T40 20"/>', area=2 * (2 / 3 * 20 * 5)),
    # Depth 3 t (1-t) h, x = w t² (3 - 2t): ∫ depth dx = 18 w h ∫ t² (1-t)² dt = 3/5 w h.
    shape("cubic", '<path d="M0 10C0 0 20 0 20 10z"/>', area=120.0),
    shape("smooth cubic", '<path d="M0 20C0 10 20 10 20 20S40 30 40 20"/>', area=240.0),
    shape("arc: half circle", '<path d="M10 20A10 10 0 0 1 30 20z"/>', area=50 * PI),
    # Three quarters of a circle about (20, 20) and the triangle its chord leaves.
    shape("arc: large", '<path d="M20 10A10 10 0 1 0 30 20z"/>', area=75 * PI + 50),
    shape("arc: flags run together", '<path d="M10 20a10 10 0 0120 0z"/>', area=50 * PI),
    shape("arc: radius grown", '<path d="M10 20A1 1 0 0 1 30 20z"/>', area=50 * PI),
    shape("arc: radius zero", '<path d="M10 20A0 5 0 0 1 30 20" stroke="red"/>', length=20.0),
    shape("arc: turned ellipse", '<path d="M10 20A10 5 90 0 1 30 20z"/>', area=PI * 20 * 10 / 2),
    shape("arc: equal ends", '<path d="M10 10h10A5 5 0 1 1 20 10v10h-10z"/>', area=100.0),
    shape("exponents", '<path d="M0 0H1e1V1E+1H0z"/>', area=100.0),
    shape("signs and dots tight", '<path d="M.5.5h9.5v.5-.5+9.5h-9.5z"/>', area=90.25),
    shape("after z without M", '<path d="M10 10h10v10h-10zl-5 0 0 5z"/>', area=112.5),
    shape("cut short at a bad number", '<path d="M0 0H10V10H0zM20 20 L 30 x"/>', area=100.0),
    shape("cut short at a bad command", '<path d="M0 0H10V10H0z K 5 5"/>', area=100.0),
    shape("missing second number", '<path d="M0 0L10 0 10 10 0"/>', area=50.0),
    shape("filled though open", '<path d="M0 0H10V10H0"/>', area=100.0, length=30.0),
    shape("empty subpaths", '<path d="M5 5zM0 0H10V10H0zM3 3"/>', area=100.0),
]

# A pentagram with tips on a circle of radius 10: the whole outline, and its inner pentagon.
_TIPS = " ".join(
    f"{20 + 10 * math.sin(k * 4 * PI / 5):.12f},{20 - 10 * math.cos(k * 4 * PI / 5):.12f}"
    for k in range(5)
)
_INNER = 10 * math.cos(2 * PI / 5) / math.cos(PI / 5)
STAR = 5 * 10 * _INNER * math.sin(PI / 5)
PENTAGON = 2.5 * _INNER**2 * math.sin(2 * PI / 5)

RULES = [
    shape("star, nonzero", f'<polygon points="{_TIPS}"/>', area=STAR),
    shape(
        "star, evenodd", f'<polygon fill-rule="evenodd" points="{_TIPS}"/>', area=STAR - PENTAGON
    ),
    shape("hole against", '<path d="M0 0H10V10H0zM2 2V8H8V2z"/>', area=64.0),
    shape("loop along", '<path d="M0 0H10V10H0zM2 2H8V8H2z"/>', area=100.0),
    shape("evenodd loop", '<path fill-rule="evenodd" d="M0 0H10V10H0zM2 2H8V8H2z"/>', area=64.0),
    shape(
        "doubled, evenodd",
        '<path fill-rule="evenodd" d="M0 0H9V9H0zM0 0H9V9H0zM20 0h2v2h-2z"/>',
        area=4.0,
    ),
    shape("eight", '<path d="M0 0L10 10V0L0 10z"/>', area=50.0),
    shape("touching corner", '<path d="M0 0H5V5H10V10H5V5H0z"/>', area=50.0),
    shape("shared edge", '<path d="M0 0H5V10H0zM5 0H10V10H5z"/>', area=100.0),
    shape("spike without width", '<path d="M0 0H10V5H20H10V10H0z"/>', area=100.0),
]

STRUCTURE = [
    shape("translate", f'<g transform="translate(5,5)">{SQUARE}</g>', area=100.0),
    shape("scale one number", f'<g transform="scale(2)">{SQUARE}</g>', area=400.0),
    shape(
        "order of a list",
        f'<g transform="translate(30) rotate(45) scale(2 3)">{SQUARE}</g>',
        area=600.0,
    ),
    shape("rotate about a point", f'<g transform="rotate(90 5 5)">{SQUARE}</g>', area=100.0),
    shape("skew", f'<g transform="skewX(45)">{SQUARE}</g>', area=100.0),
    shape("matrix, mirrored", f'<g transform="matrix(-2 0 0 1 40 0)">{SQUARE}</g>', area=200.0),
    shape(
        "css transform",
        f'<g style="transform:translate(5px,2px) scale(2)">{SQUARE}</g>',
        area=400.0,
        renders_alike=False,
    ),
    shape(
        "nested transforms",
        f'<g transform="scale(2)"><g transform="scale(.5 1)">{SQUARE}</g></g>',
        area=200.0,
    ),
    shape("scale zero shows nothing", f'<g transform="scale(0)">{SQUARE}</g>{SQUARE}', area=100.0),
    shape(
        "bad transform ignored",
        f'<g transform="scale(2) spin(3)">{SQUARE}</g>',
        area=100.0,
        renders_alike=False,
    ),
    shape("use", f'<defs><g id="a">{SQUARE}</g></defs><use href="#a" x="20" y="5"/>', area=100.0),
    shape(
        "use, xlink",
        f'<defs><g id="a">{SQUARE}</g></defs><use xlink:href="#a"/><use xlink:href="#a" x="30"/>',
        area=200.0,
    ),
    shape(
        "use of use",
        f'<defs><g id="a">{SQUARE}</g><use id="b" href="#a" transform="scale(2)"/></defs><use href="#b"/>',
        area=400.0,
    ),
    shape(
        "use inherits paint",
        '<defs><rect id="a" width="10" height="10"/></defs><use href="#a" fill="none"/><rect width="1" height="1"/>',
        area=1.0,
    ),
    shape(
        "symbol",
        f'<symbol id="s" viewBox="0 0 10 10">{SQUARE}</symbol><use href="#s" width="20" height="20"/>',
        area=400.0,
    ),
    # The symbol's view is 20 × 20; its square of 30 is cut to it.
    shape(
        "symbol cuts",
        '<symbol id="s" viewBox="0 0 10 10"><rect width="15" height="15"/></symbol><use href="#s" width="20" height="20"/>',
        area=400.0,
    ),
    shape(
        "symbol alone shows nothing",
        f'<symbol id="s">{SQUARE}</symbol><rect width="2" height="2"/>',
        area=4.0,
    ),
    # Nested view: 10 units on 20 mm.
    shape(
        "nested svg",
        f'<svg x="10" y="10" width="20" height="20" viewBox="0 0 10 10">{SQUARE}</svg>',
        area=400.0,
    ),
    shape(
        "nested svg cuts",
        '<svg x="10" y="10" width="20" height="20"><rect width="30" height="5"/></svg>',
        area=100.0,
    ),
    shape(
        "nested svg, visible",
        '<svg x="10" y="10" width="20" height="20" overflow="visible"><rect width="30" height="5"/></svg>',
        area=150.0,
    ),
    # meet: 100 × 50 units on 20 × 20 mm are 0.2 a unit.
    shape(
        "nested, meet",
        '<svg width="20" height="20" viewBox="0 0 100 50"><rect width="100" height="50"/></svg>',
        area=200.0,
    ),
    shape(
        "nested, none",
        '<svg width="20" height="20" viewBox="0 0 100 50" preserveAspectRatio="none"><rect width="100" height="50"/></svg>',
        area=400.0,
    ),
    # slice: 0.4 a unit, 40 × 20 mm cut to the view of 20 × 20.
    shape(
        "nested, slice",
        '<svg width="20" height="20" viewBox="0 0 100 50" preserveAspectRatio="xMinYMin slice"><rect width="60" height="50"/></svg>',
        area=400.0,
    ),
    shape(
        "switch takes the first",
        f'<switch><rect systemLanguage="xx" width="5" height="5"/>{SQUARE}<rect width="50" height="50"/></switch>',
        area=100.0,
    ),
    shape(
        "switch, foreign first",
        f'<switch><foreignObject requiredExtensions="urn:x" width="9" height="9"/><g>{SQUARE}</g></switch>',
        area=100.0,
    ),
    shape(
        "display none", f'<g display="none"><rect width="50" height="50"/></g>{SQUARE}', area=100.0
    ),
    shape(
        "visible inside hidden",
        f'<g visibility="hidden"><rect width="50" height="50"/><g visibility="visible">{SQUARE}</g></g>',
        area=100.0,
    ),
    shape("opacity zero", f'<g opacity="0"><rect width="50" height="50"/></g>{SQUARE}', area=100.0),
    shape("defs show nothing", f'<defs><rect width="50" height="50"/></defs>{SQUARE}', area=100.0),
    shape("anchor is a group", f'<a href="#x">{SQUARE}</a>', area=100.0),
]

CLIPS = [
    shape(
        "clip",
        '<clipPath id="c"><rect width="5" height="5"/></clipPath><rect clip-path="url(#c)" width="10" height="10"/>',
        area=25.0,
    ),
    shape(
        "clip of a group",
        '<clipPath id="c"><rect width="15" height="5"/></clipPath><g clip-path="url(#c)"><rect width="10" height="10"/><rect x="12" width="10" height="10"/></g>',
        area=65.0,
    ),
    shape(
        "clip in moved user space",
        '<clipPath id="c"><rect width="5" height="5"/></clipPath><g transform="translate(20,20)" clip-path="url(#c)"><rect x="-5" y="-5" width="20" height="20"/></g>',
        area=25.0,
    ),
    shape(
        "clip with its transform",
        '<clipPath id="c" transform="scale(2)"><rect width="2" height="2"/></clipPath><rect clip-path="url(#c)" width="10" height="10"/>',
        area=16.0,
    ),
    shape(
        "clip by the box",
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height=".25"/></clipPath><rect clip-path="url(#c)" x="10" width="20" height="20"/>',
        area=50.0,
    ),
    shape(
        "group clip by the box",
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height="1"/></clipPath><g clip-path="url(#c)"><rect width="10" height="10"/><rect x="10" width="10" height="10"/></g>',
        area=100.0,
    ),
    shape(
        "clip rule",
        '<clipPath id="c"><path clip-rule="evenodd" d="M0 0H10V10H0zM2 2H8V8H2z"/></clipPath><rect clip-path="url(#c)" width="10" height="10"/>',
        area=64.0,
    ),
    shape(
        "clip of a clip",
        '<clipPath id="d"><rect width="5" height="20"/></clipPath><clipPath id="c" clip-path="url(#d)"><rect width="20" height="5"/></clipPath><rect clip-path="url(#c)" width="20" height="20"/>',
        area=25.0,
    ),
    shape(
        "clip child clipped",
        '<clipPath id="d"><rect width="5" height="20"/></clipPath><clipPath id="c"><rect clip-path="url(#d)" width="20" height="5"/><rect y="10" width="20" height="1"/></clipPath><rect clip-path="url(#c)" width="20" height="20"/>',
        area=45.0,
    ),
    shape(
        "clip by use",
        '<defs><rect id="r" width="5" height="5"/></defs><clipPath id="c"><use href="#r" x="2"/></clipPath><rect clip-path="url(#c)" width="10" height="10"/>',
        area=25.0,
    ),
    shape(
        "clip all away",
        f'<clipPath id="c"/><rect clip-path="url(#c)" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "clip cuts a line",
        '<clipPath id="c"><rect width="5" height="5"/></clipPath><path clip-path="url(#c)" d="M0 1H10" stroke="red" fill="none"/>',
        length=5.0,
    ),
    # A clip around all of a circle keeps its curves, and so its length.
    shape(
        "clip around keeps curves",
        '<clipPath id="c"><rect width="40" height="40"/></clipPath><circle clip-path="url(#c)" cx="20" cy="20" r="20"/>',
        area=400 * PI,
        length=40 * PI,
    ),
]

STYLES = [
    shape("fill none", f'<rect fill="none" width="50" height="50"/>{SQUARE}', area=100.0),
    shape(
        "class",
        f'<style>.off{{fill:none}}</style><rect class="a off" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "style beats attribute",
        '<style>rect{fill:red}</style><rect fill="none" width="10" height="10"/>',
        area=100.0,
    ),
    shape(
        "inline beats sheet",
        f'<style>.a{{fill:red}}</style><rect class="a" style="fill:none" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "important beats inline",
        '<style>.a{fill:red!important}</style><rect class="a" style="fill:none" width="10" height="10"/>',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "id beats class",
        f'<style>#a{{fill:none}} .a{{fill:red}}</style><rect id="a" class="a" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "later of equals",
        f'<style>.a{{fill:red}} .b{{fill:none}}</style><rect class="b a" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "descendant",
        f'<style>g rect{{fill:none}}</style><g><a><rect width="50" height="50"/></a></g>{SQUARE}',
        area=100.0,
    ),
    shape(
        "child",
        f'<style>g > rect{{fill:none}}</style><g><rect width="50" height="50"/><a>{SQUARE}</a></g>',
        area=100.0,
    ),
    shape(
        "media print left out",
        f"<style>@media print{{rect{{fill:none}}}}</style>{SQUARE}",
        area=100.0,
    ),
    shape(
        "style in cdata and comment",
        f'<style><![CDATA[ /* x */ .a{{display:none}} ]]></style><rect class="a" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "bad colour is dropped",
        '<g fill="none"><rect fill="nocolour" width="50" height="50"/></g><rect width="10" height="10" fill="red"/>',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "inherit",
        '<g fill="none"><rect fill="inherit" width="50" height="50"/></g><rect width="9" height="9"/>',
        area=81.0,
    ),
    shape(
        "transparent", f'<rect fill="rgba(9,9,9,0)" width="50" height="50"/>{SQUARE}', area=100.0
    ),
    shape(
        "missing paint server",
        f'<rect fill="url(#no)" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "paint server with a fallback",
        '<rect fill="url(#no) red" width="10" height="10"/>',
        area=100.0,
    ),
    shape(
        "size by css",
        '<rect style="width:10px;height:10px" width="50" height="50"/>',
        area=100.0,
        renders_alike=False,
    ),
]

# One inch is 25.4 mm, 6 pc, 72 pt; a Q is a quarter of a millimetre (CSS Values 3, section 6.2).
PAGES = [
    Case("millimetres", svg('width="50mm" height="50mm" viewBox="0 0 100 100"', SQUARE), area=25.0),
    Case("centimetres", svg('width="5cm" height="5cm" viewBox="0 0 100 100"', SQUARE), area=25.0),
    Case("inches", svg('width="1in" height="1in" viewBox="0 0 100 100"', SQUARE), area=2.54**2),
    Case("points", svg('width="72pt" height="72pt" viewBox="0 0 100 100"', SQUARE), area=2.54**2),
    Case("picas", svg('width="6pc" height="6pc" viewBox="0 0 100 100"', SQUARE), area=2.54**2),
    Case(
        "quarters",
        svg('width="200Q" height="200Q" viewBox="0 0 100 100"', SQUARE),
        area=25.0,
        renders_alike=False,
    ),
    Case("no view box", svg('width="50mm" height="50mm"', SQUARE), area=(10 * 25.4 / 96) ** 2),
    Case("height by the view box", svg('width="50mm" viewBox="0 0 100 200"', SQUARE), area=25.0),
    Case(
        "moved view box",
        svg('width="50mm" height="50mm" viewBox="-10 -10 100 100"', SQUARE),
        area=25.0,
    ),
    # meet: 100 × 50 units on 50 × 50 mm, half a millimetre a unit.
    Case("page meets", svg('width="50mm" height="50mm" viewBox="0 0 100 50"', SQUARE), area=25.0),
    Case(
        "page stretched",
        svg('width="50mm" height="50mm" viewBox="0 0 100 50" preserveAspectRatio="none"', SQUARE),
        area=50.0,
    ),
    Case(
        "percent of the view box",
        svg('width="50mm" height="50mm" viewBox="0 0 100 100"', '<rect width="50%" height="20%"/>'),
        area=250.0,
    ),
]

BIG = '<rect width="50" height="50"/>'

SELECTORS = [
    shape(
        "next sibling",
        f"<style>circle + rect{{fill:none}}</style><circle/>{BIG}{SQUARE}",
        area=100.0,
    ),
    shape(
        "any sibling after",
        f"<style>.a ~ rect{{fill:none}}</style>{SQUARE}<g class='a'/>{BIG}",
        area=100.0,
        renders_alike=False,
    ),
    shape("attribute", f'<style>[width="50"]{{fill:none}}</style>{BIG}{SQUARE}', area=100.0),
    shape(
        "one class of several",
        f'<style>[class~="b"]{{fill:none}}</style><rect class="a b" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "two classes at once",
        '<style>.a.b{fill:none}</style><rect class="b a" width="50" height="50"/><rect class="a" width="10" height="10"/>',
        area=100.0,
    ),
    shape(
        "not",
        f'<style>rect:not(.a){{fill:none}}</style>{BIG}<rect class="a" width="10" height="10"/>',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "nth child",
        f"<style>g > :nth-child(2){{fill:none}}</style><g>{SQUARE}{BIG}</g>",
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "first child",
        f"<style>g > rect:first-child{{display:none}}</style><g>{BIG}{SQUARE}</g>",
        area=100.0,
    ),
    shape(
        "everything",
        f'<style>*{{fill:none}} rect{{fill:red}}</style><circle r="9"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "a list of selectors",
        f'<style>circle, .x rect{{fill:none}}</style><circle r="9"/><g class="x">{BIG}</g>{SQUARE}',
        area=100.0,
    ),
    # (0,1,1) beats (0,1,0), though it comes first.
    shape(
        "more specific first",
        f'<style>rect.a{{fill:none}} .a{{fill:red}}</style><rect class="a" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    # The second sheet comes later in the cascade.
    shape(
        "two sheets",
        f"<style>rect{{fill:red}}</style><style>[width='50']{{fill:none}} rect{{}}</style>{BIG}{SQUARE}",
        area=100.0,
    ),
    shape(
        "sheet after what it styles",
        f'<rect class="a" width="50" height="50"/>{SQUARE}<style>.a{{fill:none}}</style>',
        area=100.0,
    ),
    shape(
        "important in the element",
        '<style>.a{fill:none}</style><rect class="a" style="fill:red !important" width="10" height="10"/>',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "style passed down a copy",
        f'<style>#g rect{{fill:none}}</style><defs><g id="g">{BIG}</g></defs><use href="#g"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "capital words",
        f'<rect style="FILL:NONE" width="50" height="50"/>{SQUARE}',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "display by css",
        f'<style>.off{{display:none}}</style><g class="off">{BIG}</g>{SQUARE}',
        area=100.0,
    ),
    shape(
        "display is not undone inside",
        f'<g display="none"><g display="inline">{BIG}</g></g>{SQUARE}',
        area=100.0,
    ),
    shape(
        "media screen",
        f"<style>@media screen{{[width='50']{{fill:none}}}}</style>{BIG}{SQUARE}",
        area=100.0,
        renders_alike=False,
    ),
]

COLOURS = [
    shape("current colour", f'<g color="red" fill="currentColor">{SQUARE}</g>', area=100.0),
    shape(
        "current colour, transparent",
        f'<g color="transparent"><rect fill="currentColor" width="50" height="50"/></g>{SQUARE}',
        area=100.0,
    ),
    shape("fill opacity zero", f'<g fill-opacity="0">{BIG}</g>{SQUARE}', area=100.0),
    shape("fill opacity in percent", f'<g fill-opacity="0%">{BIG}</g>{SQUARE}', area=100.0),
    shape(
        "a gradient paints",
        '<linearGradient id="a"><stop stop-color="red"/></linearGradient><rect fill="url(#a)" width="10" height="10"/>',
        area=100.0,
    ),
    shape(
        "a gradient by another's stops",
        '<linearGradient id="a"><stop stop-color="red"/></linearGradient><radialGradient id="b" href="#a"/><rect fill="url(#b)" width="10" height="10"/>',
        area=100.0,
    ),
    shape(
        "a gradient without stops",
        f'<linearGradient id="a"/><rect fill="url(#a)" width="50" height="50"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "quotes in a reference",
        """<linearGradient id="a"><stop/></linearGradient><rect fill="url('#a')" width="10" height="10"/>""",
        area=100.0,
    ),
    shape(
        "evenodd passed down",
        '<g fill-rule="evenodd"><path d="M0 0H10V10H0zM2 2H8V8H2z"/></g>',
        area=64.0,
    ),
]

VIEWS = [
    # A symbol 20 wide and 10 high in a view of 20 × 20: to the middle of it, 10 × 5 units of 2 mm.
    shape(
        "symbol to fit",
        '<symbol id="s" viewBox="0 0 10 5"><rect width="10" height="5"/></symbol><use href="#s" width="20" height="20"/>',
        area=200.0,
    ),
    shape(
        "symbol stretched",
        '<symbol id="s" viewBox="0 0 10 5" preserveAspectRatio="none"><rect width="10" height="5"/></symbol><use href="#s" width="20" height="20"/>',
        area=400.0,
    ),
    shape(
        "symbol sliced",
        '<symbol id="s" viewBox="0 0 10 5" preserveAspectRatio="xMidYMid slice"><rect width="10" height="5"/></symbol><use href="#s" width="20" height="20"/>',
        area=400.0,
    ),
    shape(
        "symbol, visible",
        '<symbol id="s" viewBox="0 0 10 10" overflow="visible"><rect width="15" height="10"/></symbol><use href="#s" width="20" height="20"/>',
        area=600.0,
    ),
    # Without a size of its own a copied view is as large as the page's.
    shape(
        "symbol without size",
        '<symbol id="s" viewBox="0 0 10 10"><rect width="1" height="1"/></symbol><use href="#s"/>',
        area=100.0,
    ),
    shape(
        "copy of a nested svg",
        f'<defs><svg id="s" width="5" height="5" viewBox="0 0 10 10">{SQUARE}</svg></defs><use href="#s" width="20" height="20"/>',
        area=400.0,
    ),
    shape(
        "nested svg, percent",
        '<svg width="40%" height="50%"><rect width="50%" height="10%"/></svg>',
        area=20 * 5,
    ),
    shape(
        "nested in nested",
        f'<svg width="50" height="50" viewBox="0 0 100 100"><svg x="10" width="40" height="40" viewBox="0 0 20 20">{SQUARE}</svg></svg>',
        area=100.0,
    ),
    shape(
        "nested without size",
        f'<svg width="0" height="20">{BIG}</svg>{SQUARE}',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "nested, moved view",
        f'<svg width="20" height="20" viewBox="5 5 10 10">{SQUARE}</svg>',
        area=100.0,
    ),
    shape(
        "nested, turned",
        '<g transform="rotate(45 50 50)"><svg x="40" y="40" width="10" height="10"><rect width="30" height="5"/></svg></g>',
        area=50.0,
    ),
    shape(
        "copy turned and moved",
        f'<defs><g id="a">{SQUARE}</g></defs><use href="#a" x="20" transform="translate(30 30) rotate(30) scale(2)"/>',
        area=400.0,
    ),
    shape(
        "copy hidden",
        f'<defs><g id="a">{BIG}</g></defs><use href="#a" visibility="hidden"/>{SQUARE}',
        area=100.0,
    ),
    shape(
        "copy of what shows itself",
        '<g id="a" visibility="hidden"><rect visibility="visible" width="10" height="10"/></g><use href="#a" x="20"/>',
        area=200.0,
    ),
    shape(
        "transform about an origin",
        '<rect x="40" y="40" width="10" height="10" style="transform-origin:45px 45px;transform:rotate(45deg)"/>',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "lines of language",
        f'<switch><g systemLanguage="de, fr">{BIG}</g><g systemLanguage="de, en-GB">{SQUARE}</g></switch>',
        area=100.0,
        renders_alike=False,
    ),
    shape(
        "no language at all",
        f'<g systemLanguage="">{BIG}</g>{SQUARE}',
        area=100.0,
        renders_alike=False,
    ),
]

MORE_CLIPS = [
    shape(
        "clip child hidden",
        '<clipPath id="c"><rect width="5" height="5"/><rect y="20" width="5" height="5" display="none"/><rect y="30" width="5" height="5" visibility="hidden"/></clipPath><rect clip-path="url(#c)" width="50" height="50"/>',
        area=25.0,
    ),
    shape(
        "clip children lap",
        '<clipPath id="c"><rect width="5" height="5"/><rect width="10" height="2"/></clipPath><rect clip-path="url(#c)" width="50" height="50"/>',
        area=35.0,
    ),
    shape(
        "clip paints nothing matters",
        '<clipPath id="c"><rect width="5" height="5" fill="none" opacity="0.5"/></clipPath><rect clip-path="url(#c)" width="50" height="50"/>',
        area=25.0,
    ),
    shape(
        "clip stroke matters not",
        '<clipPath id="c"><rect width="5" height="5" stroke="red" stroke-width="4"/></clipPath><rect clip-path="url(#c)" width="50" height="50"/>',
        area=25.0,
    ),
    shape(
        "clip by css",
        '<style>.k{clip-path:url(#c)}</style><clipPath id="c"><rect width="5" height="5"/></clipPath><rect class="k" width="50" height="50"/>',
        area=25.0,
    ),
    shape(
        "clip of a copy",
        f'<clipPath id="c"><rect width="5" height="5"/></clipPath><defs><g id="a">{BIG}</g></defs><use href="#a" x="20" y="20" clip-path="url(#c)"/>{SQUARE}',
        area=125.0,
    ),
    shape(
        "clip on clip on clip",
        f'<clipPath id="c"><rect width="8" height="50"/></clipPath><clipPath id="d"><rect width="50" height="8"/></clipPath><g clip-path="url(#c)"><g clip-path="url(#d)">{BIG}</g></g>',
        area=64.0,
    ),
    shape(
        "clip with a hole cuts a ring",
        '<clipPath id="c"><path clip-rule="evenodd" d="M0 0H40V40H0zM10 10H30V30H10z"/></clipPath><circle clip-path="url(#c)" cx="20" cy="20" r="10"/><rect x="60" width="10" height="10"/>',
        area=100.0,
    ),
    # Half of a turned square.
    shape(
        "clip turned",
        '<clipPath id="c" transform="rotate(45)"><rect x="-50" y="-50" width="50" height="100"/></clipPath><rect clip-path="url(#c)" x="-10" y="-10" width="20" height="20" transform="translate(50 50)"/>',
        area=200.0,
    ),
    shape(
        "clip cuts a group's box",
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect x=".25" y=".25" width=".5" height=".5"/></clipPath><g clip-path="url(#c)"><rect x="10" y="10" width="40" height="20"/></g>',
        area=200.0,
    ),
    shape(
        "clip inside a symbol",
        '<clipPath id="c"><rect width="5" height="5"/></clipPath><symbol id="s" viewBox="0 0 10 10"><rect clip-path="url(#c)" width="10" height="10"/></symbol><use href="#s" width="20" height="20"/>',
        area=100.0,
    ),
]

ODD_DATA = [
    shape("none as data", f'<path d="none"/>{SQUARE}', area=100.0),
    shape(
        "data by css",
        """<path style="d:path('M0 0H10V10H0z')"/>""",
        area=100.0,
        renders_alike=False,
    ),
    shape("several numbers for H and V", '<path d="M0 0H5 10V5 10H0z"/>', area=100.0),
    shape("close twice", '<path d="M0 0H10V10H0zz"/>', area=100.0),
    shape("move alone between", '<path d="M0 0M5 5M0 0H10V10H0z"/>', area=100.0),
    # The first control is the start: depth 30 t² (1 - t), x = 30 t² - 10 t³, so ∫ = 450 - 540 + 150.
    shape("smooth without a curve before", '<path d="M0 10S10 0 20 10z"/>', area=60.0),
    shape("arc flags apart by commas", '<path d="M10,20A10,10,0,0,1,30,20z"/>', area=50 * PI),
    shape(
        "arc, negative radius",
        '<path d="M10 20A-10 -10 0 0 1 30 20z"/>',
        area=50 * PI,
        renders_alike=False,
    ),
    shape("new lines between", '<path d="\nM 0\n0\tH 10\nV10\nH0\nZ\n"/>', area=100.0),
    shape("a comma after a command", '<path d="M0 0H10V10H0z M20,20 L,30,30"/>', area=100.0),
    shape(
        "rect, negative radius",
        '<rect width="10" height="10" rx="-3"/>',
        area=100.0,
        renders_alike=False,
    ),
    shape("rect, percent radius", '<rect width="20" height="20" rx="10%"/>', area=100 * PI),
    shape("circle without radius", f'<circle cx="9"/>{SQUARE}', area=100.0),
    shape("ellipse, one radius zero", f'<ellipse rx="9" ry="0"/>{SQUARE}', area=100.0),
    shape(
        "stroke width in millimetres",
        '<line x1="10" x2="20" stroke="red" stroke-width="2mm"/>',
        length=10.0,
    ),
    shape(
        "letter size in percent",
        '<g font-size="10"><rect font-size="50%" width="2em" height="2em"/></g>',
        area=100.0,
    ),
]

MORE_PAGES = [
    Case(
        "size by css, page",
        svg('style="width:50mm;height:50mm" viewBox="0 0 100 100"', SQUARE),
        area=25.0,
        renders_alike=False,
    ),
    Case("width by the view box", svg('height="50mm" viewBox="0 0 200 100"', SQUARE), area=25.0),
    Case(
        "commas in the view box",
        svg('width="50mm" height="50mm" viewBox="0,0,1e2,1e2"', SQUARE),
        area=25.0,
    ),
    Case(
        "page sliced",
        svg(
            'width="50mm" height="50mm" viewBox="0 0 100 50" preserveAspectRatio="xMidYMid slice"',
            '<rect x="40" width="10" height="10"/>',
        ),
        area=100.0,
    ),
    Case(
        "no namespace",
        '<svg width="50mm" height="50mm" viewBox="0 0 100 100"><rect width="10" height="10"/></svg>',
        area=25.0,
        renders_alike=False,
    ),
    Case(
        "a prefix for the namespace",
        '<s:svg xmlns:s="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 100 100"><s:rect width="10" height="10"/></s:svg>',
        area=25.0,
    ),
]

CASES = [
    *BASIC,
    *PATHS,
    *RULES,
    *STRUCTURE,
    *CLIPS,
    *STYLES,
    *PAGES,
    *SELECTORS,
    *COLOURS,
    *VIEWS,
    *MORE_CLIPS,
    *ODD_DATA,
    *MORE_PAGES,
]

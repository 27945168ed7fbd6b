"""Reading SVG: the artwork, and everything in the file that was not understood."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely

from embellish.artwork.artwork import Artwork, FillRule, Shape, StrokeCap, StrokeJoin
from embellish.artwork.svg.basic import dot
from embellish.artwork.svg.clip import clipped
from embellish.artwork.svg.document import Document
from embellish.artwork.svg.notes import Notes
from embellish.artwork.svg.page import Page, read_page
from embellish.artwork.svg.paint import BLACK, Painter, Rgba, note_seen_through, parse_colour
from embellish.artwork.svg.style import Cascade
from embellish.artwork.svg.tree import Drawn, Tree
from embellish.artwork.svg.values import fraction, split_length, user_units
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.xml import local_name, parse_xml
from embellish.geometry.transforms import Affine
from embellish.units import MM_PER_PX

MAX_COORDINATE: Final = 1e7
"""Ten kilometres in mm: a coordinate beyond it is a slip or an attack."""

_CLIP_TOLERANCE_MM: Final = 1e-4
_CLIP_TOLERANCE_SHARE: Final = 1e-6
_FLAT_SHARE: Final = 1e-9
_UNEVEN_SHARE: Final = 0.01


def read_svg(data: bytes, name: str) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read an SVG document, plain or gzipped.

    Parameters
    ----------
    data
        The document.
    name
        What findings and errors call it.

    Returns
    -------
    Artwork
        Shapes in paint order. In mm where the page has a physical size; else ``sized`` is False
        and coordinates are the view box's user units.
    tuple of Finding
        What was not understood, with its effect.

    Raises
    ------
    ArtworkError
        For broken XML, a page without extent, a drawing without shapes, or one beyond the caps.
    """
    try:
        return _read(data, name)
    except ArtworkError as wrong:
        raise wrong.within(file=name) from wrong
    except RecursionError:
        raise ArtworkError(
            "its style rules or references are nested too deep",
            file=name,
            mend="Save it from a drawing program as plain SVG.",
        ) from None


def _read(data: bytes, name: str) -> tuple[Artwork, tuple[Finding, ...]]:
    root = parse_xml(data, name)
    if local_name(root.tag) != "svg":
        raise ArtworkError(
            f"it is no SVG: its root element is <{local_name(root.tag)}>",
            file=name,
            mend="Save it from a drawing program as plain SVG.",
        )
    notes = Notes()
    if b"<?xml-stylesheet" in data[:4096]:
        notes.add(
            "style-left-out",
            "warning",
            None,
            "The file points to an outside style sheet, which is not read",
            "Put the style into the file.",
        )
    cascade = Cascade(root, notes)
    page = read_page(root, cascade.declared(root), name)
    document = Document.of(root, cascade, notes, name, _clip_tolerance(page))
    painter = Painter(document)
    drawings = Tree(document).shapes(page)
    shapes = _unique([one for drawn in drawings for one in _shapes(drawn, painter, document, page)])
    if not shapes:
        raise ArtworkError(
            "there is no shape in it", file=name, mend=_what_was_lost(notes.findings())
        )
    artwork = _placed(Artwork(tuple(shapes), page.size, page.sized))
    _note_page(artwork, page, notes)
    return artwork, notes.findings()


def _clip_tolerance(page: Page) -> float:
    if page.sized:
        return _CLIP_TOLERANCE_MM
    return _CLIP_TOLERANCE_SHARE * float(np.hypot(*(page.size or page.viewport)))


def _shapes(drawn: Drawn, painter: Painter, document: Document, page: Page) -> Iterator[Shape]:
    """Yield the shapes of an element, painted and clipped: its lines, then its dots."""
    style = drawn.place.style
    current = parse_colour(style.get("color", "black"), BLACK) or BLACK
    width = _stroke_width(drawn)
    stroke = _painted(drawn, painter, "stroke", "none", current) if width > 0.0 else None
    cap = _cap(style.get("stroke-linecap", ""))
    common: dict[str, Any] = {
        "layer": drawn.place.layer,
        "classes": tuple(dict.fromkeys(drawn.place.classes)),
        "groups": drawn.place.groups,
        "stroke_cap": cap,
        "stroke_join": _join(style.get("stroke-linejoin", "")),
        "stroke_miter_limit": _miter_limit(style.get("stroke-miterlimit", "")),
    }
    if drawn.paths:
        fill = _painted(drawn, painter, "fill", "black", current)
        if fill is not None and (local_name(drawn.element.tag) == "line" or _is_straight(drawn)):
            fill = None
        scale = math.sqrt(abs(drawn.place.ctm.determinant))
        if stroke is not None and _is_fixed(drawn, document):
            scale = page.per_px
        elif stroke is not None and _is_uneven(drawn.place.ctm):
            effect = "its line is painted unevenly wide, as it is stretched: read evenly wide"
            document.notes.add("stroke-uneven", "note", drawn.element, effect)
        lines = Shape(
            id=drawn.id,
            fill=fill,
            stroke=stroke,
            stroke_width_mm=width * scale if stroke is not None else 0.0,
            fill_rule=_fill_rule(style.get("fill-rule", "")),
            paths=drawn.paths,
            **common,
        )
        yield from _within_clips(lines, drawn, document)
    made = [dot(place, width, cap) for place in drawn.dots] if stroke is not None else []
    dots = tuple(one.mapped(drawn.place.ctm) for one in made if one is not None)
    if dots:
        effect = "its lines without length are read as the dots they paint"
        document.notes.add("dot-as-shape", "note", drawn.element, effect)
        identity = f"{drawn.id}-dots" if drawn.paths else drawn.id
        spots = Shape(
            id=identity,
            fill=stroke,
            stroke=None,
            stroke_width_mm=0.0,
            fill_rule="nonzero",
            paths=dots,
            **common,
        )
        yield from _within_clips(spots, drawn, document)
    elif not drawn.paths:
        document.notes.add("empty-shape", "note", drawn.element, "it has no extent: left out")


def _within_clips(shape: Shape, drawn: Drawn, document: Document) -> Iterator[Shape]:
    """Yield what of a shape is inside its clips: all, some, or nothing.

    Raises
    ------
    ArtworkError
        For coordinates beyond all bounds.
    """
    notes, element = document.notes, drawn.element
    # Written so that a coordinate that is no number fails as well.
    if not all(np.abs(path.segments).max() <= MAX_COORDINATE for path in shape.paths):
        raise ArtworkError(
            f"shape '{shape.id}' has coordinates that are not finite or beyond any garment",
            file=document.name,
            item=f"line {element.sourceline}",
            mend="Draw the shape anew, or delete it.",
        )
    if drawn.place.clip is None:
        yield shape
        return
    fills = shape.kind == "region" and (shape.fill is not None or _all_closed(shape))
    paths, left = clipped(
        shape.paths, shape.fill_rule, drawn.place.clip, document.tolerance, fills=fills
    )
    if left == "gone":
        notes.add("clipped-away", "note", element, "wholly outside its clip path: left out")
        return
    if left == "cut":
        notes.add("clipped", "note", element, "cut along its clip path")
    rule = "evenodd" if left == "cut" and fills else shape.fill_rule
    yield replace(shape, paths=paths, fill_rule=rule)


def _all_closed(shape: Shape) -> bool:
    return all(path.closed for path in shape.paths)


def _painted(drawn: Drawn, painter: Painter, name: str, default: str, current: Rgba) -> str | None:
    style = drawn.place.style
    opacity = fraction(style.get(f"{name}-opacity", "1"), 1.0)
    if opacity == 0.0:
        return None
    colour = painter.paint(style.get(name, default), current, drawn.element)
    if colour is not None and opacity < 1.0:
        note_seen_through(painter.document, drawn.element)
    return colour


def _stroke_width(drawn: Drawn) -> float:
    """Return the stroke's width in user units."""
    place = drawn.place
    width = user_units(place.style.get("stroke-width", "1"), "both", place.measure)
    if width is None:
        width = 1.0
    return max(0.0, width)


def _is_fixed(drawn: Drawn, document: Document) -> bool:
    """Whether the stroke keeps its width under every map (SVG 2, section 8.11)."""
    declared = document.cascade.declared(drawn.element)
    return declared.get("vector-effect", "").lower() == "non-scaling-stroke"


def _is_uneven(ctm: Affine) -> bool:
    """Whether a map stretches some way more than another, by a hundredth or more."""
    stretch = np.linalg.svd([[ctm.a, ctm.c], [ctm.b, ctm.d]], compute_uv=False)
    return bool(stretch[0] > (1.0 + _UNEVEN_SHARE) * stretch[1])


def _is_straight(drawn: Drawn) -> bool:
    """Whether all points lie on one line, so that painting inside shows nothing."""
    start, *others = drawn.paths[0].segments[0].tolist()
    first = [(x - start[0], y - start[1]) for x, y in others]
    (ux, uy), (vx, vy) = first[0], first[2]
    # Most curves show by their first piece that they are not.
    if abs(ux * vy - uy * vx) > _FLAT_SHARE * max(x * x + y * y for x, y in first):
        return False
    points = np.concatenate([path.segments.reshape(-1, 2) for path in drawn.paths])
    away = points - points[0]
    far = away[np.argmax(np.hypot(away[:, 0], away[:, 1]))]
    across = away[:, 0] * far[1] - away[:, 1] * far[0]
    return bool(np.abs(across).max() <= _FLAT_SHARE * float(far @ far))


def _fill_rule(text: str) -> FillRule:
    return "evenodd" if text.lower() == "evenodd" else "nonzero"


def _miter_limit(text: str) -> float:
    split = split_length(text)
    return split[0] if split is not None and split[1] == "" and split[0] >= 1.0 else 4.0


def _cap(text: str) -> StrokeCap:
    return "round" if text == "round" else "square" if text == "square" else "butt"


def _join(text: str) -> StrokeJoin:
    return "round" if text == "round" else "bevel" if text == "bevel" else "miter"


def _unique(shapes: list[Shape]) -> list[Shape]:
    """Return the shapes with a number on each whose id came twice; the first keeps it."""
    taken = {shape.id for shape in shapes}
    seen: set[str] = set()
    result = []
    for shape in shapes:
        identity, number = shape.id, 2
        while identity in seen or (identity != shape.id and identity in taken):
            identity, number = f"{shape.id}-{number}", number + 1
        seen.add(identity)
        result.append(shape if identity == shape.id else replace(shape, id=identity))
    return result


def _placed(artwork: Artwork) -> Artwork:
    """Without a page, put the origin at the top left of all shapes."""
    bounds = artwork.bounds()
    if artwork.page is not None or bounds is None:
        return artwork
    home = Affine.move(-bounds[0], -bounds[1])
    return replace(artwork, shapes=tuple(shape.mapped(home) for shape in artwork.shapes))


def _note_page(artwork: Artwork, page: Page, notes: Notes) -> None:
    bounds = artwork.bounds()
    if not page.sized:
        w, h = page.px or ((bounds[2], bounds[3]) if bounds else (0.0, 0.0))
        notes.add(
            "no-physical-size",
            "warning",
            None,
            "The drawing has no size in millimetres; at 96 px an inch it would be "
            f"{w * MM_PER_PX:.2f} × {h * MM_PER_PX:.2f} mm",
            "Give width_mm or scale in the job.",
        )
    if page.size is None or bounds is None:
        return
    frame = shapely.box(0.0, 0.0, *page.size)
    reach = 1e-3 * max(page.size)
    grown = shapely.buffer(frame, reach, join_style="mitre")
    if not shapely.covers(grown, shapely.box(*bounds)):
        notes.add(
            "outside-page",
            "warning",
            None,
            "Some shapes reach outside the page; they are read whole",
            "Grow the page to the drawing, or remove what stands outside.",
        )


def _what_was_lost(findings: tuple[Finding, ...]) -> str:
    lost = "; ".join(finding.message for finding in findings[:3])
    return f"What was found: {lost}." if lost else "Draw or export at least one path."

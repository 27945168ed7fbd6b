"""What comes down to an element from those above it: map, style, clips, layer, groups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from embellish.artwork.svg.clip import Clip
from embellish.artwork.svg.document import Document, own_id
from embellish.artwork.svg.style import Declared, inherited
from embellish.artwork.svg.values import (
    DEFAULT_FONT_PX,
    Axis,
    Measure,
    fraction,
    parse_transform,
    user_units,
)
from embellish.errors import ArtworkError
from embellish.formats.xml import MAX_DEPTH, Element, local_name
from embellish.geometry.transforms import Affine

MAX_MAP: Final = 1e15
"""Coefficients of a map beyond this are an attack, not a drawing."""

_ORIGIN_WORDS: Final[Mapping[str, tuple[Axis | None, str]]] = {
    "left": ("x", "0"),
    "right": ("x", "100%"),
    "top": ("y", "0"),
    "bottom": ("y", "100%"),
    "center": (None, "50%"),
}


@dataclass(frozen=True, eq=False)
class Place:
    """Where the walk stands.

    Parameters
    ----------
    ctm
        From user units here to page coordinates.
    measure
        What lengths are measured by.
    style
        Inherited properties.
    clip
        What shows, in page coordinates, or None for all.
    layer, labelled, top
        The layer so far, whether it came from a label, and whether no named group is above.
    groups, classes
        Ids and class names of what stands above, outermost first.
    prefix
        What ids get before them inside a copy.
    chain
        Ids of copies and clip paths being followed, so that loops end.
    depth
        How many elements are above.
    unseen
        Whether something above has opacity 0.
    copy_size
        Inside <use>: the width and height it gives, for the view it copies.
    measuring
        Whether only the bounds are asked, so that clips do not matter.
    """

    ctm: Affine
    measure: Measure
    style: Declared = field(default_factory=dict)
    clip: Clip | None = None
    layer: str = ""
    labelled: bool = False
    top: bool = True
    groups: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    prefix: str = ""
    chain: tuple[str, ...] = ()
    depth: int = 0
    unseen: bool = False
    copy_size: tuple[str | None, str | None] | None = None
    measuring: bool = False


def entered(document: Document, element: Element, place: Place) -> Place:
    """Return the place inside an element: its transform, style and opacity applied.

    Raises
    ------
    ArtworkError
        For nesting too deep, or a map beyond all bounds.
    """
    if place.depth >= MAX_DEPTH:
        raise ArtworkError(
            f"elements and copies are nested more than {MAX_DEPTH} deep",
            file=document.name,
            item=f"line {element.sourceline}",
            mend="Ungroup the drawing and save it again.",
        )
    declared = document.cascade.declared(element)
    measure = _letter_size(declared, place.measure)
    ctm = place.ctm
    if "transform" in declared:
        ctm = ctm @ _transform(document, element, declared, measure)
        # Written so that a coefficient that is no number fails as well.
        if not all(abs(value) <= MAX_MAP for value in ctm.as_list()):
            raise ArtworkError(
                f"the transform “{declared['transform'][:60]}” leads beyond all bounds",
                file=document.name,
                item=f"line {element.sourceline}",
                mend="Check how large the shape is in the drawing program.",
            )
    return replace(
        place,
        ctm=ctm,
        measure=measure,
        style=inherited(place.style, declared),
        classes=(*place.classes, *(element.get("class") or "").split()),
        depth=place.depth + 1,
        unseen=place.unseen or fraction(declared.get("opacity", "1"), 1.0) == 0.0,
    )


def _letter_size(declared: Declared, measure: Measure) -> Measure:
    text = declared.get("font-size")
    if text is None:
        return measure
    if text.endswith("%"):
        text = f"{text[:-1]}e-2em"
    size = user_units(text, "y", measure)
    return replace(measure, font_px=DEFAULT_FONT_PX if size is None else size)


def _transform(
    document: Document, element: Element, declared: Declared, measure: Measure
) -> Affine:
    text = declared["transform"]
    own = parse_transform(text)
    if own is None:
        document.notes.add(
            "bad-transform",
            "warning",
            element,
            f"its transform “{text[:60]}” cannot be read: ignored",
        )
        return Affine()
    if element is document.root and own != Affine():
        document.notes.add(
            "bad-transform", "warning", element, "a transform of the whole page is ignored"
        )
        return Affine()
    origin = declared.get("transform-origin")
    if origin is None or own == Affine():
        return own
    centre = _origin(origin, measure)
    if centre is None or declared.get("transform-box", "view-box") != "view-box":
        document.notes.add(
            "bad-transform", "warning", element, "its transform-origin is not applied"
        )
        return own
    return Affine.move(*centre) @ own @ Affine.move(-centre[0], -centre[1])


def _origin(text: str, measure: Measure) -> tuple[float, float] | None:
    words = text.lower().split()[:2]
    if len(words) == 1:
        words.append("center")
    if _ORIGIN_WORDS.get(words[0], ("x",))[0] == "y":
        words.reverse()
    x, y = (_ORIGIN_WORDS.get(word, (None, word))[1] for word in words)
    dx, dy = user_units(x, "x", measure), user_units(y, "y", measure)
    return None if dx is None or dy is None else (dx, dy)


def with_layer(element: Element, inside: Place) -> Place:
    """Return the place with a group's layer: the nearest label, else the outermost group's id."""
    labels = (str(v).strip() for k, v in element.attrib.items() if local_name(k) == "label")
    label = next((text for text in labels if text), "")
    own = own_id(element)
    if label:
        return replace(inside, layer=label, labelled=True, top=False)
    if own:
        layer = own if inside.top else inside.layer
        return replace(inside, layer=layer, top=False)
    return inside


def length(
    document: Document,
    element: Element,
    text: str,
    measure: Measure,
    *,
    axis: Axis,
    default: str = "0",
) -> float:
    """Return a length of an element in user units; a bad one is noted, the default taken."""
    value = user_units(text, axis, measure)
    if value is None:
        document.notes.add(
            "bad-length",
            "warning",
            element,
            f"“{text[:40]}” is no length: {default} is taken",
        )
        value = user_units(default, axis, measure)
    return value or 0.0

"""Views inside the page: nested svg elements, and symbols as copied by use (SVG 2, chapter 8)."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from embellish.artwork.svg.clip import Clip, rectangle
from embellish.artwork.svg.document import Document
from embellish.artwork.svg.paint import href
from embellish.artwork.svg.place import Place, length
from embellish.artwork.svg.values import Axis, Measure, parse_view_box, view_map
from embellish.errors import ArtworkError
from embellish.formats.xml import Element, local_name
from embellish.geometry.transforms import Affine

MAX_COPIES: Final = 2000
"""Copies made by <use>; a file that asks for more is refused."""

VIEWS: Final = ("svg", "symbol")


def view(document: Document, element: Element, place: Place) -> Place | None:
    """Return the place inside a nested svg or a copied symbol, or None where it has no size."""
    declared = document.cascade.declared(element)
    width_asked, height_asked = place.copy_size or (None, None)
    measure = place.measure

    def side(name: str, axis: Axis, asked: str | None, default: str) -> float:
        text = asked if asked is not None else declared.get(name, default)
        text = default if text == "auto" else text
        return length(document, element, text, measure, axis=axis, default=default)

    width = side("width", "x", width_asked, "100%")
    height = side("height", "y", height_asked, "100%")
    text = element.get("viewBox")
    box = None if text is None else parse_view_box(text)
    if text is not None and box is None:
        document.notes.add(
            "bad-length", "warning", element, f"its viewBox “{text[:40]}” is ignored"
        )
    if width <= 0.0 or height <= 0.0 or (box and 0.0 in (box.width, box.height)):
        document.notes.add("empty-shape", "note", element, "it has no extent: left out")
        return None
    x, y = side("x", "x", None, "0"), side("y", "y", None, "0")
    ctm = place.ctm @ Affine.move(x, y)
    clip = place.clip
    if declared.get("overflow", "hidden").lower() not in ("visible", "auto"):
        clip = Clip(rectangle(width, height, ctm)).within(clip)
    if box is not None:
        ctm = ctm @ view_map(box, width, height, element.get("preserveAspectRatio") or "")
        width, height = box.width, box.height
    return replace(
        place,
        ctm=ctm,
        clip=clip,
        measure=Measure(width, height, measure.font_px),
        copy_size=None,
    )


class Copies:
    """Follows <use>, counting, so that a few lines cannot ask for millions of copies."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._made = 0

    def moved(self, element: Element, place: Place) -> Place:
        """Return the place moved by a <use>'s x and y."""
        declared, measure = self._document.cascade.declared(element), place.measure
        x = length(self._document, element, declared.get("x", "0"), measure, axis="x")
        y = length(self._document, element, declared.get("y", "0"), measure, axis="y")
        return replace(place, ctm=place.ctm @ Affine.move(x, y))

    def target(self, element: Element, place: Place) -> tuple[Element, Place] | None:
        """Return what a <use> copies and the place of the copy, or None (noted).

        Raises
        ------
        ArtworkError
            Beyond ``MAX_COPIES``.
        """
        document = self._document
        reference = href(element) or ""
        found = document.target(reference)
        if found is None:
            away = "not in the file" if reference[:1] in ("", "#") else "outside the file"
            document.notes.add(
                "element-left-out",
                "warning",
                element,
                f"it copies “{reference[:60]}”, which is {away}: left out",
            )
            return None
        if reference in place.chain or found in element.iterancestors():
            document.notes.add("use-loop", "warning", element, "it copies itself: left out")
            return None
        self._made += 1
        if self._made > MAX_COPIES:
            raise ArtworkError(
                f"it makes more than {MAX_COPIES} copies by <use>",
                file=document.name,
                item=f"line {element.sourceline}",
                mend="Turn the copies into paths, or draw fewer.",
            )
        declared = document.cascade.declared(element)
        size = (declared.get("width"), declared.get("height"))
        inner = replace(
            place,
            prefix=f"{place.prefix}{document.identity[element]}/",
            chain=(*place.chain, reference),
            top=False,
            copy_size=size if local_name(found.tag) in VIEWS else None,
        )
        return found, inner

"""The walk over an SVG's elements, in paint order, without recursion: depth is the file's."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from embellish.artwork.artwork import Path
from embellish.artwork.svg.basic import SHAPE_TAGS, BadValueError, basic_paths
from embellish.artwork.svg.clip_paths import ClipPaths
from embellish.artwork.svg.document import (
    GROUPS,
    LEFT_OUT,
    SILENT,
    Document,
    conditions_hold,
    own_id,
)
from embellish.artwork.svg.page import Page
from embellish.artwork.svg.paint import note_seen_through
from embellish.artwork.svg.path import MAX_SEGMENTS, Point, too_many_segments
from embellish.artwork.svg.place import Place, entered, with_layer
from embellish.artwork.svg.style import Declared
from embellish.artwork.svg.values import Measure, fraction
from embellish.artwork.svg.views import VIEWS, Copies, view
from embellish.formats.xml import Element, local_name, namespace
from embellish.geometry.transforms import Affine

_MARKED = frozenset({"path", "line", "polyline", "polygon"})
_NONE = ("none", "")


@dataclass(frozen=True, eq=False)
class Drawn:
    """One shape as met by the walk: paths in page coordinates, dots in user units."""

    element: Element
    id: str
    paths: tuple[Path, ...]
    dots: tuple[Point, ...]
    place: Place


class Tree:
    """The walk over one document."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self._copies = Copies(document)
        self._clips = ClipPaths(document, self._walk_paths)
        self._segments = 0

    def shapes(self, page: Page) -> Iterator[Drawn]:
        """Yield every shape that is not hidden, painted or not, in paint order."""
        start = Place(page.to_page, Measure(*page.viewport))
        yield from self._walk([(self.document.root, start)])

    def _walk(self, start: list[tuple[Element, Place]]) -> Iterator[Drawn]:
        stack = start[::-1]
        while stack:
            element, place = stack.pop()
            tag = local_name(element.tag)
            if self._skipped(element, tag, place):
                continue
            if tag in SHAPE_TAGS:
                drawn = self._shape(element, tag, place)
                if drawn is not None:
                    yield drawn
                continue
            inner = self._inside(element, tag, place)
            if inner is None:
                continue
            if tag == "use":
                target = self._copies.target(element, inner)
                if target is not None:
                    stack.append(target)
                continue
            children = _chosen(element) if tag == "switch" else list(element)
            stack.extend((child, inner) for child in reversed(children))

    def _walk_paths(
        self, start: list[tuple[Element, Place]]
    ) -> Iterator[tuple[tuple[Path, ...], Place]]:
        """Walk for a clip path: paths and the place they stand in."""
        for drawn in self._walk(start):
            yield drawn.paths, drawn.place

    def _skipped(self, element: Element, tag: str, place: Place) -> bool:
        """Tell whether the element draws nothing; what is lost by that is noted."""
        document = self.document
        copied = tag == "symbol" and place.copy_size is not None
        if not document.is_svg(element) or (tag in SILENT and not copied):
            return True
        hidden = document.cascade.declared(element).get("display", "").lower() == "none"
        if hidden or not conditions_hold(element):
            if hidden:
                self._hidden(element)
            return True
        if tag in SHAPE_TAGS or tag in GROUPS:
            return False
        effect, mend = LEFT_OUT.get(tag, ("unknown to this reader: left out", ""))
        document.notes.add("element-left-out", "warning", element, effect, mend)
        return True

    def _hidden(self, element: Element) -> None:
        self.document.notes.add(
            "hidden-left-out", "note", element, "hidden in the drawing: left out"
        )

    def _shape(self, element: Element, tag: str, place: Place) -> Drawn | None:
        inside = entered(self.document, element, place)
        shown = inside.style.get("visibility", "").lower() not in ("hidden", "collapse")
        if inside.unseen or not shown:
            self._hidden(element)
            return None
        paths, dots = self._own_paths(element, tag, inside)
        if not paths and not dots:
            return None
        if not place.measuring:
            self._segments += sum(len(path.segments) for path in paths)
        if self._segments > MAX_SEGMENTS:
            raise too_many_segments()
        inside = self._clips.applied(element, inside, lambda: paths)
        self._note_effects(element, tag, inside)
        mapped = tuple(path.mapped(inside.ctm) for path in paths)
        identity = place.prefix + self.document.identity[element]
        return Drawn(element, identity, mapped, dots, inside)

    def _own_paths(
        self, element: Element, tag: str, place: Place
    ) -> tuple[tuple[Path, ...], tuple[Point, ...]]:
        """Return an element's paths and dots in user units; what is wrong with them is noted."""
        notes = self.document.notes
        declared = self.document.cascade.declared(element)
        try:
            paths, dots, sound = basic_paths(
                tag, lambda name: declared.get(name, element.get(name)), place.measure
            )
        except BadValueError as wrong:
            notes.add("element-left-out", "warning", element, f"not drawn, since its {wrong}")
            return (), ()
        if not sound:
            notes.add(
                "data-cut-short",
                "warning",
                element,
                "its data is broken: read up to the error, as the standard asks",
                "Draw it again, or save it from the drawing program again.",
            )
        widest = max(abs(value) for value in place.ctm.as_list()[:4])
        flat = abs(place.ctm.determinant) <= 1e-15 * widest * widest
        if (sound and not paths and not dots) or flat:
            notes.add("empty-shape", "note", element, "it has no extent: left out")
        return ((), ()) if flat else (paths, dots)

    def _inside(self, element: Element, tag: str, place: Place) -> Place | None:
        """Return the place for the children of a container, or None where nothing shows."""
        inside = entered(self.document, element, place)
        if element is self.document.root:
            self._note_unapplied(element, self.document.cascade.declared(element))
            return inside
        if tag == "use":
            inside = self._copies.moved(element, inside)
        entered_at = inside
        inside = self._clips.applied(element, inside, lambda: self._below(element, tag, entered_at))
        self._note_unapplied(element, self.document.cascade.declared(element))
        if tag in VIEWS:
            within = view(self.document, element, inside)
            if within is None:
                return None
            inside = within
        if own_id(element) or tag == "use":
            identity = place.prefix + self.document.identity[element]
            inside = replace(inside, groups=(*inside.groups, identity))
        return with_layer(element, inside) if tag == "g" else inside

    def _below(self, element: Element, tag: str, place: Place) -> tuple[Path, ...]:
        """Return all paths under a container in its own user units, clips left aside."""
        bare: Place | None = replace(place, ctm=Affine(), clip=None, measuring=True)
        if bare is not None and tag in VIEWS:
            bare = view(self.document, element, bare)
        if bare is None:
            return ()
        if tag == "use":
            target = self._copies.target(element, bare)
            start = [] if target is None else [target]
        else:
            start = [(child, bare) for child in element]
        return tuple(path for drawn in self._walk(start) for path in drawn.paths)

    def _note_effects(self, element: Element, tag: str, place: Place) -> None:
        style, notes = place.style, self.document.notes
        markers = (style.get(f"marker-{end}", "none") for end in ("start", "mid", "end"))
        if tag in _MARKED and any(value not in _NONE for value in markers):
            notes.add("marker-left-out", "warning", element, "the markers on its line are left out")
        dashed = style.get("stroke-dasharray", "none") not in (*_NONE, "0")
        if dashed and style.get("stroke", "none") not in _NONE:
            notes.add("dashes-ignored", "note", element, "its dashed line is read unbroken")
        self._note_unapplied(element, self.document.cascade.declared(element))

    def _note_unapplied(self, element: Element, declared: Declared) -> None:
        if 0.0 < fraction(declared.get("opacity", "1"), 1.0) < 1.0:
            note_seen_through(self.document, element)
        for name in ("mask", "filter"):
            if declared.get(name, "none") not in _NONE:
                self.document.notes.add(
                    f"{name}-ignored",
                    "warning",
                    element,
                    f"its {name} is not applied: the shapes are read whole",
                    "Cut the shape itself in the drawing program." if name == "mask" else "",
                )


def _chosen(switch: Element) -> list[Element]:
    """Return the first child of a switch whose conditions hold."""
    for child in switch:
        if namespace(child.tag) == namespace(switch.tag) and conditions_hold(child):
            return [child]
    return []

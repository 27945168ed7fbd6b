"""Clip path elements as regions (CSS Masking 1, section 6)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from embellish.artwork.artwork import Path
from embellish.artwork.flatten import fill_loops
from embellish.artwork.svg.basic import SHAPE_TAGS
from embellish.artwork.svg.clip import Clip, loops_of
from embellish.artwork.svg.document import Document
from embellish.artwork.svg.paint import url_target
from embellish.artwork.svg.place import Place, entered
from embellish.artwork.svg.style import Declared, inherited
from embellish.artwork.svg.values import Measure
from embellish.errors import ArtworkError
from embellish.formats.xml import Element, local_name
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.regions import EMPTY, Region, areal
from embellish.geometry.transforms import Affine

MAX_CLIP_NESTING: Final = 12
"""Clip paths clipped by clip paths; drawing programs stop at two."""

Walk = Callable[[list[tuple[Element, Place]]], Iterator[tuple[tuple[Path, ...], Place]]]

Below = Callable[[], tuple[Path, ...]]

_MARK = "clip "
_CONTENT = SHAPE_TAGS | {"use", "text"}


class ClipPaths:
    """Finds the regions of one document's clip paths, each once a map."""

    def __init__(self, document: Document, walk: Walk) -> None:
        self._document = document
        self._walk = walk
        self._known: dict[tuple[Element, Affine], Region] = {}

    def applied(self, element: Element, place: Place, below: Below) -> Place:
        """Return the place with the element's clip path added.

        Parameters
        ----------
        element, place
            The element, and the place inside it.
        below
            Gives what the element draws, in its own user units.
        """
        if place.measuring:
            return place
        text = self._document.cascade.declared(element).get("clip-path", "none").strip()
        if text.lower() in ("none", ""):
            return place
        target = url_target(text)
        clip = None if target is None else self._document.target(target[0], "clipPath")
        if clip is None:
            self._document.notes.add(
                "clip-ignored",
                "warning",
                element,
                f"its clip path “{text[:60]}” is not one of the file's: the shapes are read whole",
                "Cut the shape itself in the drawing program.",
            )
            return place
        region = self._region(clip, place, below)
        return place if region is None else replace(place, clip=Clip(region).within(place.clip))

    def _region(
        self,
        clip: Element,
        place: Place,
        below: Below,
    ) -> Region | None:
        """Return a clip path's region in page coordinates, or None for one that loops."""
        identity = _MARK + self._document.identity[clip]
        if identity in place.chain:
            self._document.notes.add(
                "clip-ignored", "warning", clip, "it clips itself: that part is ignored"
            )
            return None
        if sum(one.startswith(_MARK) for one in place.chain) >= MAX_CLIP_NESTING:
            raise ArtworkError(
                f"clip paths clip each other more than {MAX_CLIP_NESTING} deep",
                file=self._document.name,
                item=f"line {clip.sourceline}",
                mend="Release the clips in the drawing program.",
            )
        ctm, measure = place.ctm, place.measure
        if clip.get("clipPathUnits") == "objectBoundingBox":
            box = _box(below())
            if box is None:
                return EMPTY
            ctm = ctm @ Affine(box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1])
            measure = Measure(1.0, 1.0, measure.font_px)
        if (clip, ctm) not in self._known:
            here = Place(
                ctm,
                measure,
                style=self._style_above(clip),
                chain=(*place.chain, identity),
                depth=place.depth,
            )
            self._known[clip, ctm] = self._drawn(clip, here)
        return self._known[clip, ctm]

    def _drawn(self, clip: Element, here: Place) -> Region:
        """Return what the clip path's children cover together."""
        inside = replace(entered(self._document, clip, here), unseen=False)
        start = [(child, inside) for child in clip if local_name(child.tag) in _CONTENT]
        parts: list[Region] = []
        for paths, place in self._walk(start):
            even = place.style.get("clip-rule", "").lower() == "evenodd"
            loops = loops_of(paths, self._document.tolerance)
            part = fill_loops(loops, "evenodd" if even else "nonzero")
            parts.append(Clip(part).within(place.clip).region)
        region = areal(shapely.union_all(parts)) if parts else EMPTY
        return Clip(region).within(self.applied(clip, inside, tuple).clip).region

    def _style_above(self, clip: Element) -> Declared:
        """Return the style a clip path inherits where it stands in the file."""
        style: Declared = {}
        for above in reversed(list(clip.iterancestors())):
            style = inherited(style, self._document.cascade.declared(above))
        return style


def _box(paths: tuple[Path, ...]) -> tuple[float, float, float, float] | None:
    """Return the bounds of paths, or None where there are none."""
    if not paths:
        return None
    return bezier_bounds(np.concatenate([path.segments for path in paths]))

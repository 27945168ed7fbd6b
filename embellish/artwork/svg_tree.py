"""The walk over an SVG's elements: groups, transforms, use, symbols, switches, views and clips."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import shapely
from lxml import etree

from embellish.artwork.artwork import Path
from embellish.artwork.svg_basic import SHAPE_TAGS, BadValue, basic_paths
from embellish.artwork.svg_clip import loops_of, rectangle
from embellish.artwork.svg_notes import Notes
from embellish.artwork.svg_page import Page
from embellish.artwork.svg_paint import href, url_target
from embellish.artwork.svg_style import Cascade, Declared, inherited
from embellish.artwork.svg_values import (
    DEFAULT_FONT_PX,
    Axis,
    Measure,
    fraction,
    parse_transform,
    parse_view_box,
    user_units,
    view_map,
)
from embellish.errors import ArtworkError
from embellish.formats.xml import MAX_DEPTH, local_name, namespace
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.regions import EMPTY, Region, filled
from embellish.geometry.transforms import Affine

MAX_USES: Final = 2000
"""Copies made by <use>; a file that asks for more is refused."""

MAX_SEGMENTS: Final = 1_000_000
"""Curve segments of all shapes together."""

SVG: Final = "http://www.w3.org/2000/svg"

_GROUPS = frozenset({"g", "a", "svg", "symbol"})
_SILENT = frozenset(
    {
        "defs",
        "title",
        "desc",
        "metadata",
        "style",
        "clipPath",
        "mask",
        "marker",
        "pattern",
        "linearGradient",
        "radialGradient",
        "filter",
        "view",
        "symbol",
        "cursor",
        "font",
        "font-face",
        "color-profile",
        "solidcolor",
    }
)
_LEFT_OUT: Final[Mapping[str, tuple[str, str]]] = {
    "text": ("lettering is not read here: left out", "Turn the text into paths in the drawing."),
    "image": ("a picture is not outlines: left out", "Trace it in the drawing."),
    "foreignObject": ("foreign content is not read: left out", ""),
    "video": ("foreign content is not read: left out", ""),
    "audio": ("foreign content is not read: left out", ""),
    "canvas": ("foreign content is not read: left out", ""),
    "iframe": ("foreign content is not read: left out", ""),
    "script": ("scripts are never run: what one would draw is missing", ""),
    "mesh": ("mesh gradients are not read: left out", ""),
    "animate": ("it moves: only the still drawing is read", ""),
    "animateMotion": ("it moves: only the still drawing is read", ""),
    "animateTransform": ("it moves: only the still drawing is read", ""),
    "animateColor": ("it moves: only the still drawing is read", ""),
    "set": ("it moves: only the still drawing is read", ""),
    "link": ("linked style sheets are not read", "Put the style into the file."),
}
_LANGUAGE = "en"


@dataclass(frozen=True, eq=False)
class Place:
    """Where the walk stands: everything that comes down from the elements above."""

    ctm: Affine
    measure: Measure
    style: Declared = field(default_factory=dict)
    clips: tuple[Region, ...] = ()
    layer: str = ""
    labelled: bool = False
    top: bool = True
    groups: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    prefix: str = ""
    chain: tuple[str, ...] = ()
    depth: int = 0
    unseen: bool = False
    use_size: tuple[str | None, str | None] | None = None
    as_view: bool = False


@dataclass(frozen=True, eq=False)
class Drawn:
    """One shape as met by the walk, its paths in page coordinates."""

    element: etree._Element
    id: str
    paths: tuple[Path, ...]
    place: Place
    declared: Declared


class Tree:
    """One document and its walk.

    Parameters
    ----------
    root, cascade, notes
        The document, its styles, and where findings go.
    tolerance
        How far flattened clip paths may leave their curves, in page coordinates.
    """

    def __init__(
        self, root: etree._Element, cascade: Cascade, notes: Notes, tolerance: float, name: str
    ) -> None:
        self.root = root
        self.cascade = cascade
        self.notes = notes
        self.tolerance = tolerance
        self.name = name
        self.by_id: dict[str, etree._Element] = {}
        self._made: dict[etree._Element, str] = {}
        self._clips: dict[tuple[etree._Element, Affine], Region] = {}
        self._uses = 0
        self._segments = 0
        self._name_elements()

    def _name_elements(self) -> None:
        """Find ids; give elements without one a name by kind and order, never clashing."""
        every = list(self.root.iter())
        for element in every:
            identity = (element.get("id") or "").strip()
            if identity and self.by_id.setdefault(identity, element) is not element:
                self.notes.add(
                    "duplicate-id",
                    "warning",
                    element,
                    "its id is used twice: the later one gets a number behind it",
                    "Give each shape its own id.",
                )
        order: Counter[str] = Counter()
        taken = set(self.by_id)
        for element in every:
            tag = local_name(element.tag)
            order[tag] += 1
            identity = (element.get("id") or "").strip()
            if not identity:
                identity = f"{tag}-{order[tag]}"
            elif self.by_id[identity] is element:
                self._made[element] = identity
                continue
            stem, number = identity, 2
            while identity in taken:
                identity, number = f"{stem}-{number}", number + 1
            taken.add(identity)
            self._made[element] = identity

    def shapes(self, page: Page) -> Iterator[Drawn]:
        """Yield every painted or unpainted shape in paint order."""
        measure = Measure(*page.viewport)
        yield from self._walk([(self.root, Place(page.to_page, measure))])

    def _walk(self, start: list[tuple[etree._Element, Place]]) -> Iterator[Drawn]:
        stack = start[::-1]
        while stack:
            element, place = stack.pop()
            tag = local_name(element.tag)
            if place.depth > MAX_DEPTH:
                raise ArtworkError(
                    f"elements and copies are nested more than {MAX_DEPTH} deep",
                    file=self.name,
                    item=f"line {element.sourceline}",
                )
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
                target = self._use_target(element, inner)
                if target is not None:
                    stack.append(target)
                continue
            children = list(element)
            if tag == "switch":
                children = self._chosen(element)
            stack.extend((child, inner) for child in reversed(children))

    def _skipped(self, element: etree._Element, tag: str, place: Place) -> bool:
        """Whether the element is none that draws; what is lost is noted."""
        space = namespace(element.tag)
        if space not in (SVG, namespace(self.root.tag)):
            return True
        if tag in _SILENT and not (tag == "symbol" and place.as_view):
            return True
        if tag in _LEFT_OUT:
            effect, mend = _LEFT_OUT[tag]
            if self.cascade.declared(element).get("display", "").lower() != "none":
                self.notes.add("element-left-out", "warning", element, effect, mend)
            return True
        if tag not in SHAPE_TAGS and tag not in _GROUPS and tag not in ("use", "switch"):
            self.notes.add(
                "element-left-out", "warning", element, "unknown to this reader: left out"
            )
            return True
        if not _conditions_hold(element):
            return True
        if self.cascade.declared(element).get("display", "").lower() == "none":
            self._hidden(element)
            return True
        return False

    def _hidden(self, element: etree._Element) -> None:
        self.notes.add("hidden-left-out", "note", element, "hidden in the drawing: left out")

    def _entered(self, element: etree._Element, place: Place) -> tuple[Place, Declared]:
        """Return the place inside an element: its transform, style, opacity and clip applied."""
        declared = self.cascade.declared(element)
        style = inherited(place.style, declared)
        measure = place.measure
        if "font-size" in declared:
            size = user_units(declared["font-size"], "y", measure)
            if declared["font-size"].endswith("%"):
                size = fraction(declared["font-size"], 1.0) * measure.font_px
            measure = replace(measure, font_px=size if size is not None else DEFAULT_FONT_PX)
        ctm = place.ctm
        if "transform" in declared:
            ctm = ctm @ self._transform(element, declared, measure)
        entered = replace(place, ctm=ctm, style=style, measure=measure, depth=place.depth + 1)
        if fraction(declared.get("opacity", "1"), 1.0) == 0.0:
            entered = replace(entered, unseen=True)
        return entered, declared

    def _transform(self, element: etree._Element, declared: Declared, measure: Measure) -> Affine:
        own = parse_transform(declared["transform"])
        if own is None:
            self.notes.add(
                "bad-transform",
                "warning",
                element,
                f"its transform “{declared['transform'][:60]}” cannot be read: ignored",
            )
            return Affine()
        origin = declared.get("transform-origin")
        if origin is None:
            return own
        axes: tuple[Axis, Axis] = ("x", "y")
        keywords = {"left": "0", "top": "0", "center": "50%", "right": "100%", "bottom": "100%"}
        words = [keywords.get(word, word) for word in origin.split()[:2]]
        values = [user_units(w, axis, measure) for w, axis in zip(words, axes, strict=False)]
        if len(values) == 1:
            values.append(0.5 * measure.height)
        x, y = values[0], values[1]
        if x is None or y is None:
            self.notes.add("bad-transform", "warning", element, "its transform-origin is ignored")
            return own
        return Affine.move(x, y) @ own @ Affine.move(-x, -y)

    def _shape(self, element: etree._Element, tag: str, place: Place) -> Drawn | None:
        entered, declared = self._entered(element, place)
        if entered.unseen or entered.style.get("visibility", "").lower() in ("hidden", "collapse"):
            self._hidden(element)
            return None
        paths = self._own_paths(element, tag, declared, entered.measure)
        if not paths:
            return None
        self._segments += sum(len(path.segments) for path in paths)
        if self._segments > MAX_SEGMENTS:
            raise ArtworkError(
                f"it has more than {MAX_SEGMENTS:,} curve segments",
                file=self.name,
                mend="Simplify the paths in the drawing program.",
            )
        entered = self._with_clip(element, declared, entered)
        self._note_effects(element, declared, entered)
        classes = (element.get("class") or "").split()
        entered = replace(entered, classes=(*place.classes, *classes))
        mapped = tuple(path.mapped(entered.ctm) for path in paths)
        return Drawn(element, place.prefix + self._made[element], mapped, entered, declared)

    def _own_paths(
        self, element: etree._Element, tag: str, declared: Declared, measure: Measure
    ) -> tuple[Path, ...]:
        def look(name: str) -> str | None:
            return declared.get(name, element.get(name))

        try:
            paths, sound = basic_paths(tag, look, measure)
        except BadValue as wrong:
            self.notes.add("element-left-out", "warning", element, f"not drawn, since its {wrong}")
            return ()
        if not sound:
            self.notes.add(
                "data-cut-short",
                "warning",
                element,
                "its data is broken: read up to the error, as the standard asks",
                "Draw it again, or save it from the drawing program again.",
            )
        elif not paths:
            self.notes.add("empty-shape", "note", element, "it has no extent: left out")
        return paths

    def _note_effects(self, element: etree._Element, declared: Declared, place: Place) -> None:
        style = place.style
        markers = [style.get(f"marker-{end}", "none") for end in ("start", "mid", "end")]
        if any(value not in ("none", "") for value in markers):
            self.notes.add(
                "marker-left-out", "warning", element, "the markers on its line are left out"
            )
        if style.get("stroke-dasharray", "none") not in ("none", "", "0") and style.get(
            "stroke", "none"
        ) not in ("none", ""):
            self.notes.add(
                "dashes-ignored", "note", element, "its dashed line is read as an unbroken one"
            )
        self._note_unapplied(element, declared)

    def _note_unapplied(self, element: etree._Element, declared: Declared) -> None:
        for name in ("mask", "filter"):
            if declared.get(name, "none") not in ("none", ""):
                self.notes.add(
                    f"{name}-ignored",
                    "warning",
                    element,
                    f"its {name} is not applied: the shapes are read whole",
                    "Cut the shape itself in the drawing program." if name == "mask" else "",
                )

    def _inside(self, element: etree._Element, tag: str, place: Place) -> Place | None:
        """Return the place for the children of a container, or None where nothing shows."""
        entered, declared = self._entered(element, place)
        entered = replace(entered, as_view=False, use_size=None, top=place.top and tag == "svg")
        if element is self.root:
            self._note_unapplied(element, declared)
            return entered
        if tag == "use":
            x = self._length(element, declared, "x", "x", "0", entered.measure)
            y = self._length(element, declared, "y", "y", "0", entered.measure)
            entered = replace(entered, ctm=entered.ctm @ Affine.move(x, y))
        entered = self._with_clip(element, declared, entered)
        self._note_unapplied(element, declared)
        if tag in ("svg", "symbol"):
            view = self._view(element, tag, declared, place, entered)
            if view is None:
                return None
            entered = view
        classes = (element.get("class") or "").split()
        identity = place.prefix + self._made[element]
        named = bool((element.get("id") or "").strip()) or tag == "use"
        entered = replace(
            entered,
            classes=(*place.classes, *classes),
            groups=(*place.groups, identity) if named else place.groups,
        )
        return self._with_layer(element, entered, place) if tag == "g" else entered

    def _with_layer(self, element: etree._Element, entered: Place, place: Place) -> Place:
        """A layer is the nearest group with a label, else the outermost group's id."""
        labels = (str(v) for k, v in element.attrib.items() if local_name(k) == "label")
        label = next((text.strip() for text in labels if text.strip()), "")
        if label:
            return replace(entered, layer=label, labelled=True)
        if place.top and not place.labelled:
            return replace(entered, layer=(element.get("id") or "").strip())
        return entered

    def _view(
        self, element: etree._Element, tag: str, declared: Declared, place: Place, entered: Place
    ) -> Place | None:
        """Return the place inside a nested view (svg, or symbol by use): SVG 2, section 8."""
        measure = entered.measure
        asked = place.use_size or (None, None)
        width = self._view_side(element, declared, "width", asked[0], measure)
        height = self._view_side(element, declared, "height", asked[1], measure)
        if width <= 0.0 or height <= 0.0:
            self.notes.add("empty-shape", "note", element, "its view has no size: left out")
            return None
        x = self._length(element, declared, "x", "x", "0", measure)
        y = self._length(element, declared, "y", "y", "0", measure)
        ctm = entered.ctm @ Affine.move(x, y)
        clips = entered.clips
        if declared.get("overflow", "hidden").lower() not in ("visible", "auto"):
            clips = (*clips, rectangle(width, height, ctm))
        box = parse_view_box(element.get("viewBox") or "")
        if box is not None and (box.width == 0.0 or box.height == 0.0):
            return None
        if box is not None:
            aspect = element.get("preserveAspectRatio") or ""
            ctm = ctm @ view_map(box, width, height, aspect)
            width, height = box.width, box.height
        return replace(
            entered, ctm=ctm, clips=clips, measure=Measure(width, height, measure.font_px)
        )

    def _view_side(
        self,
        element: etree._Element,
        declared: Declared,
        side: str,
        asked: str | None,
        measure: Measure,
    ) -> float:
        axis: Axis = "x" if side == "width" else "y"
        text = asked if asked is not None else declared.get(side, "100%")
        return self._length(
            element, {side: "100%" if text == "auto" else text}, side, axis, "100%", measure
        )

    def _length(
        self,
        element: etree._Element,
        declared: Declared,
        name: str,
        axis: Axis,
        default: str,
        measure: Measure,
    ) -> float:
        value = user_units(declared.get(name, default), axis, measure)
        if value is None:
            self.notes.add(
                "bad-length", "warning", element, f"its {name} is no length: {default} is taken"
            )
            value = user_units(default, axis, measure)
        return value or 0.0

    def _use_target(
        self, element: etree._Element, inner: Place
    ) -> tuple[etree._Element, Place] | None:
        reference = href(element) or ""
        target = self.by_id.get(reference[1:]) if reference.startswith("#") else None
        if target is None:
            where = "outside the file" if reference and reference[0] != "#" else "not in the file"
            self.notes.add(
                "element-left-out",
                "warning",
                element,
                f"it copies “{reference[:60]}”, which is {where}: left out",
            )
            return None
        identity = reference[1:]
        # A loop through an ancestor is met as well: its copy holds this use again.
        if identity in inner.chain:
            self.notes.add("use-loop", "warning", element, "it copies itself: left out")
            return None
        self._uses += 1
        if self._uses > MAX_USES:
            raise ArtworkError(
                f"it makes more than {MAX_USES} copies by <use>",
                file=self.name,
                item=f"line {element.sourceline}",
                mend="Turn the copies into paths, or draw fewer.",
            )
        declared = self.cascade.declared(element)
        place = replace(
            inner,
            prefix=f"{inner.groups[-1]}/",
            chain=(*inner.chain, identity),
            top=False,
            as_view=True,
            use_size=(declared.get("width"), declared.get("height")),
        )
        if local_name(target.tag) not in ("svg", "symbol"):
            place = replace(place, as_view=False, use_size=None)
        return target, place

    def _chosen(self, switch: etree._Element) -> list[etree._Element]:
        """Return the first child of a switch whose conditions hold."""
        for child in switch:
            if namespace(child.tag) == namespace(switch.tag) and _conditions_hold(child):
                return [child]
        return []

    def _with_clip(self, element: etree._Element, declared: Declared, place: Place) -> Place:
        """Add the element's clip path to the place."""
        text = declared.get("clip-path", "none").strip()
        if text.lower() in ("none", ""):
            return place
        target = url_target(text)
        reference = "" if target is None else target[0]
        clip = self.by_id.get(reference[1:]) if reference.startswith("#") else None
        if clip is None or local_name(clip.tag) != "clipPath":
            self.notes.add(
                "clip-ignored",
                "warning",
                element,
                f"its clip path “{text[:60]}” is not one of the file's: the shapes are read whole",
            )
            return place
        return replace(place, clips=(*place.clips, self._clip(clip, element, place)))

    def _clip(self, clip: etree._Element, user: etree._Element, place: Place) -> Region:
        """Return a clip path's region in page coordinates."""
        identity = f"clip {self._made[clip]}"
        if identity in place.chain or place.depth > MAX_DEPTH:
            self.notes.add("clip-ignored", "warning", clip, "it clips itself: that part is ignored")
            return shapely.box(-1e12, -1e12, 1e12, 1e12)
        ctm, measure = place.ctm, place.measure
        by_box = clip.get("clipPathUnits") == "objectBoundingBox"
        if by_box:
            box = self._box(user, place)
            if box is None:
                return EMPTY
            x0, y0, x1, y1 = box
            ctm = ctm @ Affine(x1 - x0, 0.0, 0.0, y1 - y0, x0, y0)
            measure = Measure(1.0, 1.0, measure.font_px)
        elif (clip, ctm) in self._clips:
            return self._clips[clip, ctm]
        chain = (*place.chain, identity)
        here = Place(ctm, measure, chain=chain, depth=place.depth)
        entered, declared = self._entered(clip, here)
        allowed = SHAPE_TAGS | {"use", "text"}
        start = [(child, entered) for child in clip if local_name(child.tag) in allowed]
        parts: list[Region] = []
        for drawn in self._walk(start):
            rule = "evenodd" if drawn.place.style.get("clip-rule") == "evenodd" else "nonzero"
            part = filled(loops_of(drawn.paths, self.tolerance), rule)
            for more in drawn.place.clips:
                part = shapely.intersection(part, more)
            parts.append(part)
        region = shapely.union_all(parts) if parts else EMPTY
        for more in self._with_clip(clip, declared, replace(entered, clips=())).clips:
            region = shapely.intersection(region, more)
        if not by_box:
            self._clips[clip, ctm] = region
        return region

    def _box(self, user: etree._Element, place: Place) -> tuple[float, float, float, float] | None:
        """Return the bounds of what an element draws, in its own user units."""
        tag = local_name(user.tag)
        bare = replace(place, ctm=Affine(), clips=())
        if tag in SHAPE_TAGS:
            paths = self._own_paths(user, tag, self.cascade.declared(user), place.measure)
        elif tag == "use":
            target = self._use_target(user, replace(bare, groups=(*bare.groups, "box")))
            paths = () if target is None else self._all_paths([target])
        else:
            paths = self._all_paths([(child, bare) for child in user])
        if not paths:
            return None
        return bezier_bounds(np.concatenate([path.segments for path in paths]))

    def _all_paths(self, start: list[tuple[etree._Element, Place]]) -> tuple[Path, ...]:
        return tuple(path for drawn in self._walk(start) for path in drawn.paths)


def _conditions_hold(element: etree._Element) -> bool:
    """Whether the conditional attributes of SVG 2, section 5.9, let the element draw."""
    languages = element.get("systemLanguage")
    if languages is not None:
        tags = [tag.strip().lower() for tag in languages.split(",")]
        if not any(tag == _LANGUAGE or tag.startswith(f"{_LANGUAGE}-") for tag in tags):
            return False
    return not element.get("requiredExtensions")

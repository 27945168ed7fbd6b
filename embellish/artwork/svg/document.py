"""One SVG document as the reader holds it: elements by id, a name for each, styles, findings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from embellish.artwork.svg.notes import Notes
from embellish.artwork.svg.style import Cascade
from embellish.formats.xml import Element, local_name, namespace

SVG: Final = "http://www.w3.org/2000/svg"

GROUPS: Final = frozenset({"g", "a", "svg", "symbol", "switch", "use"})
"""Elements with others inside, and <use>, which stands for what it copies."""

SILENT: Final = frozenset(
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
"""Elements that draw nothing where they stand."""

_STILL = "it moves: only the still drawing is read"
_FOREIGN = "foreign content is not read: left out"

LEFT_OUT: Final[Mapping[str, tuple[str, str]]] = {
    "text": ("lettering is not read here: left out", "Turn the text into paths in the drawing."),
    "image": ("a picture is not outlines: left out", "Trace it in the drawing."),
    "foreignObject": (_FOREIGN, ""),
    "video": (_FOREIGN, ""),
    "audio": (_FOREIGN, ""),
    "canvas": (_FOREIGN, ""),
    "iframe": (_FOREIGN, ""),
    "mesh": ("mesh gradients are not read: left out", ""),
    "script": ("scripts are never run: what one would draw is missing", ""),
    "link": ("linked style sheets are not read", "Put the style into the file."),
    "animate": (_STILL, ""),
    "animateMotion": (_STILL, ""),
    "animateTransform": (_STILL, ""),
    "animateColor": (_STILL, ""),
    "set": (_STILL, ""),
}
"""Elements that would show something and are not read: effect, and what to do."""

_LANGUAGE: Final = "en"


@dataclass(frozen=True, eq=False)
class Document:
    """What every step of the walk looks things up in.

    Parameters
    ----------
    root, cascade, notes
        The tree, its styles, and where findings go.
    name
        What errors call the file.
    tolerance
        How far flattened clip paths may leave their curves, in page coordinates.
    by_id
        The first element of each id.
    identity
        A name for every element: its id, else kind and order ('path-3'), never twice.
    """

    root: Element
    cascade: Cascade
    notes: Notes
    name: str
    tolerance: float
    by_id: Mapping[str, Element]
    identity: Mapping[Element, str]

    @classmethod
    def of(
        cls, root: Element, cascade: Cascade, notes: Notes, name: str, tolerance: float
    ) -> Document:
        """Name every element and find the ids."""
        by_id: dict[str, Element] = {}
        every = [element for element in root.iter() if isinstance(element.tag, str)]
        for element in every:
            own = own_id(element)
            if own and by_id.setdefault(own, element) is not element:
                notes.add(
                    "duplicate-id",
                    "warning",
                    element,
                    "its id is used twice: the later one gets a number behind it",
                    "Give each shape its own id.",
                )
        return cls(root, cascade, notes, name, tolerance, by_id, _identities(every, by_id))

    def is_svg(self, element: Element) -> bool:
        """Whether the element is SVG's, or of the namespace (or none) that the root is in."""
        return namespace(element.tag) in (SVG, namespace(self.root.tag))

    def target(self, reference: str, *tags: str) -> Element | None:
        """Return the element a '#id' reference names, of one of the tags, or None."""
        found = self.by_id.get(reference[1:]) if reference.startswith("#") else None
        if found is None or (tags and local_name(found.tag) not in tags):
            return None
        return found


def own_id(element: Element) -> str:
    """Return the id an element carries, '' where none."""
    return str(element.get("id") or "").strip()


def _identities(every: list[Element], by_id: Mapping[str, Element]) -> dict[Element, str]:
    order: Counter[str] = Counter()
    taken = set(by_id)
    names: dict[Element, str] = {}
    for element in every:
        tag = local_name(element.tag)
        order[tag] += 1
        own = own_id(element)
        if own and by_id[own] is element:
            names[element] = own
            continue
        stem = name = own or f"{tag}-{order[tag]}"
        number = 2
        while name in taken:
            name, number = f"{stem}-{number}", number + 1
        taken.add(name)
        names[element] = name
    return names


def conditions_hold(element: Element) -> bool:
    """Whether the conditional attributes of SVG 2, section 5.9, let the element draw."""
    languages = element.get("systemLanguage")
    if languages is not None:
        tags = [tag.strip().lower() for tag in languages.split(",")]
        if not any(tag == _LANGUAGE or tag.startswith(f"{_LANGUAGE}-") for tag in tags):
            return False
    return not element.get("requiredExtensions")

"""Selecting shapes by a small part of CSS.

``*``, ``#id``, ``.class``, ``[layer="..."]``, ``[id="..."]``, ``[fill="#rrggbb"]``,
``[stroke="#rrggbb"]`` (also ``none``), ``[kind="region"]``; written together they must all hold,
a comma means either. ``#id`` and ``.class`` also find the shapes in a group of that id or class.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Final

from embellish.artwork.artwork import Artwork, Shape
from embellish.errors import ArtworkError
from embellish.formats.nearest import close_to

_SHOWN: Final = 12
_NAME = r"(?:[^\s,.#\[\]*\\\"'=:>+~()]|\\.)+"
_TOKEN = re.compile(
    rf"""\s*(?:
        (?P<star>\*) | \#(?P<id>{_NAME}) | \.(?P<class>{_NAME})
        | \[\s*(?P<key>[a-z]+)\s*=\s*
            (?:"(?P<double>[^"]*)"|'(?P<single>[^']*)'|(?P<bare>[^\]\s"']+))\s*\]
        | (?P<comma>,)
    )""",
    re.VERBOSE,
)
_HEX = re.compile(r"#([0-9a-fA-F]{3}|[0-9a-fA-F]{6})\Z")
_SIMPLE = re.compile(rf"{_NAME}\Z")

Test = Callable[[Shape], bool]


def select(artwork: Artwork, selector: str) -> tuple[Shape, ...]:
    """Return the shapes that a selector finds, in paint order.

    Raises
    ------
    ArtworkError
        For a selector that cannot be read, or that finds nothing; the error lists what there is.
    """
    either = _parse(selector, artwork)
    found = tuple(
        shape for shape in artwork.shapes if any(all(t(shape) for t in tests) for tests in either)
    )
    if not found:
        raise ArtworkError(
            f"'{selector}' finds no shape",
            mend=f"{_near(selector, artwork)}{what_there_is(artwork)}",
        )
    return found


def _near(selector: str, artwork: Artwork) -> str:
    """Return the selector that was likely meant, as a question, or ''."""
    if "," in selector:
        return ""
    known = {
        *(by_id(name) for shape in artwork.shapes for name in (shape.id, *shape.groups)),
        *(f".{name}" for shape in artwork.shapes for name in shape.classes),
        *(by_layer(shape.layer) for shape in artwork.shapes if shape.layer),
    }
    bare = {name.lstrip("#."): name for name in sorted(known)}
    close = close_to(selector, known) or bare.get(selector.lstrip("#."), "")
    return f"Did you mean '{close}'? " if close else ""


def _parse(selector: str, artwork: Artwork) -> list[list[Test]]:
    either: list[list[Test]] = [[]]
    place = 0
    text = selector.strip()
    while place < len(text):
        match = _TOKEN.match(text, place)
        # A space between two parts would be CSS's descendant, which is not read here.
        spaced = match is not None and match[0][0].isspace() and bool(either[-1])
        if match is None or (spaced and not match["comma"]):
            raise _bad(selector, text[place:].strip(), artwork)
        place = match.end()
        if match["comma"]:
            if not either[-1]:
                raise _bad(selector, ",", artwork)
            either.append([])
            continue
        test = _test(match)
        if test is None:
            raise _bad(selector, match[0].strip(), artwork)
        either[-1].append(test)
    if not either[-1]:
        raise _bad(selector, "its end", artwork)
    return either


def _test(match: re.Match[str]) -> Test | None:
    """Return what one part of a selector asks, or None where it asks nothing known."""
    if match["star"]:
        return lambda _: True
    if match["id"]:
        return _named(_plain(match["id"]))
    if match["class"]:
        name = _plain(match["class"])
        return lambda shape: name in shape.classes
    value = next(match[k] for k in ("double", "single", "bare") if match[k] is not None)
    return _attribute(match["key"], value)


def _attribute(key: str, value: str) -> Test | None:
    """Return what ``[key=value]`` asks, or None where the key or the value is not known."""
    if key == "id":
        return _named(value)
    if key in ("fill", "stroke"):
        return _coloured(key, value)
    if key == "layer" or (key == "kind" and value in ("region", "path")):
        return lambda shape: bool(getattr(shape, key) == value)
    return None


def _plain(name: str) -> str:
    """Return a name without the backslashes that CSS puts before odd characters."""
    return re.sub(r"\\(.)", r"\1", name)


def _named(identity: str) -> Test:
    return lambda shape: shape.id == identity or identity in shape.groups


def _coloured(key: str, value: str) -> Test | None:
    if value == "none":
        return lambda shape: getattr(shape, key) is None
    match = _HEX.match(value)
    if match is None:
        return None
    digits = match[1].lower()
    colour = "#" + (digits if len(digits) == 6 else "".join(d + d for d in digits))
    return lambda shape: bool(getattr(shape, key) == colour)


def _bad(selector: str, part: str, artwork: Artwork) -> ArtworkError:
    return ArtworkError(
        f"the selector '{selector}' cannot be read at '{part}'",
        mend=f"{_near(selector, artwork)}"
        'Use *, #id, .class, [layer="..."], [fill="#rrggbb"], [stroke="#rrggbb"], written '
        f"together or with commas. {what_there_is(artwork)}",
    )


def what_there_is(artwork: Artwork) -> str:
    """Return a sentence that lists ids, groups and layers, shortened where they are many."""
    parts = [f"Shapes: {_some(by_id(shape.id) for shape in artwork.shapes)}"]
    groups = dict.fromkeys(group for shape in artwork.shapes for group in shape.groups)
    layers = dict.fromkeys(shape.layer for shape in artwork.shapes if shape.layer)
    if groups:
        parts.append(f"groups: {_some(by_id(group) for group in groups)}")
    if layers:
        parts.append(f"layers: {_some(map(by_layer, layers))}")
    return "; ".join(parts) + "."


def by_id(identity: str) -> str:
    """Return the selector of an id."""
    return f"#{identity}" if _SIMPLE.match(identity) else f'[id="{identity}"]'


def _some(names: Iterable[str]) -> str:
    every = list(names)
    more = f" and {len(every) - _SHOWN} more" if len(every) > _SHOWN else ""
    return ", ".join(every[:_SHOWN]) + more


def by_layer(layer: str) -> str:
    """Return the selector of a layer."""
    return f'[layer="{layer}"]'

"""Pages of HTML built as elements, so that every word is escaped; one self-contained file."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from typing import Any
from unicodedata import category

from lxml.builder import E
from lxml.html import tostring

Element = Any
"""lxml's element; its builder is not typed."""

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def element(tag: str, *children: Element | str, **attributes: str) -> Element:
    """Return an element; ``class_`` stands for the attribute class."""
    named = {key.rstrip("_"): _clean(value) for key, value in attributes.items()}
    return E(tag, *(_clean(child) for child in children), named)


def table(
    head: tuple[str, ...], rows: Sequence[tuple[Element | str, ...]], right: frozenset[int]
) -> Element:
    """Return a table; columns in ``right`` are numbers, set flush right."""

    def cells(tag: str, row: tuple[Element | str, ...]) -> Element:
        return element(
            "tr",
            *(
                element(tag, cell, class_="n" if column in right else "t")
                for column, cell in enumerate(row)
            ),
        )

    return element(
        "table",
        element("thead", cells("th", head)),
        element("tbody", *(cells("td", row) for row in rows)),
    )


def picture(png: bytes, words: str) -> Element:
    """Return a PNG as a picture that travels inside the page."""
    data = base64.b64encode(png).decode("ascii")
    return element("img", src=f"data:image/png;base64,{data}", alt=words)


def page(title: str, style: str, *body: Element) -> bytes:
    """Return a whole page that fetches nothing."""
    whole = E.html(
        E.head(
            E.meta(charset="utf-8"),
            element("meta", **{"http-equiv": "Content-Security-Policy", "content": _POLICY}),
            E.meta(name="viewport", content="width=device-width, initial-scale=1"),
            E.title(_clean(title)),
            E.style(style),
        ),
        E.body(*body),
        lang="en",
    )
    text: bytes = tostring(whole, encoding="utf-8", doctype="<!DOCTYPE html>", pretty_print=True)
    return text


def _clean(child: Element | str) -> Element | str:
    """Drop what no HTML can hold: controls, halves of surrogate pairs, and non-characters."""
    if not isinstance(child, str):
        return child
    if child.isascii() and child.isprintable():
        return child
    return "".join(c for c in child if c in "\n\t" or not _unholdable(c))


def _unholdable(character: str) -> bool:
    return category(character) in ("Cc", "Cs") or ord(character) & 0xFFFE == 0xFFFE

"""XML from strangers: parsed without entities, network, external parts or unbounded depth."""

from __future__ import annotations

import re
import zlib
from typing import Final, TypeAlias

from lxml import etree

from embellish.errors import ArtworkError
from embellish.formats.xml_entities import expanded_entities

MAX_BYTES: Final = 16 * 1024 * 1024
"""Largest document taken; outlines for a garment are a hundredth of it."""

MAX_DEPTH: Final = 200
"""Deepest nesting taken; drawing programs stay below twenty."""

Element: TypeAlias = etree._Element  # noqa: SLF001 - lxml's own name for annotations

MAX_ELEMENTS: Final = 100_000
"""Most elements taken; the largest garment has fewer shapes."""

_AGAIN: Final = "Fetch it, or save it, again."
_GZIP = b"\x1f\x8b"
_ENTITY = re.compile(rb"<!DOCTYPE.*<!ENTITY", re.DOTALL | re.IGNORECASE)


def parse_xml(data: bytes, name: str) -> Element:
    """Return the root of an XML document (gzipped or not), comments and instructions left out.

    Parameters
    ----------
    data
        The document.
    name
        What errors call it.

    Raises
    ------
    ArtworkError
        For a document that is too large, too deep, not well-formed, or defines entities.
    """
    if data[:2] == _GZIP:
        data = _unzipped(data, name)
    if len(data) > MAX_BYTES:
        raise _too_large(name)
    text = data.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe")
    if not data.strip(b" \t\r\n\xef\xbb\xbf"):
        raise ArtworkError(
            "the file is empty", file=name, mend="Save the drawing again, as plain SVG."
        )
    if not text.startswith(b"<"):
        raise ArtworkError(
            "this is not an SVG drawing but a file of another kind",
            file=name,
            mend="Open it in a drawing program and save it as plain SVG.",
        )
    # Zero bytes go, so that UTF-16 is seen through as well.
    if _ENTITY.search(data.replace(b"\x00", b"")):
        data = _written_out(data, name)
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as wrong:
        line = wrong.lineno or 1
        raise ArtworkError(
            f"the drawing is broken here ({str(wrong.msg).split(', line ')[0]})",
            file=name,
            item=f"line {line}",
            mend="Open it in a drawing program and save it again.",
        ) from wrong
    _check_size(root, name)
    return root


def _unzipped(data: bytes, name: str) -> bytes:
    """Unpack gzip up to the size cap, so that a small file cannot fill the memory."""
    unpacker = zlib.decompressobj(wbits=31)
    try:
        plain = unpacker.decompress(data, MAX_BYTES + 1)
    except zlib.error as wrong:
        raise ArtworkError("it is packed (gzip) and damaged", file=name, mend=_AGAIN) from wrong
    if len(plain) <= MAX_BYTES and not unpacker.eof:
        raise ArtworkError("it is packed (gzip) and cut short", file=name, mend=_AGAIN)
    return plain


def _written_out(data: bytes, name: str) -> bytes:
    """Return a document with its own short entities put in where they are named.

    Older drawing programs name their namespaces so. What could grow without end, reach outside
    the file, or hide in another encoding is refused.
    """
    expanded = expanded_entities(data)
    if expanded is None:
        raise ArtworkError(
            "it defines XML entities that are not taken from a file",
            file=name,
            mend="Save it again as plain SVG.",
        )
    return expanded


def _check_size(root: Element, name: str) -> None:
    if sum(1 for _ in root.iter()) > MAX_ELEMENTS:
        raise ArtworkError(
            f"it has more than {MAX_ELEMENTS:,} elements",
            file=name,
            mend="Split the drawing, or simplify it.",
        )
    depth, _ = shape_of_tree(root)
    if depth > MAX_DEPTH:
        raise ArtworkError(
            f"elements are nested more than {MAX_DEPTH} deep",
            file=name,
            mend="Ungroup the drawing and save it again.",
        )


def shape_of_tree(root: Element) -> tuple[int, int]:
    """Return how deep elements are nested, and the most children of one."""
    depth = deepest = widest = 0
    for event, element in etree.iterwalk(root, events=("start", "end")):
        depth += 1 if event == "start" else -1
        deepest = max(deepest, depth)
        if event == "start":
            widest = max(widest, len(element))
    return deepest, widest


def _too_large(name: str) -> ArtworkError:
    return ArtworkError(
        f"it is larger than {MAX_BYTES // (1024 * 1024)} MB",
        file=name,
        mend="Leave embedded pictures out, or simplify the paths.",
    )


def local_name(tag: object) -> str:
    """Return a tag or attribute name without its namespace."""
    return str(tag).rpartition("}")[2]


def namespace(tag: object) -> str:
    """Return the namespace of a tag or attribute name, '' where it has none."""
    head, brace, _ = str(tag).rpartition("}")
    return head[1:] if brace else ""

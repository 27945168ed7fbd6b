"""Entities that an XML document defines for itself (XML 1.0, section 4.2), put in within bounds."""

from __future__ import annotations

import re
from typing import Final

MAX_ENTITIES: Final = 200
MAX_GROWTH: Final = 1024 * 1024
"""Bytes that all entities together may add; drawing programs add a few hundred."""

_NAME = rb"[A-Za-z_:][A-Za-z0-9_.:-]*"
_OPENS = re.compile(rb"<!DOCTYPE\s[^\[<>]*\[")
_CLOSES = re.compile(rb"\]\s*>")
_SPACE = re.compile(rb"\s*")
_DEFINED = re.compile(rb"<!ENTITY\s+(" + _NAME + rb")\s+(?:\"([^\"]*)\"|'([^']*)')\s*>")
_NAMED = re.compile(rb"&(" + _NAME + rb");")
_LITERAL: Final = {b"<!--": b"-->", b"<![CDATA[": b"]]>"}
_LITERAL_OPENS = re.compile(rb"<!--|<!\[CDATA\[")
_OWN = frozenset({b"amp", b"lt", b"gt", b"quot", b"apos"})


def expanded_entities(data: bytes) -> bytes | None:
    """Return a document without its own entities: each is put in where it is named.

    Entities may not name other entities, which is what grows without end.

    Parameters
    ----------
    data
        A document in an encoding that holds ASCII as it is.

    Returns
    -------
    bytes or None
        The document without its internal subset; None where an entity is of another kind, names
        another one, or all together would add more than ``MAX_GROWTH`` bytes.
    """
    found = _definitions(data)
    if found is None or b"\x00" in data:
        return None
    values, start, end = found
    if any(set(_NAMED.findall(value)) - _OWN for value in values.values()):
        return None
    # Lines keep their numbers, which findings name.
    parts = _parted(data[:start] + b"\n" * data.count(b"\n", start, end) + data[end:])
    grown = sum(len(values.get(name, b"")) for part in parts[::2] for name in _NAMED.findall(part))
    if grown > MAX_GROWTH:
        return None
    # A name that stands for nothing stays, and is told by the parser.
    parts[::2] = [_NAMED.sub(lambda m: values.get(m[1], m[0]), part) for part in parts[::2]]
    return b"".join(parts)


def _definitions(data: bytes) -> tuple[dict[bytes, bytes], int, int] | None:
    """Return entities by name, and where the document type stands; None where it holds more."""
    head = _OPENS.search(data)
    if head is None:
        return None
    values: dict[bytes, bytes] = {}
    place = head.end()
    while len(values) <= MAX_ENTITIES:
        blank = _SPACE.match(data, place)
        place = blank.end() if blank else place
        closes = _CLOSES.match(data, place)
        if closes is not None:
            return values, head.start(), closes.end()
        if data.startswith(b"<!--", place):
            end = data.find(b"-->", place + 4)
            if end < 0:
                return None
            place = end + 3
            continue
        one = _DEFINED.match(data, place)
        if one is None:
            return None
        # The first of several of a name holds, as the standard says.
        values.setdefault(one[1], one[2] if one[2] is not None else one[3])
        place = one.end()
    return None


def _parted(data: bytes) -> list[bytes]:
    """Return a document in turns of what names entities, and comments or CDATA, which do not."""
    parts, place = [], 0
    while opens := _LITERAL_OPENS.search(data, place):
        closer = _LITERAL[opens[0]]
        end = data.find(closer, opens.end())
        if end < 0:
            break
        parts += [data[place : opens.start()], data[opens.start() : end + len(closer)]]
        place = end + len(closer)
    return [*parts, data[place:]]

"""A catalogue as bytes that are read quickly again: checked values as JSON, never code.

What was read from a file once need not be parsed again as TOML nor its families expanded. The
bytes carry their own hash, and every value is still checked against its field when it comes back,
so that a damaged or foreign file is no catalogue at all rather than a wrong one.
"""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources
from typing import Final

from pydantic import ValidationError

from embellish import __version__
from embellish.catalogue.contents import Catalogue
from embellish.catalogue.fields import Strict
from embellish.catalogue.offers import Supplier
from embellish.catalogue.piece import Piece, Unit

_HASH: Final = 32


class _Contents(Strict):
    pieces: tuple[Piece, ...]
    units: tuple[Unit, ...]
    suppliers: dict[str, Supplier]
    currency: str
    note: str
    title: str = ""


def stored(catalogue: Catalogue) -> bytes:
    """Return all of a catalogue but its name."""
    contents = _Contents.model_construct(
        pieces=tuple(catalogue.pieces.values()),
        units=tuple(catalogue.units.values()),
        suppliers=dict(catalogue.suppliers),
        currency=catalogue.currency,
        note=catalogue.note,
        title=catalogue.title,
    )
    body = contents.model_dump_json(exclude_defaults=True).encode()
    return hashlib.sha256(body).digest() + body


def restored(data: bytes, name: str) -> Catalogue | None:
    """Return the catalogue that was stored, or None where the bytes are not those of `stored`."""
    body = data[_HASH:]
    if hashlib.sha256(body).digest() != data[:_HASH]:
        return None
    try:
        held = _Contents.model_validate_json(body)
    except ValidationError:
        return None
    return Catalogue(
        name=name,
        pieces={piece.code: piece for piece in held.pieces},
        units={unit.name: unit for unit in held.units},
        currency=held.currency,
        note=held.note,
        suppliers=held.suppliers,
        title=held.title,
    )


def stored_name(source: bytes) -> str:
    """Return what the stored form of a catalogue's file is called: other bytes, another name.

    The rules by which files are read are part of it: what an earlier version read is not found.
    """
    return hashlib.sha256(_rules() + hashlib.sha256(source).digest()).hexdigest()


@cache
def _rules() -> bytes:
    """Return a hash of the version and of the code that reads catalogues."""
    rules = hashlib.sha256(__version__.encode())
    for room in ("embellish.catalogue", "embellish.formats"):
        there = resources.files(room).iterdir()
        for each in sorted((each for each in there if each.is_file()), key=lambda each: each.name):
            rules.update(hashlib.sha256(each.read_bytes()).digest())
    return rules.digest()

"""The catalogue: everything that may be set, by code. A frozen value; later files outrank."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from embellish.catalogue.offers import Supplier
from embellish.catalogue.piece import Piece, Unit
from embellish.errors import CatalogueError
from embellish.findings import Finding
from embellish.formats.nearest import close_to
from embellish.formats.tables import nearest


@dataclass(frozen=True)
class Catalogue:
    """Pieces by code and units by name, with the currency their prices are in.

    Parameters
    ----------
    name
        As the user knows it: a file, or ``shipped:stones``; joined by commas where merged.
    pieces, units
        In the order of their file; read-only.
    currency
        Code of three letters (ISO 4217), or '' where nothing has a price.
    note
        What the file says about itself.
    suppliers
        What an order takes, by the supplier's name; read-only. Of others nothing is known.
    title
        What the file calls itself, '' where it does not, or where several are merged.
    """

    name: str
    pieces: Mapping[str, Piece] = field(default_factory=dict)
    units: Mapping[str, Unit] = field(default_factory=dict)
    currency: str = ""
    note: str = ""
    suppliers: Mapping[str, Supplier] = field(default_factory=dict)
    title: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "pieces", MappingProxyType(dict(self.pieces)))
        object.__setattr__(self, "units", MappingProxyType(dict(self.units)))
        object.__setattr__(self, "suppliers", MappingProxyType(dict(self.suppliers)))

    def __len__(self) -> int:
        return len(self.pieces) + len(self.units)

    def piece(self, code: str) -> Piece:
        """Return the piece of this code.

        Raises
        ------
        CatalogueError
            There is none; the nearest code is named.
        """
        if code not in self.pieces:
            raise CatalogueError(
                f"there is no piece '{code}'", file=self.name, mend=nearest(code, self.pieces)
            )
        return self.pieces[code]

    def wanted(self, name: str) -> Piece | Unit:
        """Return the piece of this code, or the unit of this name.

        Raises
        ------
        CatalogueError
            There is neither, or a member of the unit is missing.
        """
        unit = self.units.get(name)
        if unit is None:
            if name in self.pieces:
                return self.pieces[name]
            raise CatalogueError(
                f"there is no piece or unit '{name}'",
                file=self.name,
                mend=nearest(name, [*self.pieces, *self.units]),
            )
        for member in unit.members:
            if member.piece not in self.pieces:
                raise CatalogueError(
                    f"its member '{member.piece}' is in no catalogue given",
                    file=self.name,
                    item=f"unit '{name}'",
                    mend=nearest(member.piece, self.pieces) or "Add the catalogue that has it.",
                )
        return unit


def merged(catalogues: Iterable[Catalogue]) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Return one catalogue of all: of the same code the later outranks, and a finding tells.

    The currency is that of the last catalogue which has one. Prices in another are left out (the
    pieces stay), since adding amounts of two currencies would be worse than not knowing.

    Raises
    ------
    CatalogueError
        A name is a piece in one file and a unit in another.
    """
    every = list(catalogues)
    if len(every) == 1 and every[0].pieces.keys().isdisjoint(every[0].units):
        return every[0], ()
    currency = next((each.currency for each in reversed(every) if each.currency), "")
    pieces: dict[str, Piece] = {}
    units: dict[str, Unit] = {}
    suppliers: dict[str, Supplier] = {}
    origin: dict[str, str] = {}
    findings: list[Finding] = []
    for catalogue in every:
        foreign = bool(catalogue.currency) and catalogue.currency != currency
        if foreign:
            findings.append(_other_currency(catalogue, currency))
        outranked = [name for name in (*catalogue.pieces, *catalogue.units) if name in origin]
        findings.extend(_outranked(outranked, origin, catalogue.name))
        for code, piece in catalogue.pieces.items():
            _one_kind(code, units, catalogue.name)
            pieces[code] = piece.model_copy(update={"packs": ()}) if foreign else piece
            origin[code] = catalogue.name
        for name, unit in catalogue.units.items():
            _one_kind(name, pieces, catalogue.name)
            units[name] = unit
            origin[name] = catalogue.name
        if not foreign:
            suppliers |= catalogue.suppliers
    whole = Catalogue(
        name=", ".join(each.name for each in every),
        pieces=pieces,
        units=units,
        currency=currency,
        note="\n".join(each.note for each in every if each.note),
        suppliers=suppliers,
    )
    return whole, tuple(findings)


def _one_kind(name: str, others: Mapping[str, object], file: str) -> None:
    if name in others:
        raise CatalogueError(
            "this is a piece in one catalogue and a unit in another",
            file=file,
            item=f"'{name}'",
            mend="Give one of them another name.",
        )


def _outranked(names: list[str], origin: Mapping[str, str], file: str) -> list[Finding]:
    by_origin: dict[str, list[str]] = {}
    for name in names:
        by_origin.setdefault(origin[name], []).append(name)
    return [
        Finding(
            "catalogue-outranked",
            "note",
            f"{file} outranks {earlier} for {_listed(codes)}",
            mend=f"Rename or remove them in {file} if that is not meant.",
        )
        for earlier, codes in by_origin.items()
    ]


def _other_currency(catalogue: Catalogue, currency: str) -> Finding:
    priced = sum(1 for piece in catalogue.pieces.values() if piece.packs)
    return Finding(
        "catalogue-currency",
        "warning",
        f"prices of {catalogue.name} are in {catalogue.currency}, those of the job in {currency}: "
        f"packs and prices of its {priced} priced pieces are left out",
        mend=f"Enter the packs you buy, in {currency}, in your own catalogue.",
    )


def _listed(names: list[str]) -> str:
    shown = ", ".join(names[:5])
    return shown if len(names) <= 5 else f"{shown} and {len(names) - 5} more"


_WORD = re.compile(r"[^\s,;]+")
_TOKEN = re.compile(r"[^\s,;-]+")


def find(catalogue: Catalogue, text: str) -> tuple[Piece, ...]:
    """Return the pieces that answer to every word of the text.

    Words are looked for in code, name, kind, shape, size, colour, finish and fixing, whatever
    their case. Pieces that have all of them as whole words come before those that have them as
    parts of words, otherwise in the order of the catalogue: 'ss3' finds SS3, then SS30.
    """
    words = [word.casefold() for word in _WORD.findall(text)]
    whole: list[Piece] = []
    partly: list[Piece] = []
    for piece in catalogue.pieces.values():
        hay = _words_of(piece)
        if not all(word in hay for word in words):
            continue
        tokens = set(_TOKEN.findall(hay)) | set(_WORD.findall(hay))
        (whole if all(word in tokens for word in words) else partly).append(piece)
    return (*whole, *partly)


def unknown_words(catalogue: Catalogue, text: str) -> dict[str, str]:
    """Return the words of a text that no piece has, each with what may be meant by it."""
    words = [word for word in _WORD.findall(text) if not find(catalogue, word)]
    if not words:
        return {}
    known = {
        word for piece in catalogue.pieces.values() for word in _WORD.findall(_words_of(piece))
    }
    return {word: close_to(word, known) or "" for word in words}


def _words_of(piece: Piece) -> str:
    """Return all words that a piece is found by, in small letters."""
    return " ".join(
        (
            *(piece.code, piece.name, piece.kind, piece.shape),
            *(piece.size, piece.colour, piece.finish, piece.fixing),
        )
    ).casefold()

"""Families: sizes × colours × prices, written once and expanded into pieces.

A family names a table of sizes and a table of colours; both may be shared by several families
of the same file. A size carries its millimetres and their source; a colour its look; a pack its
price by colour group and size.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal, TypeVar

from pydantic import Field, model_validator

from embellish.catalogue.care import Care
from embellish.catalogue.fields import Money, PositiveMm, Strict
from embellish.catalogue.offers import Pack, Sold, Tolerance
from embellish.catalogue.piece import Fixing, Hole, Kind, Piece, ShapeName, Span
from embellish.errors import CatalogueError, UnfitError
from embellish.formats.fields import Colour
from embellish.formats.tables import checked, nearest


class SizeEntry(Strict):
    """One row of ``[sizes.NAME]``; its key is the trade's label, which decides nothing."""

    code: str = ""
    """What stands in a code for this label ('11' for '11/0'); the label itself where empty."""
    size_mm: Span | None = None
    """Both length and width, for what is as long as wide."""
    length_mm: Span | None = None
    width_mm: Span | None = None
    height_mm: PositiveMm | None = None
    hole_mm: PositiveMm | None = None
    inset_mm: PositiveMm | None = None
    outline_mm: tuple[tuple[float, float, float], ...] = ()
    weight_g: Annotated[float, Field(gt=0)] | None = None
    source: str = ""

    @model_validator(mode="after")
    def _sized(self) -> SizeEntry:
        both = self.length_mm is not None and self.width_mm is not None
        neither = self.length_mm is None and self.width_mm is None
        if not (both if self.size_mm is None else neither):
            raise UnfitError(
                "the size is missing, or is there twice", "Give size_mm, or length_mm and width_mm."
            )
        return self

    @property
    def spans(self) -> tuple[Span, Span]:
        """Length and width."""
        length, width = self.length_mm or self.size_mm, self.width_mm or self.size_mm
        assert length is not None  # noqa: S101 - the validator has seen to it
        assert width is not None  # noqa: S101 - the same
        return length, width


class ColourEntry(Strict):
    """One row of ``[colours.NAME]``; its key stands in the codes."""

    name: str = ""
    hex: Colour
    finish: str = ""
    group: str = "all"
    """What prices go by."""


class HoleRule(Strict):
    """Where the thread holes of every size are.

    ``centre``: one through the middle; ``end``: one near the +x end; ``ends``: two, near both
    ends; ``along``: one channel along the length, as of a bead lying on the cloth.
    """

    at: Literal["centre", "end", "ends", "along"]
    diameter_mm: PositiveMm
    inset_mm: PositiveMm | None = None
    """From the end to the middle of the hole."""

    @model_validator(mode="after")
    def _inset(self) -> HoleRule:
        if (self.at in ("end", "ends")) != (self.inset_mm is not None):
            if self.inset_mm is None:
                raise UnfitError(f"holes at '{self.at}' need inset_mm", "Add inset_mm.")
            raise UnfitError(
                f"inset_mm means nothing for a hole at '{self.at}'",
                "Leave inset_mm out, or take at = 'end' or 'ends'.",
            )
        return self

    def holes(self, size: SizeEntry) -> tuple[Hole, ...]:
        """Return the holes of one size."""
        diameter = size.hole_mm or self.diameter_mm
        if self.at == "centre":
            return (Hole(diameter_mm=diameter),)
        if self.at == "along":
            return (Hole(diameter_mm=diameter, axis="along"),)
        x = round(size.spans[0].nominal / 2 - (size.inset_mm or self.inset_mm or 0.0), 6)
        right = Hole(x_mm=x, diameter_mm=diameter)
        return (right,) if self.at == "end" else (Hole(x_mm=-x, diameter_mm=diameter), right)


class PackRule(Sold):
    """One way a family is sold: a count, and its price by colour group and size.

    A size or group without a price is not sold in this pack; price breaks are by ``off`` alone,
    since prices differ by size.
    """

    prices: dict[str, dict[str, Money]]

    @model_validator(mode="after")
    def _shares_off(self) -> PackRule:
        if any(each.price is not None for each in self.breaks):
            raise UnfitError(
                "a price break of a family is a share off, since its prices differ by size",
                "Write { packs = 5, off = 0.1 } for 10 % off.",
            )
        return self


class Family(Strict):
    """One ``[[family]]`` entry."""

    code: Annotated[str, Field(min_length=1)]
    """Template: {size} and {colour} are filled in."""
    name: str = ""
    """Template: {size} and {colour} are filled in (the colour's name)."""
    kind: Kind
    shape: ShapeName = "round"
    fixing: Fixing
    sizes: str
    only_sizes: tuple[str, ...] = ()
    colours: str
    only_colours: tuple[str, ...] = ()
    holes: HoleRule | None = None
    count_tolerance: Tolerance = 0.0
    care: Care = Care()
    supplier: str = ""
    pack: tuple[PackRule, ...] = ()
    source: str = ""
    """Said of every piece, after the source of its size."""


Row = TypeVar("Row")
_PLACE = re.compile(r"\{([^{}]*)\}")


def filled(template: str, words: Mapping[str, str], file: str, item: str) -> str:
    """Return the template with each ``{word}`` replaced.

    Raises
    ------
    CatalogueError
        A word is not known.
    """

    def word(match: re.Match[str]) -> str:
        key = match.group(1)
        if key not in words:
            raise CatalogueError(
                f"'{{{key}}}' stands for nothing here",
                file=file,
                item=item,
                mend=nearest(key, words)
                or "Leave the braces out, or add it to [catalogue.sources].",
            )
        return words[key]

    return _PLACE.sub(word, template)


def expanded(
    family: Family,
    sizes: Mapping[str, Mapping[str, SizeEntry]],
    colours: Mapping[str, Mapping[str, ColourEntry]],
    *,
    file: str,
    item: str,
) -> Iterator[Piece]:
    """Yield the family's pieces, size by size, colour by colour.

    Raises
    ------
    CatalogueError
        A table, size, colour or group that is named is not there, or a piece is not valid.
    """
    size_table = _table(sizes, family.sizes, "sizes", file, item)
    colour_table = _table(colours, family.colours, "colours", file, item)
    _known(family.only_sizes, size_table, "only_sizes", file, item)
    _known(family.only_colours, colour_table, "only_colours", file, item)
    groups = {colour.group for colour in colour_table.values()}
    for index, pack in enumerate(family.pack, 1):
        _known(pack.prices, groups, f"pack {index}, prices", file, item)
        for group, prices in pack.prices.items():
            _known(prices, size_table, f"pack {index}, prices.{group}", file, item)
    for label in family.only_sizes or size_table:
        size = size_table[label]
        length, width = size.spans
        for key in family.only_colours or colour_table:
            colour = colour_table[key]
            shown = colour.name or key.lower()
            place = f"{item}, {label} {key}"
            code = filled(
                family.code, {"size": size.code or label, "colour": key}, file, f"{item}, code"
            )
            name = filled(family.name, {"size": label, "colour": shown}, file, f"{item}, name")
            yield checked(
                Piece,
                {
                    "code": code,
                    "name": name,
                    "kind": family.kind,
                    "shape": family.shape,
                    "size": label,
                    "length_mm": length,
                    "width_mm": width,
                    "height_mm": size.height_mm,
                    "outline_mm": size.outline_mm,
                    "colour": shown,
                    "hex": colour.hex,
                    "finish": colour.finish,
                    "fixing": family.fixing,
                    "holes": family.holes.holes(size) if family.holes else (),
                    "packs": tuple(_packs(family, label, colour.group)),
                    "count_tolerance": family.count_tolerance,
                    "weight_g": size.weight_g,
                    "care": family.care,
                    "supplier": family.supplier,
                    "source": "; ".join(part for part in (size.source, family.source) if part),
                },
                file=file,
                item=place,
                error=CatalogueError,
            )


def _packs(family: Family, label: str, group: str) -> Iterator[Pack]:
    for pack in family.pack:
        price = pack.prices.get(group, {}).get(label)
        if price is not None:
            yield Pack(price=price, **pack.model_dump(exclude={"prices"}))


def _table(
    tables: Mapping[str, Mapping[str, Row]], name: str, what: str, file: str, item: str
) -> Mapping[str, Row]:
    if name not in tables:
        raise CatalogueError(
            f"this file has no table [{what}.{name}]",
            file=file,
            item=f"{item}, {what}",
            mend=nearest(name, tables) or f"Add [{what}.{name}].",
        )
    return tables[name]


def _known(names: Iterable[str], known: Iterable[str], what: str, file: str, item: str) -> None:
    there = list(known)
    for name in names:
        if name not in there:
            raise CatalogueError(
                f"'{name}' is not there",
                file=file,
                item=f"{item}, {what}",
                mend=nearest(name, there),
            )

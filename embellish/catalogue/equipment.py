"""Hoops, sheets and presses: what a job is sewn in, cut from and pressed with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, Literal, TypeVar

from pydantic import Field, model_validator

from embellish.catalogue.families import filled
from embellish.catalogue.fields import Code, Money, Strict
from embellish.catalogue.reading import Header
from embellish.catalogue.shipped import shipped_bytes, shipped_names
from embellish.errors import CatalogueError, UnfitError
from embellish.formats.fields import NoTruth
from embellish.formats.tables import checked, nearest, parsed_toml

LargeMm = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]


class Position(Strict):
    """One place where a hoop can be hung: its field moved, and turned, against the hoop.

    ``x_mm`` and ``y_mm`` lead from the middle of all positions to the middle of this field.
    """

    name: Code
    x_mm: float = 0.0
    y_mm: float = 0.0
    turn_deg: Annotated[Literal[0, 90, 180, 270], NoTruth] = 0


class Hoop(Strict):
    """A hoop: the field that can be sewn in one position, not the hoop's own size."""

    name: Code
    shape: Literal["rectangle", "round", "oval"] = "rectangle"
    field_mm: tuple[LargeMm, LargeMm]
    """Width and height of the field that can be sewn."""
    positions: Annotated[tuple[Position, ...], Field(min_length=1)] = (Position(name="only"),)
    source: str = ""

    @model_validator(mode="after")
    def _whole(self) -> Hoop:
        if self.shape == "round" and self.field_mm[0] != self.field_mm[1]:
            raise UnfitError(
                "a round hoop has one size, and the two numbers of field_mm differ",
                "Make them the same, or take shape = 'oval'.",
            )
        names = [position.name for position in self.positions]
        if len(set(names)) != len(names):
            raise UnfitError("two positions have the same name", "Give each its own.")
        return self


class Sheet(Strict):
    """A sheet or roll that templates are cut from."""

    name: Code
    width_mm: LargeMm
    height_mm: LargeMm
    """For a roll, the length that is cut in one go."""
    roll: bool = False
    thickness_mm: Annotated[float, Field(gt=0, le=10)] | None = None
    price: Money | None = None
    """Of one sheet, or of one such length of a roll."""
    source: str = ""


class Press(Strict):
    """A heat press: the platen, which bounds one pass."""

    name: Code
    platen_mm: tuple[LargeMm, LargeMm]
    source: str = ""


@dataclass(frozen=True)
class Equipment:
    """Hoops, sheets and presses by name."""

    name: str = ""
    hoops: Mapping[str, Hoop] = field(default_factory=dict)
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    presses: Mapping[str, Press] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for kind in ("hoops", "sheets", "presses"):
            object.__setattr__(self, kind, MappingProxyType(dict(getattr(self, kind))))

    def hoop(self, name: str) -> Hoop:
        """Return the hoop of this name, or raise CatalogueError with the nearest one."""
        return _named(self.hoops, name, "hoop")

    def sheet(self, name: str) -> Sheet:
        """Return the sheet of this name, or raise CatalogueError with the nearest one."""
        return _named(self.sheets, name, "sheet")

    def press(self, name: str) -> Press:
        """Return the press of this name, or raise CatalogueError with the nearest one."""
        return _named(self.presses, name, "press")


Thing = TypeVar("Thing", Hoop, Sheet, Press)


def read_equipment(data: bytes, name: str) -> Equipment:
    """Read a TOML file of ``[[hoop]]``, ``[[sheet]]`` and ``[[press]]`` entries.

    Raises
    ------
    CatalogueError
        For the first thing that is wrong: file, entry, field, and what to do.
    """
    tables = parsed_toml(data, name, CatalogueError)
    known = ("catalogue", "hoop", "sheet", "press")
    for key in tables:
        if key not in known:
            raise CatalogueError(f"unknown key '{key}'", file=name, mend=nearest(key, known))
    table = tables.get("catalogue", {})
    if not isinstance(table, dict):
        raise CatalogueError("'catalogue' must be a table", file=name, mend="Write [catalogue].")
    header = checked(Header, table, file=name, item="catalogue", error=CatalogueError)
    return Equipment(
        name=name,
        hoops=_things(tables, "hoop", Hoop, header, name),
        sheets=_things(tables, "sheet", Sheet, header, name),
        presses=_things(tables, "press", Press, header, name),
    )


@cache
def shipped_equipment() -> Equipment:
    """Return all shipped hoops, sheets and presses; read once, however many jobs ask."""
    return merged_equipment(
        read_equipment(shipped_bytes(name, folder), f"shipped:{folder}/{name}")
        for folder in ("hoops", "sheets", "presses")
        for name in shipped_names(folder)
    )


def merged_equipment(every: Iterable[Equipment]) -> Equipment:
    """Return one of all; of the same name the later outranks."""
    parts = list(every)
    return Equipment(
        name=", ".join(part.name for part in parts),
        hoops={name: hoop for part in parts for name, hoop in part.hoops.items()},
        sheets={name: sheet for part in parts for name, sheet in part.sheets.items()},
        presses={name: press for part in parts for name, press in part.presses.items()},
    )


def _things(
    tables: Mapping[str, Any], key: str, model: type[Thing], header: Header, file: str
) -> dict[str, Thing]:
    rows = tables.get(key, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise CatalogueError(
            f"'{key}' must be a list of tables", file=file, mend=f"Write [[{key}]]."
        )
    read: dict[str, Thing] = {}
    for index, row in enumerate(rows, 1):
        place = f"{key} '{row['name']}'" if isinstance(row.get("name"), str) else f"{key} {index}"
        thing = checked(model, row, file=file, item=place, error=CatalogueError)
        if thing.name in read:
            raise CatalogueError(
                "the name is taken in this file", file=file, item=place, mend="Give it another."
            )
        source = filled(thing.source, header.sources, file, f"{place}, source")
        read[thing.name] = thing.model_copy(update={"source": source})
    return read


def _named(things: Mapping[str, Thing], name: str, what: str) -> Thing:
    if name not in things:
        raise CatalogueError(f"there is no {what} '{name}'", mend=nearest(name, things))
    return things[name]

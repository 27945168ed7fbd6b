"""A piece: one entry of the catalogue. Names are labels; the millimetres decide."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Kind = Literal["stone", "pearl", "stud", "bead", "bugle", "sequin", "chain", "other"]
ShapeName = Literal[
    "round", "oval", "navette", "pear", "square", "rectangle", "octagon", "bugle", "outline"
]
Fixing = Literal["heat-set", "sew-on", "glue"]

PositiveMm = Annotated[float, Field(gt=0, le=500, allow_inf_nan=False)]


class Strict(BaseModel):
    """Base of catalogue values: frozen, and an unknown field is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Span(Strict):
    """Least, nominal and greatest of a length in mm: sizes are ranges, not numbers."""

    min: PositiveMm
    nominal: PositiveMm
    max: PositiveMm

    @model_validator(mode="after")
    def _in_order(self) -> Span:
        if not self.min <= self.nominal <= self.max:
            message = f"min {self.min}, nominal {self.nominal}, max {self.max} are not in order"
            raise ValueError(message)
        return self


class Hole(Strict):
    """A thread hole in the piece's own frame: x along the length, y along the width."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    diameter_mm: PositiveMm
    axis: Literal["through", "along", "across"] = "through"


class Pack(Strict):
    """A pack as sold: how many pieces, and its price in the catalogue's currency."""

    pieces: Annotated[int, Field(gt=0)]
    price: Annotated[Decimal, Field(ge=0)]


class Piece(Strict):
    """One thing that can be bought and set."""

    code: Annotated[str, Field(min_length=1, max_length=64)]
    name: str = ""
    kind: Kind
    shape: ShapeName = "round"
    size: str = ""
    """The trade's label for the size, such as SS10 or 11/0."""
    length_mm: Span
    width_mm: Span
    height_mm: PositiveMm | None = None
    outline_mm: tuple[tuple[float, float, float], ...] = ()
    """For shape ``outline``: x, y, bulge of each vertex, clockwise as seen, at max size."""
    colour: str = ""
    hex: Annotated[str, Field(pattern=r"^#[0-9a-f]{6}$")] = "#cccccc"
    finish: str = ""
    fixing: Fixing
    holes: tuple[Hole, ...] = ()
    packs: tuple[Pack, ...] = ()
    count_tolerance: Annotated[float, Field(ge=0, lt=1)] = 0.0
    """How short a pack may be, as a share of its count."""
    weight_g: Annotated[float, Field(gt=0)] | None = None
    supplier: str = ""
    lot: str = ""
    stock: Annotated[int, Field(ge=0)] = 0
    source: str = ""
    """Where the sizes come from, or 'common practice, no source'."""

    @model_validator(mode="after")
    def _shape_fits(self) -> Piece:
        if self.shape in ("round", "square") and self.length_mm != self.width_mm:
            message = f"a {self.shape} piece has one size: length_mm and width_mm differ"
            raise ValueError(message)
        if (self.shape == "outline") != bool(self.outline_mm):
            message = "outline_mm goes with shape 'outline', and only with it"
            raise ValueError(message)
        return self


class Member(Strict):
    """One piece of a unit, moved and turned in the unit's frame."""

    piece: str
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    angle_deg: float = 0.0


class Unit(Strict):
    """Several pieces set together on one seat, such as a seed bead on a sequin."""

    name: Annotated[str, Field(min_length=1, max_length=64)]
    members: Annotated[tuple[Member, ...], Field(min_length=1)]

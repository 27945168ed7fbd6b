"""A piece: one entry of the catalogue. Names are labels; the millimetres decide."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

Kind = Literal["stone", "pearl", "stud", "bead", "bugle", "sequin", "chain", "other"]
ShapeName = Literal[
    "round", "oval", "navette", "pear", "square", "rectangle", "octagon", "bugle", "outline"
]
Fixing = Literal["heat-set", "sew-on", "glue"]

PositiveMm = Annotated[float, Field(gt=0, le=500, allow_inf_nan=False)]


def _plain(value: str) -> str:
    if value != value.strip() or not value.isprintable():
        message = f"{value!r} has spaces at an end or characters that cannot be printed"
        raise ValueError(message)
    return value


Code = Annotated[str, Field(min_length=1, max_length=64), AfterValidator(_plain)]
"""What names a piece or unit: it is printed on every chart, template and list."""


class Strict(BaseModel):
    """Base of catalogue values: frozen, and an unknown field is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


def _money(value: Any) -> Any:
    # A float has already lost what was written: 1.005 is a little less than it looks.
    if isinstance(value, float):
        message = f'money is written as text, such as "{value}"'
        raise ValueError(message)  # noqa: TRY004 - pydantic turns only ValueError into its own
    return value


Money = Annotated[
    Decimal,
    BeforeValidator(_money),
    Field(ge=0, le=1_000_000_000, decimal_places=6),
]
"""An amount of money: decimal text or a whole number, never a float."""


class Span(Strict):
    """Least, nominal and greatest of a length in mm: sizes are ranges, not numbers.

    A list ``[min, nominal, max]`` is read as well.
    """

    min: PositiveMm
    nominal: PositiveMm
    max: PositiveMm

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, value: Any) -> Any:
        if isinstance(value, (list, tuple)) and len(value) == 3:
            return dict(zip(("min", "nominal", "max"), value, strict=True))
        if not isinstance(value, (dict, Span)):
            message = f"a size is a range: give [min, nominal, max] in mm, not {value!r:.60}"
            raise ValueError(message)  # noqa: TRY004 - pydantic turns only ValueError into its own
        return value

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

    pieces: Annotated[int, Field(gt=0, le=100_000_000)]
    price: Money
    invented: bool = False
    """True for the example prices of a shipped catalogue: nobody sells at them."""


class Piece(Strict):
    """One thing that can be bought and set."""

    code: Code
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

    @model_validator(mode="after")
    def _holes_inside(self) -> Piece:
        half_length, half_width = self.length_mm.max / 2, self.width_mm.max / 2
        for hole in self.holes:
            radius = hole.diameter_mm / 2
            # A channel along the length is bounded by the width alone, and the other way round.
            along, across = hole.axis == "along", hole.axis == "across"
            if (not along and abs(hole.x_mm) + radius > half_length) or (
                not across and abs(hole.y_mm) + radius > half_width
            ):
                message = (
                    f"a hole of {hole.diameter_mm:g} mm at ({hole.x_mm:g}, {hole.y_mm:g}) "
                    "reaches out of the piece"
                )
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

    name: Code
    members: Annotated[tuple[Member, ...], Field(min_length=1)]

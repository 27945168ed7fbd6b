"""A piece: one entry of the catalogue. Names are labels; the millimetres decide."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, model_validator

from embellish.catalogue.care import Care
from embellish.catalogue.fields import Code, PositiveMm, Strict, Word
from embellish.catalogue.offers import Pack, Tolerance
from embellish.catalogue.strung import Strung
from embellish.errors import UnfitError
from embellish.formats.fields import Colour
from embellish.formats.value_words import shown
from embellish.geometry.outline_forms import own
from embellish.geometry.outlines import OutlineError

Kind = Literal["stone", "pearl", "stud", "bead", "bugle", "sequin", "chain", "other"]
ShapeName = Literal[
    "round", "oval", "navette", "pear", "square", "rectangle", "octagon", "bugle", "outline"
]
Fixing = Literal["heat-set", "sew-on", "glue"]

OffsetMm = Annotated[float, Field(ge=-1000, le=1000)]


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
            what = "" if isinstance(value, (list, tuple)) else f", not {shown(value)}"
            raise UnfitError(
                f"a size is a range of three numbers in mm{what}",
                "Write [min, nominal, max], such as [3.8, 3.9, 4.0].",
            )
        return value

    @model_validator(mode="after")
    def _in_order(self) -> Span:
        if not self.min <= self.nominal <= self.max:
            raise UnfitError(
                f"min {self.min:g}, nominal {self.nominal:g}, max {self.max:g} are not in order",
                "Write the least first and the greatest last.",
            )
        return self


class Hole(Strict):
    """A thread hole in the piece's own frame: x along the length, y along the width."""

    x_mm: OffsetMm = 0.0
    y_mm: OffsetMm = 0.0
    diameter_mm: PositiveMm
    axis: Literal["through", "along", "across"] = "through"


class LotStock(Strict):
    """So many pieces of one lot that are there."""

    lot: Word = ""
    pieces: Annotated[int, Field(gt=0, le=1_000_000_000)]


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
    """The maker's or the trade's word for it; pictures go by ``hex``."""
    hex: Colour = "#cccccc"
    finish: str = ""
    fixing: Fixing
    holes: tuple[Hole, ...] = ()
    packs: tuple[Pack, ...] = ()
    count_tolerance: Tolerance = 0.0
    """How short a pack may be, as a share of its count."""
    weight_g: Annotated[float, Field(gt=0)] | None = None
    per_gram: Annotated[float, Field(gt=0, le=1_000_000)] | None = None
    """How many go to a gram, as its seller says or as weighed: for packs sold by weight."""
    per_strand: Annotated[int, Field(gt=0, le=1_000_000)] | None = None
    """How many are on a strand, for packs sold so."""
    strung: Strung | None = None
    """How it is strung, where it is a link of something sold by the length."""
    care: Care = Care()
    """What it stands, as its maker says."""
    supplier: str = ""
    lot: str = ""
    stock: Annotated[int, Field(ge=0)] = 0
    """Pieces that are there, of all lots."""
    lots: tuple[LotStock, ...] = ()
    """The stock lot by lot; left out, all of it is of ``lot``."""
    source: str = ""
    """Where the sizes come from, or 'common practice, no source'."""

    @model_validator(mode="before")
    @classmethod
    def _sum_of_lots(cls, value: Any) -> Any:
        if isinstance(value, dict) and value.get("lots") and "stock" not in value:
            parts = [
                getattr(each, "pieces", None) or each["pieces"]
                for each in value["lots"]
                if hasattr(each, "pieces") or (isinstance(each, dict) and "pieces" in each)
            ]
            if all(isinstance(part, int) for part in parts):
                return {**value, "stock": sum(parts)}
        return value

    @model_validator(mode="before")
    @classmethod
    def _counted_packs(cls, value: Any) -> Any:
        """Let a pack's length, weight or strands say how many pieces it holds."""
        packs = value.get("packs") if isinstance(value, dict) else None
        if not isinstance(packs, (list, tuple)):
            return value
        return {**value, "packs": tuple(_counted(each, value) for each in packs)}

    @model_validator(mode="after")
    def _stock_is_of_lots(self) -> Piece:
        if self.lots and self.stock != sum(each.pieces for each in self.lots):
            raise UnfitError("stock is not the sum of the lots", "Leave stock out.")
        return self

    @property
    def in_stock(self) -> tuple[tuple[str, int], ...]:
        """What is there, by lot; a lot may be ''."""
        if self.lots:
            return tuple((each.lot, each.pieces) for each in self.lots)
        return ((self.lot, self.stock),) if self.stock else ()

    @model_validator(mode="after")
    def _shape_fits(self) -> Piece:
        if self.shape in ("round", "square") and self.length_mm != self.width_mm:
            raise UnfitError(
                f"a {self.shape} piece has one size, and length_mm and width_mm differ",
                "Make them the same, or take shape = 'oval' or 'rectangle'.",
            )
        if self.shape == "outline" and not self.outline_mm:
            raise UnfitError("shape 'outline' has no outline_mm", "Add its outline_mm.")
        if self.shape != "outline" and self.outline_mm:
            raise UnfitError(
                f"outline_mm is given, and the shape is '{self.shape}'",
                "Take shape = 'outline', or leave outline_mm out.",
            )
        return self

    @model_validator(mode="after")
    def _holes_inside(self) -> Piece:
        if not self.holes:
            return self
        half_length, half_width = self.length_mm.max / 2, self.width_mm.max / 2
        centre_x, centre_y = _centre_of(self.outline_mm)
        for hole in self.holes:
            radius = hole.diameter_mm / 2
            # A channel along the length is bounded by the width alone, and the other way round.
            along, across = hole.axis == "along", hole.axis == "across"
            away_x, away_y = abs(hole.x_mm - centre_x), abs(hole.y_mm - centre_y)
            if (not along and away_x + radius > half_length) or (
                not across and away_y + radius > half_width
            ):
                raise UnfitError(
                    f"a hole of {hole.diameter_mm:g} mm at ({hole.x_mm:g}, {hole.y_mm:g}) "
                    "reaches out of the piece",
                    "Move it or make it smaller; holes are measured from the piece's middle, "
                    "with an outline of its own in the frame of the outline.",
                )
        return self


def _counted(pack: Any, piece: dict[str, Any]) -> Any:
    """Return a pack with the pieces that its length, weight or strands come to, rounded down."""
    if not isinstance(pack, dict) or "pieces" in pack:
        return pack
    said = [key for key in _AMOUNTS if isinstance(pack.get(key), (int, float))]
    if not said:
        return pack
    amount, by = pack[said[0]], _AMOUNTS[said[0]]
    if said[0] == "length_m":
        try:
            strung = Strung.model_validate(piece.get("strung"))
        except ValidationError as wrong:
            raise UnfitError(
                "a pack has length_m, and the piece no table strung that holds",
                "Add strung = { pitch_mm = …, least_bend_mm = … }.",
            ) from wrong
        return {**pack, "pieces": strung.links_in(float(amount) * 1000.0)}
    each = piece.get(by)
    if not isinstance(each, (int, float)) or isinstance(each, bool):
        raise UnfitError(
            f"a pack has {said[0]}, and the piece does not say {by}",
            f"Add {by}: count what a small weighed part, or one strand, holds.",
        )
    return {**pack, "pieces": int(amount * each + 1e-9)}


_AMOUNTS = {"length_m": "strung", "grams": "per_gram", "strands": "per_strand"}
"""How a pack may say what it holds, and what of the piece it is counted by."""


def _centre_of(outline_mm: tuple[tuple[float, float, float], ...]) -> tuple[float, float]:
    """Return the middle of an outline that may be drawn anywhere; holes are in its frame."""
    if not outline_mm:
        return 0.0, 0.0
    try:
        _, (x, y) = own(outline_mm)
    except OutlineError as wrong:
        raise UnfitError(wrong.message, wrong.mend) from wrong
    return float(x), float(y)


class Member(Strict):
    """One piece of a unit, moved and turned in the unit's frame."""

    piece: str
    dx_mm: OffsetMm = 0.0
    dy_mm: OffsetMm = 0.0
    angle_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0


class Unit(Strict):
    """Several pieces set together on one seat, such as a seed bead on a sequin."""

    name: Code
    members: Annotated[tuple[Member, ...], Field(min_length=1)]

"""The table ``[materials]``: spares, stock, and from whom is bought."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field

from embellish.catalogue.piece import Kind
from embellish.formats.fields import Exact
from embellish.plans.buying.options import Rules
from embellish.plans.thread_settings import ThreadSettings

Share = Annotated[Decimal, Exact, Field(ge=0, le=10)]


class Spare(BaseModel):
    """How many spare pieces: a share of the count, and never fewer than a number."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    share: Share = Decimal("0.05")
    least: Annotated[int, Field(ge=0, le=1_000_000)] = 5

    def of(self, count: int) -> int:
        """Return the spare pieces for a count; none for none."""
        return max(ceil(count * Fraction(self.share)), self.least) if count else 0


_USUAL: Final[dict[Kind, Spare]] = {
    "bead": Spare(share=Decimal("0.10"), least=10),
    "sequin": Spare(share=Decimal("0.10"), least=10),
}
"""5 to 10 %, small things more: common practice, no source."""


class MaterialSettings(BaseModel):
    """``[materials]`` of a job.

    Parameters
    ----------
    spare_share, spare_least
        Spares of every kind; left out, 5 % and at least 5, beads and sequins 10 % and at least 10
        (common practice, no source).
    by_kind
        Spares of one kind of piece; outranks the others.
    with_garment
        Pieces of each code that go to the customer with each garment, for repairs.
    use_stock
        Whether the catalogue's stock is used up first.
    stock
        A file of what is there and was taken; it outranks the catalogue's stock.
    one_supplier_a_code, one_lot_a_code
        Whether all of a code comes from one supplier, and of one lot: shades differ by lot, so
        stock of another lot is then left where it does not suffice.
    suppliers
        Only these are bought from, where any are named.
    spreadsheet
        Whether a spreadsheet of materials, orders and quote is made as well.
    thread
        Figures by which thread is counted; without them none is.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    spare_share: Share | None = None
    spare_least: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    by_kind: dict[Kind, Spare] = Field(default_factory=dict)
    with_garment: Annotated[int, Field(ge=0, le=1000)] = 0
    use_stock: bool = True
    stock: Annotated[str, Field(min_length=1)] | None = None
    one_supplier_a_code: bool = True
    one_lot_a_code: bool = True
    suppliers: tuple[Annotated[str, Field(min_length=1, max_length=120)], ...] = ()
    spreadsheet: bool = False
    thread: ThreadSettings | None = None

    @property
    def rules(self) -> Rules:
        """What holds of a purchase."""
        return Rules(self.one_supplier_a_code, self.one_lot_a_code)

    def needed(self, kind: Kind, count: int, garments: int) -> int:
        """Return pieces with their spares, and those that go with the garments."""
        return count + self.spare(kind).of(count) + self.with_garment * garments

    def spare(self, kind: Kind) -> Spare:
        """Return what holds for a kind of piece."""
        if kind in self.by_kind:
            return self.by_kind[kind]
        usual = _USUAL.get(kind, Spare())
        return Spare(
            share=usual.share if self.spare_share is None else self.spare_share,
            least=usual.least if self.spare_least is None else self.spare_least,
        )

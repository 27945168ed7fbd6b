"""What a shop says of its rates: the job's ``[price]``. Rates not entered are labelled defaults."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from embellish.catalogue.fields import Money
from embellish.catalogue.piece import Kind
from embellish.errors import UnfitError
from embellish.formats.fields import Currency, Exact
from embellish.layout.layout import SetBy
from embellish.plans.money import product, total

DEFAULT: Final = "default, common practice, no source - correct it"
"""What a line says of a rate that nobody entered."""

Minutes = Annotated[Decimal, Exact, Field(ge=0, le=100_000)]
Rate = Annotated[Decimal, Exact, Field(ge=0, le=100)]
Garments = Annotated[int, Field(ge=1, le=100_000)]


class Extra(BaseModel):
    """A cost of its own, such as the garment itself, thread, film or postage."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: Annotated[str, Field(min_length=1, max_length=80)]
    amount: Money
    per: Literal["garment", "job"] = "garment"


MINUTES_PER_PIECE: Final[dict[SetBy, Decimal]] = {
    "template": Decimal("0.01"),
    "face-down": Decimal("0.08"),
    "hand": Decimal("0.10"),
    "sewn": Decimal("0.40"),
}
"""From memory: 8-15 pieces a minute by hand, hundreds when brushed in; sewn is a guess."""


class PriceSettings(BaseModel):
    """``[price]`` of a job. Shares are written as numbers: 0.25 is 25 %.

    Parameters
    ----------
    currency
        Must be the catalogue's where both are given.
    labour_rate_per_hour
        What an hour of work is paid.
    labour_burden, labour_burden_per_hour
        What an hour costs beyond that: named shares of the rate (insurance, paid leave), and a
        fixed amount.
    minutes_per_piece
        By how pieces are set: template, face-down, hand, sewn.
    minutes_per_piece_of_kind
        By kind of piece; outranks the former.
    machine_rate_per_hour
        What an hour of the embroidery machine costs, its watching included.
    press_cycle_minutes
        Work for one closing of the press: laying in, pressing, peeling.
    setup_minutes
        Work once a job.
    garment_minutes
        Work once a garment: hooping, looking over, packing.
    extra
        Other costs.
    overhead_share
        On all of the above.
    markup_share, margin_share
        Exactly one: price = cost × (1 + markup), or price = cost / (1 - margin).
    tax_share
        On the price.
    rounding
        The price of one garment is rounded half up to a multiple of this.
    quantities
        The customer's quote also gives the price at each of these numbers of garments.
    shop, customer, terms
        Words on the customer's quote: who makes it, for whom, and under which terms.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    currency: Currency = ""
    labour_rate_per_hour: Money = Decimal(20)
    labour_burden: dict[str, Rate] = Field(default_factory=dict)
    labour_burden_per_hour: Money = Decimal(0)
    minutes_per_piece: dict[SetBy, Minutes] = Field(default_factory=dict)
    minutes_per_piece_of_kind: dict[Kind, Minutes] = Field(default_factory=dict)
    machine_rate_per_hour: Money = Decimal(10)
    press_cycle_minutes: Minutes = Decimal(2)
    setup_minutes: Minutes = Decimal(30)
    garment_minutes: Minutes = Decimal(5)
    extra: tuple[Extra, ...] = ()
    overhead_share: Rate = Decimal("0.10")
    markup_share: Rate | None = None
    margin_share: Annotated[Decimal, Exact, Field(ge=0, lt=1)] | None = None
    tax_share: Rate = Decimal(0)
    rounding: Annotated[Money, Field(gt=0)] | None = None
    quantities: Annotated[tuple[Garments, ...], Field(max_length=12)] = ()
    shop: Annotated[str, Field(max_length=400)] = ""
    customer: Annotated[str, Field(max_length=200)] = ""
    terms: Annotated[str, Field(max_length=4000)] = ""

    @model_validator(mode="after")
    def _one_of_two(self) -> PriceSettings:
        if self.markup_share is not None and self.margin_share is not None:
            raise UnfitError("markup_share and margin_share are both given", "Keep one of them.")
        return self

    def said(self, *names: str) -> str:
        """Return '' if every one of these was entered, else that they are defaults."""
        missing = [name for name in names if name not in self.model_fields_set]
        return f"{', '.join(missing)}: {DEFAULT}" if missing else ""

    def minutes_of_piece(self, set_by: SetBy, kind: Kind) -> tuple[Decimal, str]:
        """Return minutes for one piece, and what is said where nobody entered them."""
        if kind in self.minutes_per_piece_of_kind:
            return self.minutes_per_piece_of_kind[kind], ""
        if set_by in self.minutes_per_piece:
            return self.minutes_per_piece[set_by], ""
        return MINUTES_PER_PIECE[set_by], f"minutes_per_piece.{set_by}: {DEFAULT}"

    @property
    def labour_cost_per_hour(self) -> Decimal:
        """The rate with its burdens."""
        share = total(self.labour_burden.values())
        return total((product(self.labour_rate_per_hour, 1 + share), self.labour_burden_per_hour))

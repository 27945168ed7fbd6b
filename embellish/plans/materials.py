"""Materials: what a job needs, counted in full, and the cheapest packs that never fall short."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import ceil
from types import MappingProxyType
from typing import Annotated, Final

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Kind, Pack, Piece
from embellish.errors import CatalogueError
from embellish.findings import Finding
from embellish.formats.fields import Exact
from embellish.formats.tables import nearest
from embellish.layout.layout import Layout
from embellish.plans.money import product, quotient, rounded, smallest, total, written
from embellish.plans.packs import cheapest, enough_to_buy

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
    use_stock
        Whether the catalogue's stock is used up first.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    spare_share: Share | None = None
    spare_least: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    by_kind: dict[Kind, Spare] = Field(default_factory=dict)
    use_stock: bool = True

    def spare(self, kind: Kind) -> Spare:
        """Return what holds for a kind of piece."""
        if kind in self.by_kind:
            return self.by_kind[kind]
        usual = _USUAL.get(kind, Spare())
        return Spare(
            share=usual.share if self.spare_share is None else self.spare_share,
            least=usual.least if self.spare_least is None else self.spare_least,
        )


@dataclass(frozen=True, slots=True)
class PackCount:
    """So many packs of one kind."""

    pieces: int
    quantity: int
    price: Decimal
    """Of one pack."""


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One code: what is set, what is bought.

    ``needed`` = ``count`` + ``spare``, ``count`` = ``per_garment`` × quantity. ``cost`` is None
    where pieces must be bought and no pack is listed. ``unit_price`` is the least price of one
    piece in any pack, for what is used from stock.
    """

    piece: Piece
    per_garment: int
    count: int
    spare: int
    needed: int
    from_stock: int
    packs: tuple[PackCount, ...]
    cost: Decimal | None
    unit_price: Decimal | None

    @property
    def code(self) -> str:
        """The piece's code."""
        return self.piece.code

    @property
    def left_over(self) -> int:
        """Pieces bought beyond what is needed, if every pack holds its count."""
        bought = sum(pack.pieces * pack.quantity for pack in self.packs)
        return max(0, self.from_stock + bought - self.needed)


@dataclass(frozen=True, slots=True)
class MaterialsPlan:
    """What a job needs and what buying it costs; ``total`` is None while a cost is not known."""

    currency: str
    quantity: int
    lines: tuple[MaterialLine, ...]
    total: Decimal | None
    findings: tuple[Finding, ...] = field(default=())


def piece_counts(layout: Layout) -> dict[str, int]:
    """Return how many pieces of each code one garment takes, units counted member by member."""
    counts: dict[str, int] = {piece.code: 0 for piece in layout.pieces}
    single = np.bincount(layout.piece[layout.piece >= 0], minlength=len(layout.pieces))
    for piece, number in zip(layout.pieces, single.tolist(), strict=True):
        counts[piece.code] += number
    grouped = np.bincount(layout.unit[layout.unit >= 0], minlength=len(layout.units))
    for unit, number in zip(layout.units, grouped.tolist(), strict=True):
        for member in unit.members:
            counts[member.piece] = counts.get(member.piece, 0) + number
    return {code: number for code, number in counts.items() if number}


def plan_materials(
    layout: Layout,
    quantity: int,
    catalogue: Catalogue,
    settings: MaterialSettings | None = None,
) -> MaterialsPlan:
    """Count, add spares, take from stock, and choose packs.

    Parameters
    ----------
    quantity
        Garments.
    catalogue
        Packs, prices, stock and tolerance come from here, by code; a code that is no longer in
        it is counted from the layout's own piece, whose packs hold.

    Raises
    ------
    CatalogueError
        A member of a unit is neither in the catalogue nor in the layout.
    """
    own = {piece.code: piece for piece in layout.pieces}
    return plan_counted(piece_counts(layout), quantity, catalogue, settings, own)


def plan_counted(
    counts: Mapping[str, int],
    quantity: int,
    catalogue: Catalogue,
    settings: MaterialSettings | None = None,
    own: Mapping[str, Piece] = MappingProxyType({}),
) -> MaterialsPlan:
    """Plan the buying of pieces already counted, such as those of several sizes together.

    Parameters
    ----------
    counts
        How many of each code one garment takes.
    quantity, catalogue, settings
        As in `plan_materials`.
    own
        Pieces by code, for codes that are no longer in the catalogue.

    Raises
    ------
    CatalogueError
        For a code that is in neither.
    """
    rules = settings or MaterialSettings()
    findings: list[Finding] = []
    lines = [
        _line(
            _piece(code, catalogue, own),
            number,
            quantity,
            rules,
            currency=catalogue.currency,
            findings=findings,
        )
        for code, number in counts.items()
    ]
    known = [line.cost for line in lines if line.cost is not None]
    whole = total(known) if len(known) == len(lines) else None
    findings.extend(_of_prices(lines, total(known), catalogue.currency))
    return MaterialsPlan(catalogue.currency, quantity, tuple(lines), whole, tuple(findings))


def _piece(code: str, catalogue: Catalogue, own: Mapping[str, Piece]) -> Piece:
    piece = catalogue.pieces.get(code) or own.get(code)
    if piece is None:
        raise CatalogueError(
            f"there is no piece '{code}', which a unit takes",
            file=catalogue.name,
            mend=nearest(code, catalogue.pieces),
        )
    return piece


def _line(
    piece: Piece,
    per_garment: int,
    quantity: int,
    rules: MaterialSettings,
    *,
    currency: str,
    findings: list[Finding],
) -> MaterialLine:
    count = per_garment * quantity
    spare = rules.spare(piece.kind).of(count)
    needed = count + spare
    from_stock = min(piece.stock, needed) if rules.use_stock else 0
    to_buy = needed - from_stock
    packs: tuple[PackCount, ...] = ()
    cost: Decimal | None = Decimal(0)
    if to_buy and not piece.packs:
        cost = None
        findings.append(
            Finding(
                "no-packs",
                "warning",
                f"{piece.code}: {to_buy} to buy, but the catalogue lists no pack: cost not known",
                mend="Add its packs and prices to your catalogue.",
            )
        )
    elif to_buy:
        choice = cheapest(piece.packs, enough_to_buy(to_buy, piece.count_tolerance))
        packs = tuple(PackCount(pack.pieces, number, pack.price) for pack, number in choice.packs)
        exact = total(product(pack.price, pack.quantity) for pack in packs)
        cost = rounded(exact, smallest(currency))
        if not choice.proven:
            findings.append(_unproven(piece, choice.packs))
    return MaterialLine(
        piece=piece,
        per_garment=per_garment,
        count=count,
        spare=spare,
        needed=needed,
        from_stock=from_stock,
        packs=packs,
        cost=cost,
        unit_price=min((quotient(pack.price, pack.pieces) for pack in piece.packs), default=None),
    )


def _unproven(piece: Piece, packs: tuple[tuple[Pack, int], ...]) -> Finding:
    words = " + ".join(f"{number} × {pack.pieces}" for pack, number in packs)
    return Finding(
        "packs-not-proven",
        "note",
        f"{piece.code}: {words} is enough, but the numbers are too large to prove it cheapest",
        mend="Ask your supplier for a larger pack.",
    )


def _of_prices(lines: list[MaterialLine], known: Decimal, currency: str) -> list[Finding]:
    found: list[Finding] = []
    if any(line.cost is None for line in lines):
        found.append(
            Finding(
                "cost-unknown",
                "warning",
                f"the cost of materials is not known; the lines that have one come to "
                f"{written(known, currency)} {currency}",
                mend="Add the missing packs and prices to your catalogue.",
            )
        )
    invented = [line.code for line in lines if any(pack.invented for pack in line.piece.packs)]
    if invented:
        shown = ", ".join(invented[:5]) + (" …" if len(invented) > 5 else "")
        found.append(
            Finding(
                "prices-invented",
                "warning",
                f"packs and prices of {shown} are invented examples: nobody sells at them",
                mend="Enter what you pay in your own catalogue before you buy or quote.",
            )
        )
    return found

"""Materials: what a job needs, counted in full, and the cheapest packs that never fall short."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece
from embellish.catalogue.substitutes import proposals
from embellish.errors import CatalogueError
from embellish.findings import Finding, few
from embellish.formats.tables import nearest
from embellish.layout.layout import Layout
from embellish.plans.buying.buying import Buying, Instead, buy
from embellish.plans.buying.offers import Purchase, offers_of
from embellish.plans.buying.one_code import next_cheapest_of
from embellish.plans.buying.options import Demand, Option
from embellish.plans.cut_lengths import Cutting, bought_to_cut, cutting_told
from embellish.plans.lengths import Lengths, lengths_of
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.money import product, quotient, rounded, smallest, total, written
from embellish.plans.piece_counts import piece_counts


@dataclass(frozen=True, slots=True)
class PackCount:
    """So many packs of one kind."""

    pieces: int
    quantity: int
    price: Decimal
    """Of one pack, where so many are bought."""
    supplier: str = ""
    lot: str = ""
    amount: str = ""
    """What it is sold by, such as '10 m' or '5 g'; '' for a number of pieces."""

    @property
    def cost(self) -> Decimal:
        """Of all."""
        return product(self.price, self.quantity)


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
    taken: tuple[tuple[str, int], ...]
    """What comes from stock, by lot."""
    packs: tuple[PackCount, ...]
    cost: Decimal | None
    unit_price: Decimal | None
    option: Option | None
    """How it is covered; None where it cannot be."""
    cutting: Cutting | None = None
    """From which reel which lengths are cut, of what is sold by the length."""

    @property
    def from_stock(self) -> int:
        """Pieces that come from stock, of all lots."""
        return sum(pieces for _, pieces in self.taken)

    @property
    def next_cost(self) -> Decimal | None:
        """What the next-cheapest packs of the same offers cost, where there are any."""
        if self.option is None or not self.option.offers:
            return None
        other = next_cheapest_of(self.option.offers, self.option.wanted)
        return None if other is None else other.cost

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
class SupplierOrder:
    """What is ordered from one supplier: the value of its packs, and what sending them takes."""

    supplier: str
    value: Decimal
    shipping: Decimal


@dataclass(frozen=True, slots=True)
class MaterialsPlan:
    """What a job needs and what buying it costs.

    ``total`` is of the pieces, and None while a cost is not known; sending them is told by
    ``orders``, a supplier at a time. ``instead`` is the cheapest purchase from other suppliers.
    """

    currency: str
    quantity: int
    lines: tuple[MaterialLine, ...]
    total: Decimal | None
    findings: tuple[Finding, ...] = field(default=())
    orders: tuple[SupplierOrder, ...] = ()
    instead: Instead | None = None


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
    lengths = lengths_of([(layout, 1)])
    return plan_counted(piece_counts(layout), quantity, catalogue, settings, own, lengths=lengths)


def plan_counted(
    counts: Mapping[str, int],
    quantity: int,
    catalogue: Catalogue,
    settings: MaterialSettings | None = None,
    own: Mapping[str, Piece] = MappingProxyType({}),
    garments: Mapping[str, int] | None = None,
    lengths: Mapping[str, Lengths] = MappingProxyType({}),
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
    garments
        How many garments have each code, where that is not ``quantity``.
    lengths
        Of each code that is sold by the length, one garment's cut lengths: what the cuts lose is
        needed beside what is set, and what is bought is enough to cut them all.

    Raises
    ------
    CatalogueError
        For a code that is in neither.
    """
    rules = settings or MaterialSettings()
    findings: list[Finding] = []
    pieces = {code: _piece(code, catalogue, own) for code in counts}
    many = garments or dict.fromkeys(counts, quantity)
    demands = [
        Demand(
            code,
            rules.needed(pieces[code].kind, number * quantity, many.get(code, quantity))
            + (lengths[code].lost * quantity if code in lengths else 0),
            offers_of(pieces[code], rules.suppliers),
            pieces[code].in_stock if rules.use_stock else (),
        )
        for code, number in counts.items()
    ]
    bought, cutting = bought_to_cut(
        demands,
        {code: each.off_reel(quantity) for code, each in lengths.items()},
        lambda raised: buy(raised, catalogue.suppliers, rules.rules),
    )
    cent = smallest(catalogue.currency)
    lines = [
        replace(
            _line(demand, pieces[demand.code], counts[demand.code], quantity, bought, cent),
            cutting=cutting.get(demand.code),
        )
        for demand in demands
    ]
    known = [line.cost for line in lines if line.cost is not None]
    whole = total(known) if len(known) == len(lines) else None
    findings.extend(_of_offers(lines, bought, rules, catalogue))
    for code, each in cutting.items():
        findings.extend(cutting_told(code, each, lengths[code].lost_each))
    findings.extend(_of_prices(lines, total(known), catalogue.currency))
    orders = tuple(
        SupplierOrder(
            name, rounded(total(each.value_at(name) for each in bought.lines.values()), cent), sent
        )
        for name, sent in bought.shipping.items()
    )
    return MaterialsPlan(
        catalogue.currency,
        quantity,
        tuple(lines),
        whole,
        tuple(findings),
        orders,
        bought.instead if whole is not None else None,
    )


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
    demand: Demand, piece: Piece, per_garment: int, quantity: int, bought: Buying, cent: Decimal
) -> MaterialLine:
    count = per_garment * quantity
    option = bought.lines.get(piece.code)
    return MaterialLine(
        piece=piece,
        per_garment=per_garment,
        count=count,
        spare=demand.needed - count,
        needed=demand.needed,
        taken=demand.stock if option is None else option.taken,
        packs=_packs(option.bought.purchases) if option is not None else (),
        cost=None if option is None else rounded(option.bought.cost, cent),
        unit_price=min((quotient(pack.price, pack.pieces) for pack in piece.packs), default=None),
        option=option,
    )


def _packs(purchases: Iterable[Purchase]) -> tuple[PackCount, ...]:
    return tuple(
        PackCount(
            each.offer.pack.pieces,
            each.number,
            each.price,
            each.offer.supplier,
            each.offer.lot,
            each.offer.pack.amount,
        )
        for each in purchases
    )


def _of_offers(
    lines: Sequence[MaterialLine], bought: Buying, rules: MaterialSettings, catalogue: Catalogue
) -> list[Finding]:
    """Tell what cannot be bought, what is left in stock, and what is not proven."""
    found: list[Finding] = []
    for line in lines:
        to_buy = line.needed - line.from_stock
        if line.cost is None:
            whom = f" from {', '.join(rules.suppliers)}" if rules.suppliers else ""
            found.append(
                Finding(
                    "no-packs",
                    "warning",
                    f"{line.code}: {to_buy} to buy, but the catalogue lists no pack{whom}: cost not"
                    " known",
                    mend="Add its packs and prices to your catalogue."
                    + _to_be_had(line.piece, line.needed, catalogue, rules),
                )
            )
        elif rules.use_stock and line.packs and line.from_stock < line.piece.stock:
            left = [lot for lot, _ in line.piece.in_stock if lot not in dict(line.taken)]
            found.append(
                Finding(
                    "lot-apart",
                    "note",
                    f"{line.code}: {line.piece.stock - line.from_stock} of lot {', '.join(left)}"
                    f" stay in stock, since no lot suffices and shades differ by lot",
                    mend="Let lots mix with one_lot_a_code = false under [materials].",
                )
            )
    if not bought.proven:
        found.append(_unproven(lines, bought))
    return found


def _to_be_had(piece: Piece, needed: int, catalogue: Catalogue, rules: MaterialSettings) -> str:
    """Return a proposal: the likest piece that can be bought, or is there in full; '' for none."""
    for each in proposals(piece, catalogue):
        stock = each.piece.stock if rules.use_stock else 0
        if stock >= needed or offers_of(each.piece, rules.suppliers):
            return f" Or take {each.words}, which is to be had: a sample card decides."
    return ""


def _unproven(lines: Sequence[MaterialLine], bought: Buying) -> Finding:
    doubtful = [
        line
        for line in lines
        if line.code in bought.lines and not bought.lines[line.code].bought.proven
    ]
    words = "; ".join(
        f"{line.code}: {' + '.join(f'{pack.quantity} × {pack.pieces}' for pack in line.packs)}"
        for line in doubtful
    )
    what = words or "the packs chosen"
    gap = f" (at most {bought.gap_share:.1%} could be saved)" if bought.gap_share else ""
    return Finding(
        "packs-not-proven",
        "note",
        f"{what} is enough, but it is not proven that nothing is cheaper{gap}",
        mend="Ask your supplier for a larger pack, or name fewer suppliers under [materials].",
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
        shown = few(invented, 5)
        found.append(
            Finding(
                "prices-invented",
                "warning",
                f"packs and prices of {shown} are invented examples: nobody sells at them",
                mend="Enter what you pay in your own catalogue before you buy or quote.",
            )
        )
    return found

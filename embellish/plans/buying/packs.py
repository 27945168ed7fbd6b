"""The cheapest set of packs that holds enough: a small integer programme, solved exactly.

Minimise cost over whole numbers of packs with at least ``demand`` pieces in all; among the
cheapest take the fewest pieces left over, then the fewest packs. Exact in integers: a table over
the number of pieces bought, one pass a pack size (the unbounded knapsack recurrence), each pass
one running minimum along strides of that size. Large demands are first brought down: with n* the
size that is cheapest a piece, n*/gcd(n*, n) packs of another size n can be swapped for n/gcd of
it, the same pieces at no more cost, so an optimum has fewer than that of each other size and the
rest is n*; and among any n* packs some add up to a multiple of n*, so it has fewer than n* others
in all. (Gilmore & Gomory, "The theory and computation of knapsack functions", 1966, from
memory.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, gcd
from typing import Any, Final, Generic, Protocol, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

Table: TypeAlias = npt.NDArray[Any]

CELLS: Final = 20_000_000
"""Largest table; beyond it the answer is still enough, but not proven cheapest."""

_FAR: Final = 2**62


class Priced(Protocol):
    """What is known here of a pack: its pieces and its price."""

    @property
    def pieces(self) -> int:
        """How many it says it holds."""

    @property
    def price(self) -> Decimal:
        """Of one such pack."""


P = TypeVar("P", bound=Priced)


@dataclass(frozen=True, slots=True)
class Choice(Generic[P]):
    """Packs to buy, largest first, and whether no cheaper set exists for sure."""

    packs: tuple[tuple[P, int], ...]
    proven: bool = True


def enough_to_buy(wanted: int, count_tolerance: float) -> int:
    """Return how many pieces to buy so that ``wanted`` are there if every pack is short.

    A pack counted by weight may hold as little as (1 - tolerance) of its count.
    """
    return ceil(Fraction(wanted) / (1 - Fraction(str(count_tolerance))))


def cheapest(packs: Sequence[P], demand: int) -> Choice[P]:
    """Return the cheapest packs with at least ``demand`` pieces in all.

    Parameters
    ----------
    packs
        What is sold; at least one if ``demand`` is above 0. Each may be bought any number of times.
    demand
        Pieces wanted, counted as the packs count.
    """
    if demand <= 0:
        return Choice(())
    sold = _without_doubles(packs)
    scale = 10 ** max(max(0, -int(pack.price.as_tuple().exponent)) for pack in sold)
    cost = [int(pack.price * scale) for pack in sold]
    base, left, proven = _reduced(sold, cost, demand)
    # What covers alone needs no table: with any other pack beside it, it would not be cheapest.
    best: tuple[int, int, int] | None = None
    counts = [0] * len(sold)
    for index, pack in enumerate(sold):
        if pack.pieces >= left:
            key = (cost[index], pack.pieces, 1)
            if best is None or key < best:
                best, counts = key, [int(each == index) for each in range(len(sold))]
    few = [index for index, pack in enumerate(sold) if pack.pieces < left]
    if few:
        key, numbers = _by_table([sold[i].pieces for i in few], [cost[i] for i in few], left)
        if best is None or key < best:
            counts = [0] * len(sold)
            for index, number in zip(few, numbers, strict=True):
                counts[index] = number
    chosen = (
        (pack, counts[index] + (base[1] if index == base[0] else 0))
        for index, pack in enumerate(sold)
    )
    return Choice(tuple((pack, number) for pack, number in chosen if number), proven)


def _without_doubles(packs: Sequence[P]) -> list[P]:
    """Return the packs largest first, of each size the cheapest."""
    by_size: dict[int, P] = {}
    for pack in packs:
        if pack.pieces not in by_size or pack.price < by_size[pack.pieces].price:
            by_size[pack.pieces] = pack
    return [by_size[size] for size in sorted(by_size, reverse=True)]


def _reduced(
    sold: Sequence[Priced], cost: list[int], demand: int
) -> tuple[tuple[int, int], int, bool]:
    """Return (index, number) of packs that some optimum has, what is left, and if that is sure."""
    star = min(range(len(sold)), key=lambda i: (Fraction(cost[i], sold[i].pieces), -sold[i].pieces))
    size = sold[star].pieces
    others = [pack.pieces for pack in sold if pack.pieces != size]
    bound = min(
        sum((size // gcd(size, other) - 1) * other for other in others),
        (size - 1) * max(others, default=0),
    )
    room = CELLS // (2 * len(sold))
    sure = max(0, demand - bound) // size
    number = max(sure, -(-max(0, demand - room) // size))
    number = min(number, max(0, demand - 1) // size)
    return (star, number), demand - number * size, number <= sure


def _by_table(
    sizes: list[int], cost: list[int], demand: int
) -> tuple[tuple[int, int, int], list[int]]:
    """Return (cost, pieces, packs) of the best set of packs smaller than the demand, and counts."""
    top = demand + max(sizes)
    fold = top // min(sizes) + 2
    # One number for cost, then packs: pieces are the place in the table.
    weights = [each * fold + 1 for each in cost]
    largest = max(weight * (top // size + 1) for weight, size in zip(weights, sizes, strict=True))
    dtype: Any = np.int64 if largest < _FAR // 2 else object
    far = _FAR if dtype is np.int64 else 4 * largest
    table: Table = np.full(top, far, dtype=dtype)
    table[0] = 0
    passes = [table]
    for size, weight in zip(sizes, weights, strict=True):
        rows = -(-top // size)
        padded: Table = np.full(rows * size, far, dtype=dtype)
        padded[:top] = passes[-1]
        steps = (np.arange(rows).astype(dtype) * weight)[:, None]
        running = np.minimum.accumulate(padded.reshape(rows, size) - steps, axis=0) + steps
        passes.append(running.reshape(-1)[:top])
    reach = passes[-1][demand:]
    costs = reach // fold
    # The first of the cheapest has the fewest pieces; its packs are already the fewest.
    place = demand + int(np.argmin(costs))
    weight_there = int(passes[-1][place])
    numbers = [0] * len(sizes)
    at = place
    for index in range(len(sizes) - 1, -1, -1):
        size, weight = sizes[index], weights[index]
        number = 0
        while passes[index][at - number * size] + number * weight != passes[index + 1][at]:
            number += 1
        numbers[index] = number
        at -= number * size
    return (weight_there // fold, place, weight_there % fold), numbers

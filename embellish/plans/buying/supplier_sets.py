"""Which suppliers to order from, set by set: what each set takes at least, and the best at hand.

For every set of suppliers the cheapest option of each code among theirs is known at once. That is
a purchase, and with the least that sending can take it is a bound: nothing from exactly this set is
cheaper. Most orders are settled so; what is left open is for the programme to search.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.catalogue.offers import Supplier
from embellish.plans.buying.options import Option

MOST_SUPPLIERS: Final = 8
"""Beyond so many there are too many sets to look at."""

Bound = tuple[frozenset[str], float]


@dataclass(frozen=True, eq=False)
class SupplierSets:
    """What every set of suppliers comes to.

    Parameters
    ----------
    bounds
        By set that can cover every code: what any purchase from exactly these takes at least.
    choices
        The cheapest option of each code from each of these sets, without regard to sending.
    """

    bounds: tuple[Bound, ...]
    choices: tuple[tuple[Option, ...], ...]


def supplier_sets(
    options: Sequence[Sequence[Option]], suppliers: Mapping[str, Supplier]
) -> SupplierSets:
    """Return what every set of at most `MOST_SUPPLIERS` suppliers comes to.

    Parameters
    ----------
    options
        Of each code, at least one.
    suppliers
        All that any option buys from.
    """
    ranked = [sorted(each, key=lambda option: option.bought.rank) for each in options]
    names = list(suppliers)
    bit = {name: 1 << n for n, name in enumerate(names)}
    flat = [option for each in ranked for option in each]
    needs: Ints = np.array([sum(bit[name] for name in option.suppliers) for option in flat])
    costs: Floats = np.array([float(option.bought.cost) for option in flat])
    starts = np.cumsum([0, *(len(each) for each in ranked[:-1])])
    bounds: list[Bound] = []
    choices: list[tuple[Option, ...]] = []
    for chosen in _subsets(names):
        beyond = ~sum(bit[name] for name in chosen)
        priced = np.where(needs & beyond, np.inf, costs)
        least = np.minimum.reduceat(priced, starts) if flat else np.zeros(0)
        if not np.isfinite(least).all():
            continue
        packs = float(least.sum())
        bounds.append((frozenset(chosen), _least(packs, chosen, suppliers)))
        choices.append(
            tuple(
                each[int(np.argmin(part))]
                for each, part in zip(ranked, np.split(priced, starts[1:]), strict=True)
            )
        )
    return SupplierSets(tuple(bounds), tuple(choices))


def _subsets(names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for size in range(len(names) + 1):
        yield from combinations(names, size)


def _least(packs: float, chosen: Sequence[str], suppliers: Mapping[str, Supplier]) -> float:
    """Return what packs of at least this cost take with sending, whichever is sent for nothing."""
    may = [name for name in chosen if suppliers[name].free_from is not None]
    best = np.inf
    for free in _subsets(may):
        sending = value = 0.0
        for name in chosen:
            rule = suppliers[name]
            if name in free:
                value += float(max(rule.free_from or 0, rule.least_order))
            else:
                sending += float(rule.shipping)
                value += float(rule.least_order)
        best = min(best, max(packs, value) + sending)
    return float(best)

"""Choosing among the options of all codes at once: an integer programme, solved to its optimum.

Binary unknowns: which option each code takes, which suppliers are ordered from, which of them ship
for nothing. Where a supplier has a least order or ships for nothing above a value, buying more
there than is needed may be cheaper, so each option there may also be composed anew of whole packs
at steps of price, never below the least cost of that option; this bound, known exactly from
`one_code`, is what makes the relaxation tight. Costs are compared again in exact decimals.

Solved by SciPy's HiGHS: no time limit, a limit of nodes, and the gap that is left is told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Final

import numpy as np
import scipy
from scipy.sparse import csr_array

from embellish.arrays import Floats
from embellish.catalogue.offers import Supplier
from embellish.plans.buying.offers import Purchase
from embellish.plans.buying.one_code import Bought
from embellish.plans.buying.options import Option
from embellish.plans.buying.packs import enough_to_buy
from embellish.plans.buying.supplier_sets import MOST_SUPPLIERS, supplier_sets
from embellish.plans.money import total

NODES: Final = 20_000
_FREE: Final = Supplier()
_SAME_COST: Final = 0.004
"""Less than half the smallest coin of a currency with two decimals: the solver counts in floats."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The option of each demand, in order, and what the suppliers take beside it."""

    options: tuple[Option, ...]
    shipping: Mapping[str, Decimal]
    cost: Decimal
    """Of packs and shipping."""
    proven: bool
    gap_share: float = 0.0
    """How much cheaper it could be at most, as a share of its cost, where that is not proven."""

    @property
    def suppliers(self) -> frozenset[str]:
        """Those that are ordered from."""
        return frozenset(name for option in self.options for name in option.suppliers)


def chosen_options(
    options: Sequence[Sequence[Option]],
    suppliers: Mapping[str, Supplier],
    without: Sequence[frozenset[str]] = (),
    within_share: float = 0.0,
) -> Chosen | None:
    """Return the cheapest choice of one option for each demand.

    Parameters
    ----------
    options
        Of each demand, at least one.
    suppliers
        What is known of them; the others ship for nothing.
    without
        Sets of suppliers that are not to be ordered from as exactly this set.
    within_share
        Enough where nothing can be cheaper by more than this share; 0 for the cheapest.

    Returns
    -------
    Chosen | None
        None where nothing was found: nothing is left because of ``without``, or the nodes ran out.
    """
    names = sorted({name for each in options for option in each for name in option.suppliers})
    known = {name: suppliers.get(name, _FREE) for name in names}
    if not without and not any(_counts(each) for each in known.values()):
        best = tuple(min(each, key=lambda option: option.bought.rank) for each in options)
        return _chosen(best, known, proven=True, gap=0.0)
    if len(known) > MOST_SUPPLIERS:
        return _Programme(options, known).solved(without, within_share)
    return _set_by_set(options, known, without, within_share)


def _set_by_set(
    options: Sequence[Sequence[Option]],
    suppliers: Mapping[str, Supplier],
    without: Sequence[frozenset[str]],
    within_share: float,
) -> Chosen | None:
    """Return the best choice of the sets of suppliers, and search where one might be better."""
    sets = supplier_sets(options, suppliers)
    found = [_chosen(each, suppliers, proven=True, gap=0.0) for each in sets.choices]
    kept = [each for each in found if each.suppliers not in without and _ordered(each, suppliers)]
    best = min(kept, key=_rank, default=None)
    floor = min((least for names, least in sets.bounds if names not in without), default=np.inf)
    if best is not None:
        left = float(best.cost) - floor
        if left <= max(_SAME_COST, within_share * float(best.cost)):
            return best if left < _SAME_COST else _unproven(best, left)
    limit = np.inf if best is None else float(best.cost) - _SAME_COST
    open_to = {name for names, least in sets.bounds if least < limit for name in names}
    fewer = [[each for each in some if open_to.issuperset(each.suppliers)] for some in options]
    if not open_to or not all(fewer):
        return best
    searched = _Programme(fewer, {name: suppliers[name] for name in sorted(open_to)}).solved(
        without, within_share
    )
    if searched is None or best is None:
        return searched if best is None else _unproven(best, float(best.cost) - floor)
    if _rank(searched) <= _rank(best):
        return searched
    left = float(best.cost) - float(searched.cost) * (1.0 - searched.gap_share)
    return best if searched.proven or left < _SAME_COST else _unproven(best, left)


def _rank(chosen: Chosen) -> tuple[Decimal, int]:
    return chosen.cost, sum(option.bought.pieces for option in chosen.options)


def _ordered(chosen: Chosen, suppliers: Mapping[str, Supplier]) -> bool:
    """Tell whether every supplier's least order is reached."""
    return all(
        total(option.value_at(name) for option in chosen.options) >= suppliers[name].least_order
        for name in chosen.suppliers
    )


def _unproven(chosen: Chosen, left: float) -> Chosen:
    return replace(chosen, proven=False, gap_share=left / float(chosen.cost))


def _counts(supplier: Supplier) -> bool:
    return bool(supplier.shipping or supplier.least_order)


def _stepped(supplier: Supplier) -> bool:
    return bool(supplier.least_order or (supplier.shipping and supplier.free_from))


def _chosen(
    options: tuple[Option, ...], suppliers: Mapping[str, Supplier], *, proven: bool, gap: float
) -> Chosen:
    shipping: dict[str, Decimal] = {}
    for name in sorted({name for option in options for name in option.suppliers}):
        value = total(option.value_at(name) for option in options)
        rule = suppliers[name]
        free = rule.free_from is not None and value >= rule.free_from
        shipping[name] = Decimal(0) if free else rule.shipping
    cost = total([*(option.bought.cost for option in options), *shipping.values()])
    sure = proven and all(option.bought.proven for option in options)
    return Chosen(options, shipping, cost, sure, gap)


@dataclass
class _Rows:
    """A sparse matrix that grows row by row, with bounds on each row."""

    data: list[float] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    ends: list[int] = field(default_factory=lambda: [0])
    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)

    def add(self, terms: Mapping[int, float], least: float, most: float = np.inf) -> None:
        self.columns += terms.keys()
        self.data += terms.values()
        self.ends.append(len(self.columns))
        self.least.append(least)
        self.most.append(most)

    def constraint(self, width: int) -> scipy.optimize.LinearConstraint:
        shape = (len(self.least), width)
        matrix = csr_array((self.data, self.columns, self.ends), shape=shape)
        return scipy.optimize.LinearConstraint(matrix, self.least, self.most)


class _Programme:
    """The unknowns in a row, what they cost, and what must hold."""

    def __init__(
        self, options: Sequence[Sequence[Option]], suppliers: Mapping[str, Supplier]
    ) -> None:
        self.options = options
        self.suppliers = suppliers
        self.costs: list[float] = []
        self.most: list[float] = []
        self.rows = _Rows()
        self.ordered = {name: self._unknown(0.0, 1) for name in suppliers}
        self.value: dict[str, dict[int, float]] = {name: {} for name in suppliers}
        self.taken: list[list[int]] = []
        self.composed: dict[int, tuple[Option, list[tuple[int, Purchase]]]] = {}
        for each in options:
            self._demand(each)
        for name, supplier in suppliers.items():
            self._supplier(name, supplier)

    def _unknown(self, cost: float, most: float) -> int:
        self.costs.append(cost)
        self.most.append(most)
        return len(self.costs) - 1

    def _demand(self, options: Sequence[Option]) -> None:
        every: list[int] = []
        for option in options:
            taken = self._unknown(float(option.bought.cost), 1)
            every.append(taken)
            for name in option.suppliers:
                self.rows.add({self.ordered[name]: 1.0, taken: -1.0}, 0.0)
                self.value[name][taken] = float(option.value_at(name))
        self.taken.append(every[:])
        every += [
            self._compose(option)
            for option in options
            if any(_stepped(self.suppliers[name]) for name in option.suppliers)
        ]
        self.rows.add(dict.fromkeys(every, 1.0), 1.0, 1.0)

    def _compose(self, option: Option) -> int:
        """Let an option be made of any packs that are enough, which may cost more."""
        anew = self._unknown(0.0, 1)
        tolerance = max(offer.tolerance for offer in option.offers)
        demand = enough_to_buy(option.wanted, tolerance)
        enough: dict[int, float] = {anew: -float(demand)}
        cost: dict[int, float] = {anew: -float(option.bought.cost)}
        parts: list[tuple[int, Purchase]] = []
        for offer in option.offers:
            tiers = offer.pack.tiers
            ends = [least - 1 for least, _ in tiers[1:]]
            # One pack more than this could be left out again, and nothing that is asked would fail.
            need = -(-demand // offer.pack.pieces)
            most = max(need, self._reach(offer.supplier, tiers[-1][1]), tiers[-1][0])
            steps: list[int] = []
            for (least, price), end in zip(tiers, [*ends, most], strict=True):
                number = self._unknown(float(price), end)
                step = self._unknown(0.0, 1)
                steps.append(step)
                self.rows.add({number: 1.0, step: -float(least)}, 0.0)
                self.rows.add({number: 1.0, step: -float(end)}, -np.inf, 0.0)
                self.rows.add({anew: 1.0, step: -1.0}, 0.0)
                self.rows.add({self.ordered[offer.supplier]: 1.0, step: -1.0}, 0.0)
                enough[number] = float(offer.pack.pieces)
                cost[number] = float(price)
                self.value[offer.supplier][number] = float(price)
                parts.append((number, Purchase(offer, 0)))
            self.rows.add(dict.fromkeys(steps, 1.0), -np.inf, 1.0)
        self.rows.add(enough, 0.0)
        self.rows.add(cost, 0.0)
        self.composed[anew] = (option, parts)
        return anew

    def _reach(self, name: str, price: Decimal) -> int:
        """Return how many packs at a price reach what the supplier wants, by themselves."""
        rule = self.suppliers[name]
        goal = max(rule.least_order, rule.free_from or Decimal(0))
        return ceil(Fraction(goal) / Fraction(price)) if price else 0

    def _supplier(self, name: str, supplier: Supplier) -> None:
        ordered, value = self.ordered[name], self.value[name]
        # Not ordered from where nothing is taken.
        self.rows.add({**dict.fromkeys(value, 1.0), ordered: -1.0}, 0.0)
        self.costs[ordered] = float(supplier.shipping)
        if supplier.least_order:
            self.rows.add({**value, ordered: -float(supplier.least_order)}, 0.0)
        if supplier.free_from is not None and supplier.shipping:
            free = self._unknown(-float(supplier.shipping), 1)
            self.rows.add({ordered: 1.0, free: -1.0}, 0.0)
            self.rows.add({**value, free: -float(supplier.free_from)}, 0.0)

    def solved(self, without: Sequence[frozenset[str]], within_share: float) -> Chosen | None:
        for names in without:
            inside = {self.ordered[name]: -1.0 for name in names}
            outside = {self.ordered[name]: 1.0 for name in self.ordered if name not in names}
            self.rows.add({**inside, **outside}, 1.0 - len(names))
        result = scipy.optimize.milp(
            np.array(self.costs),
            integrality=np.ones(len(self.costs), dtype=np.int64),
            bounds=scipy.optimize.Bounds(0.0, np.array(self.most)),
            constraints=[self.rows.constraint(len(self.costs))],
            options={"node_limit": NODES, "mip_rel_gap": within_share},
        )
        if result.x is None:
            return None
        return self._read(np.rint(result.x), float(result.mip_dual_bound))

    def _read(self, x: Floats, bound: float) -> Chosen | None:
        """Return what was found, in exact decimals, beside what nothing can be cheaper than."""
        picked: list[Option] = []
        anew = {id(option): parts for at, (option, parts) in self.composed.items() if x[at]}
        for options, taken in zip(self.options, self.taken, strict=True):
            plain = [option for option, at in zip(options, taken, strict=True) if x[at]]
            if plain:
                picked.append(plain[0])
                continue
            option = next(each for each in options if id(each) in anew)
            purchases = [Purchase(part.offer, int(x[at])) for at, part in anew[id(option)] if x[at]]
            purchases.sort(key=lambda each: (-each.offer.pack.pieces, each.price))
            bought = Bought(tuple(purchases), option.bought.proven)
            picked.append(Option(option.offers, option.wanted, option.taken, bought))
        found = _chosen(tuple(picked), self.suppliers, proven=True, gap=0.0)
        if not _ordered(found, self.suppliers):
            return None
        left = float(found.cost) - bound
        return found if left < _SAME_COST else _unproven(found, left)

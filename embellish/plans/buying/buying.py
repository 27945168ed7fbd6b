"""Buying once for everything: codes and how many of each in, packs by supplier out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from embellish.catalogue.offers import Supplier
from embellish.plans.buying.options import Demand, Option, Rules, options_of
from embellish.plans.buying.programme import Chosen, chosen_options


@dataclass(frozen=True, slots=True)
class Instead:
    """The next-cheapest purchase from other suppliers; shipping is in its cost."""

    suppliers: tuple[str, ...]
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Buying:
    """What is bought.

    Parameters
    ----------
    lines
        By code, what covers its demand; a code that nobody offers and that stock does not cover
        is missing.
    shipping
        By supplier that is ordered from, what sending takes.
    cost
        Of packs and shipping.
    proven
        Whether nothing cheaper keeps the rules, for sure.
    gap_share
        Where that is not proven: how much cheaper it could be at most, as a share.
    instead
        The cheapest purchase from another set of suppliers, where there is one.
    """

    lines: Mapping[str, Option]
    shipping: Mapping[str, Decimal]
    cost: Decimal
    proven: bool
    gap_share: float
    instead: Instead | None


def buy(
    demands: Sequence[Demand],
    suppliers: Mapping[str, Supplier],
    rules: Rules | None = None,
) -> Buying:
    """Return the cheapest purchase that never falls short.

    Parameters
    ----------
    demands
        One a code.
    suppliers
        What an order takes, by name; a supplier that is not in it ships for nothing.
    """
    every = [options_of(demand, rules or Rules()) for demand in demands]
    able = [(demand, each) for demand, each in zip(demands, every, strict=True) if each]
    options = [each for _, each in able]
    chosen = chosen_options(options, suppliers)
    if chosen is None:  # no choice is without a solution but where the nodes ran out
        chosen = _each_alone(options, suppliers)
    lines = {demand.code: option for (demand, _), option in zip(able, chosen.options, strict=True)}
    return Buying(
        lines,
        chosen.shipping,
        chosen.cost,
        chosen.proven,
        chosen.gap_share,
        _instead(options, suppliers, chosen),
    )


def _each_alone(options: Sequence[Sequence[Option]], suppliers: Mapping[str, Supplier]) -> Chosen:
    """Return the best of each code without regard to the others: enough, but not proven."""
    best = [[min(each, key=lambda option: option.bought.rank)] for each in options]
    plain = {name: Supplier(shipping=rule.shipping) for name, rule in suppliers.items()}
    chosen = chosen_options(best, plain)
    assert chosen is not None  # noqa: S101 - one option each, and no rule to break
    return Chosen(chosen.options, chosen.shipping, chosen.cost, proven=False, gap_share=1.0)


def _instead(
    options: Sequence[Sequence[Option]], suppliers: Mapping[str, Supplier], chosen: Chosen
) -> Instead | None:
    names = {name for each in options for option in each for name in option.suppliers}
    if len(names) < 2:
        return None
    other = chosen_options(options, suppliers, without=[chosen.suppliers])
    return None if other is None else Instead(tuple(sorted(other.suppliers)), other.cost)

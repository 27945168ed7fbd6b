"""From which reel which lengths are cut, and buying enough that all of them can be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from embellish.findings import Finding
from embellish.plans.buying.buying import Buying
from embellish.plans.buying.offers import Offer
from embellish.plans.buying.options import Demand, Option
from embellish.plans.reels import ReelPlan, plan_reels

_MOST_TRIES: Final = 64


@dataclass(frozen=True, slots=True)
class Cutting:
    """How the lengths of one code are cut.

    Parameters
    ----------
    plan
        From which reel which lengths; every length with the links its cut loses.
    longest
        Links of the longest length, those lost with it.
    reels
        Links on each reel that is there or bought, if every one is as short as it may be.
    more
        Links bought beyond what is needed, because each length is cut in one piece.
    """

    plan: ReelPlan
    longest: int
    reels: tuple[int, ...]
    more: int = 0


def bought_to_cut(
    demands: Sequence[Demand],
    lengths: Mapping[str, Mapping[int, int]],
    buy: Callable[[Sequence[Demand]], Buying],
) -> tuple[Buying, dict[str, Cutting]]:
    """Buy what is needed, and more where the lengths cannot be cut from that.

    More is bought by asking for more links than were bought, till all lengths can be cut: what
    was bought before was the cheapest for its number, and was not enough.

    Parameters
    ----------
    demands
        One a code.
    lengths
        By code, by links that one takes off its reel, how many lengths there are.
    buy
        Buys for demands.
    """
    raised = {demand.code: demand for demand in demands}
    known: dict[tuple[str, tuple[int, ...]], ReelPlan] = {}
    for _ in range(_MOST_TRIES):
        bought = buy(list(raised.values()))
        found: dict[str, Cutting] = {}
        short: dict[str, Demand] = {}
        for demand in demands:
            option = bought.lines.get(demand.code)
            wanted = lengths.get(demand.code)
            if option is None or not wanted:
                continue
            reels, longest = reels_of(option), max(wanted)
            key = (demand.code, reels)
            if key not in known:
                known[key] = plan_reels(wanted, Counter(reels))
            more = sum(reels) - demand.needed if raised[demand.code] is not demand else 0
            found[demand.code] = Cutting(known[key], longest, reels, more)
            if not known[key].enough and longest <= _longest_reel(demand):
                short[demand.code] = replace(demand, needed=sum(reels) + 1)
        if not short:
            break
        raised |= short
    return bought, found


def reels_of(option: Option) -> tuple[int, ...]:
    """Return the links on each reel of a purchase, the longest first, each as short as may be."""
    there = [links for _, links in option.taken]
    for each in option.bought.purchases:
        there += [_surely_holds(each.offer)] * each.number
    return tuple(sorted(there, reverse=True))


def _surely_holds(offer: Offer) -> int:
    return int(offer.pack.pieces * (1 - Fraction(str(offer.tolerance))))


def _longest_reel(demand: Demand) -> int:
    stock = [links for _, links in demand.stock]
    return max([*stock, *(_surely_holds(offer) for offer in demand.offers)], default=0)


def cutting_told(code: str, cutting: Cutting, lost_each: int) -> Iterator[Finding]:
    """Tell of lengths that cannot be cut, of what is bought to cut them, of what is not proven."""
    if not cutting.plan.enough:
        in_one = cutting.longest > max(cutting.reels, default=0)
        sure = "" if cutting.plan.proven else " (no way to cut them was found; not proven)"
        why = (
            f"its longest length of {cutting.longest - lost_each} links is on no reel in one piece"
            if in_one
            else f"its lengths leave too much over on each reel{sure}"
        )
        yield Finding(
            "reels-too-short",
            "warning",
            f"{code}: what is bought has links enough, but {why}",
            mend="Buy longer reels, or one more; or cut the line where a join hides.",
        )
        return
    if cutting.more > 0:
        yield Finding(
            "reels-for-cutting",
            "note",
            f"{code}: {cutting.more} links more are bought than are set, lost and spare, since"
            " each length is cut in one piece",
            mend="Longer reels leave less over; or cut a line where a join hides.",
        )
    if not cutting.plan.proven:
        reels = "reel is" if cutting.plan.used == 1 else "reels are"
        yield Finding(
            "reels-not-proven",
            "note",
            f"{code}: {cutting.plan.used} {reels} enough for its lengths; that fewer are not is"
            " not proven",
        )

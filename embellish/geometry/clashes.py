"""Which of many seats that come too near each other stay: the answer of one look at each in turn.

Rounds over all seats at once (Luby 1986, "A simple parallel algorithm for the maximal independent
set problem"; Blelloch, Fineman & Shun 2012, "Greedy sequential maximal independent set and matching
are parallel on average"): a seat that outranks all that still clash with it stays, and drops them.
"""

from __future__ import annotations

import numpy as np

from embellish.arrays import Bools, Floats, Ints

_ROUNDS = 16
"""After so many rounds what is left are long chains, which are walked seat by seat."""


def survivors(n: int, pairs: Ints, priority: Floats | Ints) -> Bools:
    """Return which seats stay when each in turn, highest first, drops those it clashes with.

    Parameters
    ----------
    n
        How many seats there are.
    pairs : array of shape (m, 2)
        Indices of the seats that clash; in any order, repeated or not.
    priority : array of shape (n,)
        Higher outranks; among equals the lower index does.

    Returns
    -------
    mask : array of shape (n,)
        True for seats that stay: exactly those that the sequential greedy rule keeps.
    """
    kept = np.ones(n, dtype=np.bool_)
    if not len(pairs):
        return kept
    order = np.lexsort((np.arange(n), -np.asarray(priority)))
    rank = np.empty(n, dtype=np.int64)
    rank[order] = np.arange(n)
    # Seats are known by rank from here on: the first of a pair outranks the second.
    first, second = rank[pairs[:, 0]], rank[pairs[:, 1]]
    first, second = np.minimum(first, second), np.maximum(first, second)
    undecided, beaten = np.ones(n, dtype=np.bool_), np.empty(n, dtype=np.bool_)
    stays = np.ones(n, dtype=np.bool_)
    for _ in range(_ROUNDS):
        beaten[:] = False
        beaten[second] = True
        winners = undecided & ~beaten
        undecided &= beaten
        dropped = second[winners[first]]
        stays[dropped] = False
        undecided[dropped] = False
        left = undecided[first] & undecided[second]
        first, second = first[left], second[left]
        if not len(first):
            break
    else:
        _walk(first, second, stays)
    kept[order] = stays
    return kept


def _walk(first: Ints, second: Ints, stays: Bools) -> None:
    """Settle the pairs that are left, one seat after the other, in place."""
    order = np.argsort(first, kind="stable")
    standing = stays.tolist()
    for winner, loser in zip(first[order].tolist(), second[order].tolist(), strict=True):
        # Everything that could drop the winner outranks it, so was looked at before.
        if standing[winner]:
            standing[loser] = False
    stays[:] = standing

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.clashes import survivors


def one_by_one(n: int, pairs: list[tuple[int, int]], priority: list[int]) -> list[bool]:
    """The rule as it is told: look at each in turn, keep it if it clashes with none kept."""
    kept = [False] * n
    for seat in sorted(range(n), key=lambda seat: (-priority[seat], seat)):
        others = [b if a == seat else a for a, b in pairs if seat in (a, b)]
        kept[seat] = not any(kept[other] for other in others)
    return kept


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_survivors_are_those_of_the_sequential_rule(data):
    n = data.draw(st.integers(1, 40))
    seat = st.integers(0, n - 1)
    pairs = data.draw(st.lists(st.tuples(seat, seat).filter(lambda p: p[0] != p[1]), max_size=90))
    priority = data.draw(st.lists(st.integers(-2, 2), min_size=n, max_size=n))
    array = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    found = survivors(n, array, np.array(priority))
    assert found.tolist() == one_by_one(n, pairs, priority)


def test_a_long_chain_is_settled_from_its_head():
    # Each clashes with the next: every other one stays, however long the chain.
    n = 5001
    pairs = np.stack([np.arange(n - 1), np.arange(1, n)], axis=1)
    assert survivors(n, pairs, np.zeros(n)).tolist() == [i % 2 == 0 for i in range(n)]
    assert survivors(n, pairs, np.arange(n)).tolist() == [i % 2 == 0 for i in range(n)]


def test_without_pairs_all_stay():
    assert survivors(3, np.zeros((0, 2), dtype=np.int64), np.zeros(3)).all()
    assert survivors(0, np.zeros((0, 2), dtype=np.int64), np.zeros(0)).shape == (0,)

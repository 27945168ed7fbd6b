"""Cutting stock: worked examples whose answer is known.

The paper mill's thirteen widths from rolls of 5600 mm, 73 rolls at the least, stand in
encyclopaedias under "Cutting stock problem" (from memory). That first fit decreasing may take 11/9
of the fewest, as with these four sizes, is D. S. Johnson, "Near-optimal bin packing algorithms",
MIT, 1973 (from memory).
"""

from __future__ import annotations

import pytest

from embellish.plans.reels import plan_reels

WIDTHS = dict(
    zip(
        (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200),
        (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20),
        strict=True,
    )
)


def test_the_paper_mill_takes_73_rolls():
    plan = plan_reels(WIDTHS, {5600: 219})
    assert (plan.used, plan.proven) == (73, True)
    waste = sum(reel.left * reel.times for reel in plan.reels) / (73 * 5600)
    assert waste == pytest.approx(0.00401, abs=5e-6)
    assert not plan_reels(WIDTHS, {5600: 72}).enough


@pytest.mark.parametrize("times", [1, 2, 5])
def test_where_first_fit_decreasing_takes_eleven_ninths_the_optimum_is_found(times: int):
    # Of 1000: 6n of 501, 6n of 252, 6n of 251, 12n of 248; nine reels for every six of 501.
    lengths = {501: 6 * times, 252: 6 * times, 251: 6 * times, 248: 12 * times}
    plan = plan_reels(lengths, {1000: 20 * times})
    assert (plan.used, plan.proven) == (9 * times, True)

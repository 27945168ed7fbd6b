"""Money is decimal, half up, and never loses a digit on the way."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.errors import EmbellishError
from embellish.plans.money import parsed, places, rounded, smallest, total, written

amounts = st.decimals(0, 10**9, places=5)


@settings(deadline=None)
@given(amounts, st.sampled_from(["0.01", "0.05", "0.25", "1", "5"]))
def test_rounding_gives_the_nearest_multiple(amount, step):
    unit = Decimal(step)
    near = rounded(amount, unit)
    assert near % unit == 0
    assert abs(near - amount) <= unit / 2
    if abs(near - amount) == unit / 2:
        assert near > amount


@settings(deadline=None)
@given(amounts)
def test_what_is_written_is_read_back(amount):
    assert parsed(written(amount, "EUR")) == amount


@settings(deadline=None)
@given(st.lists(amounts, max_size=20))
def test_sums_are_exact(every):
    assert total(every) == sum(every, Decimal(0))


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("8.5", "EUR", "8.50"),
        ("0", "EUR", "0.00"),
        ("0.0125", "EUR", "0.0125"),
        ("1E+3", "EUR", "1000.00"),
        ("1200", "JPY", "1200"),
        ("1.5", "KWD", "1.500"),
        ("8.50", "", "8.50"),
    ],
)
def test_written(amount, currency, text):
    assert written(Decimal(amount), currency) == text


def test_places():
    assert [places(each) for each in ("EUR", "JPY", "KWD", "")] == [2, 0, 3, 2]
    assert smallest("EUR") == Decimal("0.01")


@pytest.mark.parametrize("text", ["", "1,50", "-1", "NaN", "Infinity", "1.5 EUR"])
def test_what_is_no_amount_is_refused(text):
    with pytest.raises(EmbellishError, match="not an amount"):
        parsed(text)

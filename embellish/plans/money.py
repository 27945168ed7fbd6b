"""Money: decimal, rounded half up, written as text. Binary floats never touch it.

Half up is what shops and schoolbooks do with a half cent; Python's own rounding of decimals is
half to even, which turns 182.125 into 182.12.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation, localcontext
from typing import Final

from embellish.errors import EmbellishError

_PLACES: Final = {
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
    **dict.fromkeys(("CLP", "ISK", "JPY", "KRW", "PYG", "UGX", "VND", "XAF", "XOF", "XPF"), 0),
}
"""Minor units of ISO 4217 that are not 2, from memory; `rounding` in a price table overrides."""

_DIGITS: Final = 40
"""Significant digits of every calculation: far more than any amount has."""


def places(currency: str) -> int:
    """Return how many decimals amounts of a currency have."""
    return _PLACES.get(currency, 2)


def smallest(currency: str) -> Decimal:
    """Return the smallest amount of a currency, such as 0.01."""
    return Decimal(1).scaleb(-places(currency))


def rounded(amount: Decimal, step: Decimal) -> Decimal:
    """Return the multiple of ``step`` nearest to an amount, halves away from zero.

    A step of 0.05 rounds as where the smallest coin is five.
    """
    with localcontext() as context:
        context.prec = _DIGITS
        steps = (amount / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
        # + 0 turns a negative zero into zero.
        return steps * step + 0


def product(*factors: Decimal | int) -> Decimal:
    """Return the exact product of decimals."""
    with localcontext() as context:
        context.prec = _DIGITS
        result = Decimal(1)
        for factor in factors:
            result *= factor
        return result


def total(amounts: Iterable[Decimal]) -> Decimal:
    """Return the exact sum of amounts."""
    with localcontext() as context:
        context.prec = _DIGITS
        return sum(amounts, Decimal(0))


def quotient(amount: Decimal, by: Decimal | int) -> Decimal:
    """Return a quotient to 40 significant digits."""
    with localcontext() as context:
        context.prec = _DIGITS
        return amount / by


def parsed(text: str, *, item: str | None = None) -> Decimal:
    """Return the amount written in a text such as ``"8.50"``.

    Raises
    ------
    EmbellishError
        It is not a plain decimal number of zero or more.
    """
    try:
        amount = Decimal(text.strip())
    except InvalidOperation:
        amount = Decimal(-1)
    if not amount.is_finite() or amount < 0:
        raise EmbellishError(
            f"'{text}' is not an amount of money", item=item, mend='Write it like "8.50".'
        )
    return amount


def told(amount: Decimal | None, currency: str = "") -> str:
    """Return an amount for people; one that is not known says so."""
    return "not known" if amount is None else written(amount, currency)


def written(amount: Decimal, currency: str = "") -> str:
    """Return an amount as plain decimal text with at least the decimals of its currency.

    Digits beyond these are kept where they are not zero, so that nothing is rounded here.
    """
    least = places(currency)
    text = f"{amount:f}"
    whole, _, decimals = text.partition(".")
    decimals = decimals.rstrip("0").ljust(least, "0")
    return f"{whole}.{decimals}" if decimals else whole

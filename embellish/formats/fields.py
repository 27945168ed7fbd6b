"""Kinds of fields that tables of every sort have: colours and exact decimals."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator

from embellish.errors import UnfitError
from embellish.formats.colours import colour_hex
from embellish.formats.value_words import number_cure, shown

Colour = Annotated[str, AfterValidator(colour_hex)]
"""``#rrggbb`` in small letters; a colour's name is read as well."""


def exact(value: Any) -> Any:
    """Return a number as the decimal that was written."""
    if isinstance(value, str):
        percent = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%\s*", value)
        share = f"Write {float(percent[1]) / 100:g} for {percent[1]} %." if percent else ""
        raise UnfitError(f"must be a number, not {shown(value)}", share or number_cure(value))
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        raise UnfitError(f"must be a number, not {shown(value)}", "Write a number.")
    # The shortest text that gives this float is what was written.
    return value if isinstance(value, Decimal) else Decimal(str(value))


def amount(value: Any) -> Any:
    """Return an amount of money, which is written as text: a float has lost what was written."""
    if isinstance(value, Decimal):
        return value
    if isinstance(value, bool) or not isinstance(value, (int, str)):
        written = f'"{value}"' if isinstance(value, float) else '"12.50"'
        raise UnfitError(f"money is written as text, not {shown(value)}", f"Write {written}.")
    if isinstance(value, int):
        return Decimal(value)
    try:
        return Decimal(value)
    except InvalidOperation:
        pass
    digits = re.fullmatch(r"\D{0,4}(\d+)(?:[.,](\d+))?\D{0,4}", value)
    written = f"{digits[1]}.{digits[2] or '00'}" if digits else "12.50"
    raise UnfitError(f"money is a number in quotes, not {shown(value)}", f'Write "{written}".')


Exact = BeforeValidator(exact)
Amount = BeforeValidator(amount)


def no_truth(value: Any) -> Any:
    """Return what is not true or false: to Python these are the whole numbers 1 and 0."""
    if isinstance(value, bool):
        raise UnfitError(f"must be a whole number, not {shown(value)}", "Write a number.")
    return value


NoTruth = BeforeValidator(no_truth)


def currency_code(value: str) -> str:
    """Return a currency's three letters ('' where none is named)."""
    if value and not (len(value) == 3 and value.isascii() and value.isupper() and value.isalpha()):
        raise UnfitError(
            f"a currency is its three capital letters, not '{value[:40]}'",
            "Write EUR, GBP, USD or the like.",
        )
    return value


Currency = Annotated[str, AfterValidator(currency_code)]
"""Code of three letters (ISO 4217), or ''."""

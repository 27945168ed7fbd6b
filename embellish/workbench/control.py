"""One control of the page, from what a model of the job says of a key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

_UNITS: Final = {
    "_mm": "mm",
    "_deg": "°",
    "_percent": "%",
    "_c": "°C",
    "_g_m2": "g/m²",
    "_minutes": "min",
}
_MOST_LETTERS: Final = 200


_ABOUT: Final = ("ge", "gt", "le", "lt", "decimal_places")


def control_of(
    key: str, schema: Mapping[str, Any], label: str, told: str, *, words: Mapping[str, str]
) -> dict[str, Any]:
    """Return a control: its kind, its range or choices, and what holds where it is left out.

    Parameters
    ----------
    key
        The key it sets.
    schema
        What the model says of it, as JSON schema.
    label, told
        What the control says, and one sentence of what it does.
    words
        Choices in plain words; one that is not in it stands for itself.
    """
    every = _offers(schema)
    offers = [each for each in every if each.get("type") != "null"]
    control: dict[str, Any] = {
        "key": key,
        "label": label,
        "told": told,
        "optional": len(offers) < len(every),
        "default": schema.get("default"),
    }
    for offer in offers:
        _add_offer(control, key, offer, words)
    default = control["default"]
    if control.get("kind") == "number" and isinstance(default, str) and "word" not in control:
        control["default"] = float(default)  # a decimal, written as text
    return control


def _add_offer(
    control: dict[str, Any], key: str, offer: Mapping[str, Any], words: Mapping[str, str]
) -> None:
    """Let a control offer one of the forms its value may have."""
    # A decimal may be written as text too: the number stands first, and holds.
    if offer.get("type") == "string" and not {"enum", "const"} & set(offer):
        if "kind" not in control:
            most = offer.get("maxLength", _MOST_LETTERS)
            control |= {"kind": "text", "most_letters": most}
    elif offer.get("type") == "boolean":
        control |= _truth(optional=control["optional"])
    elif "enum" in offer:
        control |= {"kind": "choice", "choices": _choices(offer["enum"], words)}
    elif "const" in offer:
        control["word"] = {
            "value": offer["const"],
            "words": words.get(f"{key}:{offer['const']}")
            or words.get(offer["const"], offer["const"]),
        }
    elif offer.get("type") in ("number", "integer"):
        control |= _number(key, offer)
    elif "prefixItems" in offer and "kind" not in control:
        control |= {**_number(key, offer["prefixItems"][0]), "kind": "pair"}
    elif "$ref" in offer:
        control["kind"] = offer["$ref"].rpartition("/")[2].lower()


def _offers(schema: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the forms a value may have, each with the limits said about all of them."""
    if "anyOf" not in schema:
        return [dict(schema)]
    about = {key: schema[key] for key in _ABOUT if key in schema}
    return [{**about, **offer} for each in schema["anyOf"] for offer in _offers(each)]


def _truth(*, optional: bool) -> dict[str, Any]:
    if not optional:
        return {"kind": "yes-no"}
    choices = [{"value": True, "words": "yes"}, {"value": False, "words": "no"}]
    return {"kind": "choice", "choices": choices}


def _choices(values: list[str], words: Mapping[str, str]) -> list[dict[str, str]]:
    return [{"value": value, "words": words.get(value, value)} for value in values]


def _number(key: str, limits: Mapping[str, Any]) -> dict[str, Any]:
    above = limits.get("exclusiveMinimum", limits.get("gt"))
    below = limits.get("exclusiveMaximum", limits.get("lt"))
    return {
        "kind": "number",
        "whole": limits["type"] == "integer",
        "least": above if above is not None else limits.get("minimum", limits.get("ge")),
        "most": below if below is not None else limits.get("maximum", limits.get("le")),
        "above": above is not None,
        "below": below is not None,
        # Money is written as text in a job, so that no digit of it is lost.
        "as_text": "decimal_places" in limits,
        "unit": next((unit for end, unit in _UNITS.items() if key.endswith(end)), ""),
    }

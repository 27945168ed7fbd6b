"""What a list says of a piece put beside what the maker's own catalogue says of it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any, Final

Table = Mapping[str, Any]

_AMOUNTS: Final = ("pieces", "length_m", "grams", "strands")
"""How a pack says what it holds: packs of other amounts are other packs."""


def merged(own: Table, listed: Table, *, grey: bool = False) -> dict[str, Any]:
    """Return the fields of a piece that a list sets, in what a catalogue's file has.

    What the maker measured or agreed stays where the list is silent: a size's range, the colour as
    it is drawn, packs of other suppliers, and what a pack says beside its price.

    Parameters
    ----------
    own
        The piece as it stands in the file, plain values.
    listed
        The piece as the list has it.
    grey
        The list's colour could not be drawn, so its hex says nothing.
    """
    found = dict(listed)
    if grey and "hex" in own:
        found.pop("hex", None)
    for key in ("size_mm", "length_mm", "width_mm"):
        if key in found and _is_nominal_of(found[key], own.get(key)):
            del found[key]
    if "packs" in found:
        found["packs"] = _packs(own, listed)
    return found


def _is_nominal_of(listed: list[float], own: Any) -> bool:
    """Whether a list says just the size that a measured range is of."""
    return len(set(listed)) == 1 and isinstance(own, list) and own[1:2] == listed[:1]


def _packs(own: Table, listed: Table) -> list[dict[str, Any]]:
    """Return the list's packs, then those of suppliers whom the list does not speak for."""
    before, after = own.get("supplier", ""), listed.get("supplier", own.get("supplier", ""))
    speaks_for = {pack.get("supplier") or after for pack in listed["packs"]}
    left, kept = [], []
    for pack in own.get("packs", ()):
        supplier = pack.get("supplier") or before
        if supplier in ("", *speaks_for):
            left.append((_which(pack, supplier), pack))
        else:
            # Named, lest the piece's new supplier be taken for this pack's.
            kept.append({**pack, "supplier": supplier} if before != after else dict(pack))
    found = []
    for pack in listed["packs"]:
        supplier = pack.get("supplier") or after
        names = (_which(pack, supplier), _which(pack, ""))
        at = next((n for name in names for n, (key, _) in enumerate(left) if key == name), None)
        found.append(dict(pack) if at is None else _repriced(left.pop(at)[1], pack))
    return found + kept


def _which(pack: Table, supplier: str) -> tuple[Any, ...]:
    return supplier, pack.get("lot", ""), *(pack.get(key) for key in _AMOUNTS)


def _repriced(own: Table, listed: Table) -> dict[str, Any]:
    """Return a pack with a list's price; steps in money go with the price they were agreed with."""
    same = _amount(own.get("price")) == _amount(listed["price"])
    kept = {
        key: value
        for key, value in own.items()
        if key != "invented"
        and (key != "breaks" or same or not any("price" in step for step in value))
    }
    found = {**kept, **listed}
    # As written: 1.1 and 1.10 are one price.
    return {**found, "price": own["price"]} if same else found


def _amount(value: Any) -> Decimal | None:
    try:
        return None if value is None else Decimal(str(value))
    except InvalidOperation:
        return None

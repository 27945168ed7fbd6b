"""Values as they are written into a TOML file that keeps its remarks and order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def toml_item(value: Any, kit: Any, *, apart: bool = False) -> Any:
    """Return a value for the file, tables within a line.

    Parameters
    ----------
    value
        Numbers, texts, lists and mappings.
    kit
        The library that keeps remarks, tomlkit; it is an extra.
    apart
        Whether tables of a list stand on a line each.
    """
    if isinstance(value, Mapping):
        table = kit.inline_table()
        table.update({key: toml_item(each, kit, apart=apart) for key, each in value.items()})
        return table
    if isinstance(value, list):
        array = kit.array()
        array.extend(toml_item(each, kit, apart=apart) for each in value)
        return array.multiline(apart and len(value) > 1 and isinstance(value[0], Mapping))
    return kit.item(value)

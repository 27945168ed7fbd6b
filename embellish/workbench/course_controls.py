"""What lays go by beside their settings, in plain words: thinning out, changing mixes, pictures."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

from embellish.layout.ways.fades import Fade
from embellish.layout.ways.fields import Blend
from embellish.layout.ways.pictures import Mosaic
from embellish.layout.ways.table import WAYS
from embellish.workbench.control import control_of
from embellish.workbench.pictures import NOT_BESIDE_FADE

_COURSE: Final = {
    "kind": ("It changes", "Along a line, about a point, from the edge, or by a picture."),
    "from_mm": ("Begins at", "On the drawing, from its left and its top, before it is turned."),
    "to_mm": ("Ends at", "Beyond it, all is as at the end."),
    "depth_mm": ("Ends so far inside", "From the edge; left out, as deep as the shape is."),
    "reverse": ("The other way round", "From the end to the beginning."),
}
_TABLES: Final[dict[str, tuple[Any, str, str, dict[str, tuple[str, str]]]]] = {
    "fade": (
        Fade,
        "Thins out",
        "Pieces stand densest where it begins, and looser toward its end.",
        {
            **_COURSE,
            "least": ("Left at the end", "So much of the full density; 10 % is a few stray ones."),
        },
    ),
    "blend": (
        Blend,
        "The mix changes",
        "From one mix of the lay's pieces to another; how many there are stays the same.",
        _COURSE,
    ),
    "mosaic": (
        Mosaic,
        "Shows a picture",
        "Each piece takes the colour nearest to the picture; name pieces of one size.",
        {
            "colours": ("Colours at most", "Those of the lay that serve best; left out, all."),
            "dither": (
                "Colours mixed by eye",
                "What one piece misses of a colour, those about it make up for.",
            ),
        },
    ),
}
BY_FORM: Final = {"picture", "at_mm", "width_mm", "mixes", "bare"}
"""Keys with a form of their own on the page."""

_WORDS: Final = {
    "line": "along a line",
    "point": "about a point",
    "edge": "from the edge inward",
    "picture": "by a picture, dark to light",
}
_ONLY: Final = {
    "from_mm": ("line", "point"),
    "to_mm": ("line", "point"),
    "depth_mm": ("edge",),
}
"""The kinds of course that a key is of."""


@lru_cache(maxsize=1)
def course_controls() -> dict[str, Any]:
    """Return each table with its words and controls, and the ways that it is for."""
    return {
        table: {
            "label": label,
            "told": told,
            "instead_of": list(NOT_BESIDE_FADE) if table == "fade" else [],
            "ways": [way for way in WAYS if _has(way, table)],
            "controls": [
                {
                    **control_of(key, schema[key], *words[key], words=_WORDS),
                    "only": _ONLY.get(key),
                    **({"percent": True, "unit": "%"} if key == "least" else {}),
                }
                for key in words
                for schema in (model.model_json_schema()["properties"],)
            ],
        }
        for table, (model, label, told, words) in _TABLES.items()
    }


def _has(way: str, table: str) -> bool:
    # A chain is one string of links: there is nothing in it to mix.
    return way != "chain" and table in WAYS[way].settings.model_fields

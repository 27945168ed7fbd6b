"""What can be set on a lay, in plain words: a control for every key, its range from the job's own.

The words are the page's; ranges, choices and what holds where nothing is said come from the same
settings that read the job file, so that the page cannot ask for what the job would refuse.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

from embellish.layout.ways.table import WAYS
from embellish.workbench.control import control_of

_WAYS: Final = {
    "row": ("In a row", "One after the other along the line, evenly."),
    "border": ("Rows beside the line", "Several rows inside, outside or on both sides of it."),
    "rings": ("Ring by ring", "Row inside row, following the edge to the middle."),
    "grid": ("In straight rows", "A regular pattern over the whole shape."),
    "scatter": ("Strewn", "Scattered over the shape, none too near to another."),
    "centreline": ("Down the middle", "Along the middle of a stroke, as large as its width lets."),
    "chain": ("By the length", "A chain or string, cut to length and laid along the line."),
    "points": ("At points", "One piece at the middle, the corners or the ends."),
    "cluster": ("In little groups", "Flowers, crosses or bursts, repeated along the line."),
}
"""Each way in the words of somebody who sets stones, and what it does."""

_TURN: Final = ("Which way they lie", "How pieces that are not round are turned.")
_TURN_DEG: Final = ("Turned further by", "Degrees, clockwise as you look at it.")
_CORNER: Final = (
    "Counts as a corner from",
    "Where the line turns by more than this, a piece is set right on the corner.",
)
_START: Final = (
    "Begins at",
    "How far round the first piece stands: 0 and 1 are the line's start.",
)
_ENDS: Final = ("At the ends", "On the very end, a gap inside it, or wherever they fall.")
_ALTERNATE: Final = ("Sizes take turns", "From piece to piece, or from row to row.")
_SETTLE: Final = ("Even out", "0 leaves them as they fall; 1 makes gaps as even as can be.")

_SETTINGS: Final[dict[str, dict[str, tuple[str, str]]]] = {
    "row": {
        "fit": ("Gap is", "At least what you ask, or the nearest to it that fills the line."),
        "count": ("Just this many", "A number of pieces; the gap then follows from it."),
        "ends": _ENDS,
        "corner_deg": _CORNER,
        "start": _START,
        "offset_mm": ("Beside the line by", "To its right; less than 0 is to its left."),
        "reverse": ("From the other end", "The order of the pieces begins at the other end."),
        "both_ends": ("Alike from both ends", "The order is the same from either end."),
        "turn": _TURN,
        "turn_deg": _TURN_DEG,
        "lap_mm": ("Over one another by", "Like scales; left out, they lie side by side."),
        "lap": ("On top lies", "The next along the line, or the one before."),
    },
    "border": {
        "side": ("Which side", "Inside or outside of a closed line, left or right of an open one."),
        "rows": ("How many rows", "On each side."),
        "row_gap_mm": ("Gap between rows", "The same as within a row where you say nothing."),
        "corners": ("Outer corners", "Rounded about the corner, or straight on until both meet."),
        "stagger": ("Rows are", "Shifted by half a step, like bricks, or not."),
        "corner_deg": _CORNER,
        "start": _START,
        "turn": _TURN,
        "turn_deg": _TURN_DEG,
    },
    "rings": {
        "rows": (
            "Only this many rows",
            "From the edge inward; left out, all is filled.",
        ),
        "packing": ("Rings are", "Crisp, each ring to be seen, or as dense as they get."),
        "alternate": _ALTERNATE,
        "turn": _TURN,
        "turn_deg": _TURN_DEG,
        "settle": _SETTLE,
    },
    "grid": {
        "pattern": ("Pattern", "Like honeycomb, squares, or bricks."),
        "angle_deg": (
            "Rows run at",
            "An angle in degrees, or whichever takes most; both sides alike where the shape is.",
        ),
        "pieces_deg": ("Pieces lie at", "Degrees, clockwise, for pieces that are not round."),
        "fit_edge": ("Edge", "A row along the edge first, and the pattern eased into it."),
        "alternate": _ALTERNATE,
        "settle": _SETTLE,
    },
    "scatter": {
        "density": ("How dense", "As many as fall into place, or the share of cloth to cover."),
        "count": ("Just this many", "A number of pieces in each shape, in place of how dense."),
        "packing": ("That many stand", "Strewn, or as far apart as they can."),
        "sizes": ("Sizes", "Mixed by their shares, or the small ones between the large."),
        "turn": _TURN,
        "turn_deg": _TURN_DEG,
        "settle": _SETTLE,
    },
    "centreline": {
        "rows": ("Rows side by side", "At most, where the stroke is wide enough."),
        "max_sizes": ("Sizes at most", "How many of the sizes may be used."),
        "corner_deg": _CORNER,
    },
    "chain": {
        "ends": _ENDS,
        "corner_deg": ("Cut at corners over", "Where the line turns by more degrees, it is cut."),
        "start": ("Both ends meet at", "Where round a closed line, as a share of it."),
        "reverse": ("Against the line", "It runs the other way."),
        "offset_mm": ("Beside the line", "To the right of it; below nothing, to the left."),
    },
    "points": {
        "at": ("Where", "At the middle, corners of the frame, corners of the line, or its ends."),
        "turn": _TURN,
        "turn_deg": _TURN_DEG,
    },
    "cluster": {
        "arrangement": ("Group", "A flower, a cross or a burst."),
        "rays": ("Petals or rays", "How many; left out, what is usual."),
        "length": ("Pieces in a ray", "From the middle outward."),
        "at": ("Where", "Along the line, or at points of the shape."),
        "corner_deg": _CORNER,
        "pitch_mm": (
            "From group to group",
            "From middle to middle; else as near as goes.",
        ),
        "ends": _ENDS,
        "turn": _TURN,
        "turn_deg": _TURN_DEG,
        "mirror": (
            "Mirrored",
            "Every other group, or the second half, the other way round.",
        ),
    },
}
"""For each way its keys: what the control says, and one sentence about it."""

BY_FORM: Final = {"blend", "fade", "members", "mosaic"}
"""Keys with a form of their own on the page: they are tables."""

_COMMON: Final[dict[str, tuple[str, str]]] = {
    "gap_mm": ("Gap between pieces", "Free cloth from edge to edge, at the largest they may be."),
    "edge_mm": ("Away from the edge", "Free cloth between the pieces and the edge of the shape."),
    "set_by": (
        "How they get there",
        "As usual is what suits the pieces: in a template or face down where heat sets them.",
    ),
    "mark": ("Sewn marks", "What the machine sews to show where they go."),
    "worked_from": ("Worked from", "The front of the cloth, or its back, as with a hook."),
    "symmetric": ("Alike left and right", "Both sides are laid as mirror images."),
}

_AXIS: Final[dict[str, Any]] = {
    "key": "axis",
    "label": "Mirrored about",
    "told": "The line between the two halves; a line of your own stands in the job file.",
    "kind": "choice",
    "optional": True,
    "default": None,
    "choices": [
        {"value": "page", "words": "the middle of the drawing"},
        {"value": "own", "words": "the middle of each shape"},
    ],
}

_WORDS: Final = {
    "on": "on the end",
    "inset": "a gap inside",
    "free": "where they fall",
    "least": "at least this",
    "about": "about this",
    "along": "along the line",
    "across": "across the line",
    "fixed": "all the same way",
    "random": "any way",
    "brick": "like bricks",
    "none": "no",
    "place": "from piece to piece",
    "row": "from row to row",
    "hex": "honeycomb",
    "square": "squares",
    "mix": "mixed",
    "pave": "small between large",
    "centre": "the middle",
    "bounds": "corners of the frame",
    "nodes": "corners of the line",
    "alternate": "every other",
    "halves": "second half",
    "tightest": "as far apart as can be",
    "each": "each piece",
    "line": "a line with ticks",
    "ends": "both ends",
    "outline": "the outline",
    "template": "in a template",
    "face-down": "face down",
    "hand": "by hand",
    "both": "both sides",
    "next": "the next one",
    "previous": "the one before",
    "best": "whichever takes most",
    "density:random": "as many as fall into place",
}


@lru_cache(maxsize=1)
def controls() -> dict[str, Any]:
    """Return the ways with their controls, and the controls that all have."""
    from embellish.job.model import LayTable  # noqa: PLC0415 - only where it is asked for

    shared = LayTable.model_json_schema()["properties"]
    return {
        "common": [
            *(
                control_of(key, shared[key], label, told, words=_WORDS)
                for key, (label, told) in _COMMON.items()
            ),
            _AXIS,
        ],
        "ways": [
            {
                "way": way,
                "label": _WAYS[way][0],
                "told": _WAYS[way][1],
                "fills": WAYS[way].fills,
                "mixes": WAYS[way].mixes,
                "controls": [
                    control_of(key, schema, *_SETTINGS[way][key], words=_WORDS)
                    for key, schema in _properties(way).items()
                    if key in _SETTINGS[way]
                ],
            }
            for way in WAYS
        ],
    }


def _properties(way: str) -> dict[str, Any]:
    properties: dict[str, Any] = WAYS[way].settings.model_json_schema()["properties"]
    # In the order of the words above: what is wanted most comes first.
    return {key: properties[key] for key in _SETTINGS[way] if key in properties}

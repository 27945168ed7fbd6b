"""Every way and setting of the gallery, all on the same three shapes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

SHAPES = """<svg xmlns="http://www.w3.org/2000/svg" width="270mm" height="92mm"
viewBox="0 0 270 92">
<path id="leaf" d="M5 46 C22 4 62 4 85 46 C62 88 22 88 5 46 Z"/>
<path id="star" fill-rule="evenodd" d="M135 4 L145.6 31.4 L174.9 33 L152.1 51.6 L159.7 80 L135 64
L110.3 80 L117.9 51.6 L95.1 33 L124.4 31.4 Z M143 43 A8 8 0 1 0 127 43 A8 8 0 1 0 143 43 Z"/>
<path id="stroke" d="M186 80 C205 92 246 88 247 64 C248 42 206 46 207 30 C208 14 240 12 258 26
C243 -2 196 -2 194 28 C193 52 232 48 233 63 C234 76 204 80 186 80 Z"/></svg>"""
"""A leaf with two tips, a star with a hole, a stroke that tapers."""

CLEAR, RED, BLUE = "R-SS10-CLEAR", "R-SS10-RED", "R-SS10-BLUE"
LARGE, SMALL, SMALL_RED = "R-SS16-CLEAR", "R-SS6-CLEAR", "R-SS6-RED"
SEQUIN = "Q-5-BLUE"
CHAIN, STRING = "H-SS12-CLEAR", "W-3-WHITE"
NAVETTE, BUGLE, PEAR = "NS-6x3-CLEAR", "U-3-RED", "VS-6x4-CLEAR"


@dataclass(frozen=True)
class Case:
    """One line of the gallery: what it is called, and the lay that makes it."""

    words: str
    pieces: list[str] | dict[str, float] = field(default_factory=lambda: [CLEAR])
    settings: dict[str, Any] = field(default_factory=dict)
    gap_mm: float = 0.9
    edge_mm: float = 0.0
    before: dict[str, Any] = field(default_factory=dict)
    """A lay that stands already, in its own words."""
    cloth: dict[str, Any] = field(default_factory=dict)


GALLERY: dict[str, tuple[Case, ...]] = {
    "row": (
        Case("as it comes"),
        Case('fit = "about"', settings={"fit": "about"}, gap_mm=1.4),
        Case("count = 30", settings={"count": 30}),
        Case("large, small, small", [LARGE, SMALL, SMALL]),
        Case("… alike from both ends", [LARGE, SMALL, SMALL], {"both_ends": True}),
        Case("offset_mm = 4", settings={"offset_mm": 4.0}),
        Case("offset_mm = -4", settings={"offset_mm": -4.0}),
        Case("corner_deg = 120", settings={"corner_deg": 120.0}),
        Case("navettes along", [NAVETTE]),
        Case('navettes, turn = "across"', [NAVETTE], {"turn": "across"}),
        Case("bugles along", [BUGLE]),
        Case('bugles, turn = "across"', [BUGLE], {"turn": "across"}),
        Case("pears along", [PEAR]),
        Case("sequins, lap_mm = 2", [SEQUIN], {"lap_mm": 2.0}),
    ),
    "border": (
        Case("as it comes"),
        Case('side = "outside"', settings={"side": "outside"}),
        Case('side = "both", rows = 1', settings={"side": "both", "rows": 1}),
        Case("rows = 3", settings={"rows": 3}, pieces=[SMALL]),
        Case('stagger = "none"', settings={"stagger": "none"}),
        Case("row_gap_mm = 2.5", settings={"row_gap_mm": 2.5}),
        Case('outside, corners = "mitred"', settings={"side": "outside", "corners": "mitred"}),
    ),
    "rings": (
        Case("as it comes", edge_mm=0.5),
        Case('packing = "dense"', settings={"packing": "dense"}, edge_mm=0.5),
        Case("rows = 2", settings={"rows": 2}, edge_mm=0.5),
        Case('two sizes, alternate = "row"', [CLEAR, SMALL_RED], {"alternate": "row"}, edge_mm=0.5),
        Case("settle = 1", settings={"settle": 1.0}, edge_mm=0.5),
        Case("navettes", [NAVETTE], edge_mm=0.5),
    ),
    "grid": (
        Case("as it comes", edge_mm=0.5),
        Case('pattern = "square"', settings={"pattern": "square"}, edge_mm=0.5),
        Case('pattern = "brick"', settings={"pattern": "brick"}, edge_mm=0.5),
        Case("angle_deg = 0", settings={"angle_deg": 0.0}, edge_mm=0.5),
        Case("fit_edge", settings={"fit_edge": True}, edge_mm=0.5),
        Case("square, fit_edge", settings={"pattern": "square", "fit_edge": True}, edge_mm=0.5),
        Case("a mix of colours", {CLEAR: 0.6, RED: 0.4}, edge_mm=0.5),
        Case("settle = 1", settings={"settle": 1.0}, edge_mm=0.5),
        Case("navettes", [NAVETTE], edge_mm=0.5),
    ),
    "scatter": (
        Case("as it comes", edge_mm=0.5),
        Case("settle = 1", settings={"settle": 1.0}, edge_mm=0.5),
        Case("density = 0.65", settings={"density": 0.65}, edge_mm=0.5),
        Case("a mix of sizes, settled", {LARGE: 0.2, SMALL: 0.8}, {"density": 0.6}, edge_mm=0.5),
        Case('sizes = "pave"', [LARGE, CLEAR, SMALL], {"sizes": "pave"}, 0.4, 0.5),
        Case("fade from the left", settings={"fade": {"from_mm": [5, 0], "to_mm": [260, 0]}}),
        Case("fade from the edge", settings={"fade": {"kind": "edge", "depth_mm": 18}}),
        Case("fade by a picture", settings={"fade": {"kind": "picture", "picture": "picture.png"}}),
        Case("count = 12, tightest", settings={"count": 12, "packing": "tightest"}),
        Case("navettes", [NAVETTE], edge_mm=0.5),
    ),
    "centreline": (
        Case("as it comes", [LARGE, CLEAR, SMALL]),
        Case("one size", [CLEAR]),
        Case("rows = 3", [CLEAR, SMALL], {"rows": 3}),
        Case("max_sizes = 2", [LARGE, CLEAR, SMALL], {"max_sizes": 2}),
    ),
    "chain": (
        Case("as it comes", [CHAIN]),
        Case("pearls on a thread", [STRING]),
        Case("corner_deg = 180", [STRING], {"corner_deg": 180.0}),
        Case("offset_mm = 4", [STRING], {"offset_mm": 4.0}),
        Case(
            "round stones that stand already",
            [CHAIN],
            before={"way": "points", "at": "nodes", "pieces": [LARGE], "gap_mm": 0.9},
        ),
        Case(
            "drawn out by a tenth on a board, off it again",
            [CHAIN],
            cloth={"set": "board", "board_along_percent": 10, "board_across_percent": 0},
        ),
    ),
    "points": (
        Case('at = "nodes"', settings={"at": "nodes"}),
        Case('at = "centre"', [LARGE], {"at": "centre"}),
        Case('at = "bounds"', settings={"at": "bounds"}),
    ),
    "cluster": (
        Case("flowers", [RED, SMALL]),
        Case('arrangement = "cross"', [RED, SMALL], {"arrangement": "cross"}),
        Case('arrangement = "burst"', [RED, SMALL], {"arrangement": "burst"}),
        Case("flowers at nodes", [RED, SMALL], {"at": "nodes"}),
        Case("pitch_mm = 20", [RED, SMALL], {"pitch_mm": 20.0}),
    ),
    "blend": (
        Case(
            "ombré in rings",
            [CLEAR, RED],
            {
                "way": "rings",
                "blend": {"from_mm": [5, 0], "to_mm": [260, 0], "mixes": [{CLEAR: 1}, {RED: 1}]},
            },
            edge_mm=0.5,
        ),
        Case(
            "ombré in a grid, from the edge",
            [CLEAR, BLUE],
            {
                "way": "grid",
                "blend": {"kind": "edge", "depth_mm": 18, "mixes": [{BLUE: 1}, {CLEAR: 1}]},
            },
            edge_mm=0.5,
        ),
        Case(
            "sizes change in a scatter",
            [LARGE, SMALL],
            {
                "way": "scatter",
                "density": 0.6,
                "blend": {"from_mm": [5, 0], "to_mm": [260, 0], "mixes": [{LARGE: 1}, {SMALL: 1}]},
            },
            edge_mm=0.5,
        ),
        Case(
            "ombré along a row",
            [CLEAR, RED],
            {
                "way": "row",
                "blend": {"from_mm": [5, 0], "to_mm": [260, 0], "mixes": [{CLEAR: 1}, {RED: 1}]},
            },
        ),
    ),
    "mosaic": (
        Case(
            "in a grid",
            ["R-SS6-*"],
            {"way": "grid", "mosaic": {"picture": "picture.png"}},
            gap_mm=0.5,
        ),
        Case(
            "in rings, six colours, misses made up for",
            ["R-SS6-*"],
            {"way": "rings", "mosaic": {"picture": "picture.png", "colours": 6, "dither": True}},
            gap_mm=0.5,
        ),
    ),
}
"""For each sheet its lines."""

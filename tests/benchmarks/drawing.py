"""How long pictures of large jobs take. Run ``python -m tests.benchmarks drawing``.

A proof of 1e5 pieces belongs to a job that may take 60 kd; a template of 1e6 holes is to be
written within one look at every neighbour pair (kd, see ``tests.benchmarks.yardstick``).
"""

from __future__ import annotations

import numpy as np

from embellish.arrays import Floats
from embellish.outputs.drawing.drawing import Circles, Drawing, Layer, Style
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.proof import MAX_SIDE_PX, picture_png, proof_drawing
from tests.benchmarks.yardstick import kd_seconds, seconds, tell
from tests.outputs.cast import ALL, STONE, TITLE, layout

_PITCH_MM = 4.0


def _lattice(side: int) -> Floats:
    """A jittered square lattice, so that no two numbers repeat; its least distance is known."""
    rows, columns = np.divmod(np.arange(side * side), side)
    jitter = np.random.default_rng(3).uniform(-0.1, 0.1, (side * side, 2))
    return np.stack([columns, rows], axis=1) * _PITCH_MM + jitter + _PITCH_MM


def proof() -> None:
    """A proof of 1e5 pieces: round stones of one size, then twelve looks at any turn."""
    xy = _lattice(316)
    kd = kd_seconds(xy, _PITCH_MM - 0.2)
    turns = np.random.default_rng(4).uniform(0.0, 360.0, len(xy)).tolist()
    codes = [piece.code for piece in ALL]
    plain = layout([(x, y, 0.0, STONE.code) for x, y in xy.tolist()])
    mixed = layout(
        [
            (x, y, turn, codes[i % len(codes)])
            for i, ((x, y), turn) in enumerate(zip(xy.tolist(), turns, strict=True))
        ]
    )
    for name, laid in (("round stones", plain), ("twelve looks, any turn", mixed)):
        drawing = proof_drawing(laid, TITLE)
        took = seconds(lambda laid=laid: proof_drawing(laid, TITLE), 1)  # type: ignore[misc]
        tell(f"proof of 1e5, {name}: drawing", took / kd, 10.0, "kd")
        took = seconds(lambda drawing=drawing: svg_bytes(drawing), 1)  # type: ignore[misc]
        tell(f"proof of 1e5, {name}: SVG", took / kd, 10.0, "kd")
        took = seconds(lambda drawing=drawing: picture_png(drawing, MAX_SIDE_PX), 1)  # type: ignore[misc]
        tell(f"proof of 1e5, {name}: PNG", took / kd, 40.0, "kd")


def template_rows() -> None:
    """A template of 1e6 round holes as SVG."""
    xy = _lattice(1000)
    kd = kd_seconds(xy, _PITCH_MM - 0.2, 1)
    holes = Circles(np.round(xy, 6), np.full(len(xy), 1.525), Style(stroke="#ff0000"))
    drawing = Drawing(4010.0, 4010.0, (Layer("cut", (holes,)),))
    tell("SVG of 1e6 holes", seconds(lambda: svg_bytes(drawing), 1) / kd, 1.0, "kd")


BENCHMARKS = (proof, template_rows)

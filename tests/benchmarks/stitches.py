"""How long a look at a stitch file of about 30 000 stitches takes.

Run ``python -m tests.benchmarks stitches``.
"""

from __future__ import annotations

import io
import time

import pyembroidery as pe

from embellish.artwork.look import look_facts
from embellish.artwork.readers import read_artwork
from tests.artwork.test_stitch_file import disc, satin, wave, written
from tests.benchmarks.yardstick import tell


def sewn() -> bytes:
    """Return an invented design of three colours: fillings, satin columns, running lines."""
    blocks: list[list[list[tuple[float, float]]]] = []
    for colour in range(3):
        runs: list[list[tuple[float, float]]] = []
        for k in range(14):
            runs += disc(35.0 * k, 80.0 * colour, 5.0 if k % 2 else 0.0)
        for k in range(8):
            runs += satin(35.0 * k, 80.0 * colour + 20.0) + wave(60.0 * k, 80.0 * colour + 62.0)
        blocks.append(runs)
    return written("pes", *blocks)


def looking() -> None:
    """All that `look` tells of it."""
    data = sewn()
    count = pe.read_pes(io.BytesIO(data)).count_stitch_commands(pe.STITCH)
    begun = time.perf_counter()  # several threads work at it
    look_facts(*read_artwork(data, "sewn.pes"))
    took = time.perf_counter() - begun
    tell(f"look at {count} stitches, for 30 000", took * 30_000 / count, 1.2, "s")


BENCHMARKS = (looking,)

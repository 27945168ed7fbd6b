"""How long the workbench takes to answer a hand: `python -m tests.benchmarks bench`."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from embellish.job.files import open_text
from embellish.job.lay_memory import LayMemory
from embellish.job.laying import lay_job
from embellish.workbench.drawn import drawn_bytes
from embellish.workbench.layer import Laid
from tests.benchmarks.yardstick import tell

FIELD_JOB = """version = 1
title = "Field"
catalogues = ["shipped:stones"]
[artwork]
file = "field.svg"
[[lay]]
id = "row"
shapes = "#rim"
way = "row"
pieces = ["R-SS6-CLEAR"]
gap_mm = 0.8
[[lay]]
id = "fill"
shapes = "#rim"
way = "scatter"
pieces = ["R-SS6-CLEAR"]
gap_mm = GAP
edge_mm = 2.0
"""


def field_svg(side: int) -> str:
    """Return a square of so many mm, as a drawing."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}mm" height="{side}mm"'
        f' viewBox="0 0 {side} {side}"><rect id="rim" width="{side}" height="{side}"/></svg>'
    )


def answers() -> None:
    """From a changed gap to the bytes the page draws, a row and a scatter."""
    for side, count, target in ((135, 2_000, 0.1), (690, 50_000, 1.0)):
        with tempfile.TemporaryDirectory() as held:
            folder = Path(held)
            (folder / "field.svg").write_text(field_svg(side))
            memory = LayMemory()
            seats, times = 0, []
            # The row does not change, and is remembered; the first answer lays it.
            for gap in ("0.50", "0.51", "0.52", "0.53", "0.54", "0.55"):
                start = time.process_time()
                text = FIELD_JOB.replace("GAP", gap).encode()
                opened = open_text(folder / "job.toml", text)
                bedded = lay_job(opened.job, opened.artwork, opened.catalogue, memory=memory)
                drawn_bytes(Laid(1, opened, bedded))
                times.append(time.process_time() - start)
                seats = len(bedded.layout)
        took = statistics.median(times[1:])
        tell(f"workbench: an answer of {seats} seats (about {count})", took, target, "s")


BENCHMARKS = (answers,)

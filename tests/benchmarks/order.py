"""How long a large order takes to be laid, counted, bought and priced, as a maker sends it.

Run ``python -m tests.benchmarks order``. 100 jobs of four codes each, out of a catalogue of 10 000
pieces of two suppliers; every number invented.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from embellish.job.orders.counting import count_together
from embellish.job.orders.made import order_facts
from tests.benchmarks.catalogues import PIECES, trade_scale
from tests.benchmarks.yardstick import seconds, tell

_JOBS = 100
_CODES = 4
_SIDE_MM = 60

_JOB = """version = 1
title = "Design {number}"
catalogues = ["large.toml"]
[artwork]
file = "field.svg"
"""
_LAY = """[[lay]]
id = "row{lay}"
shapes = "#line{lay}"
way = "row"
pieces = ["R{code:05d}"]
gap_mm = 1.0
set_by = "hand"
mark = "none"
"""


def _field() -> str:
    lines = "".join(
        f'<path id="line{lay}" d="M 10 {10 + 12 * lay} H {_SIDE_MM - 10}" fill="none"'
        ' stroke="#000000"/>'
        for lay in range(_CODES)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_SIDE_MM}mm" height="{_SIDE_MM}mm"'
        f' viewBox="0 0 {_SIDE_MM} {_SIDE_MM}">{lines}</svg>'
    )


def _written(folder: Path) -> Path:
    """Put catalogue, artwork, jobs and the order into a folder; returns the order's path."""
    (folder / "large.toml").write_bytes(trade_scale())
    (folder / "field.svg").write_text(_field())
    rows = ['version = 1\ntitle = "Large"\ncustomer = "Nobody"\n']
    for number in range(_JOBS):
        codes = [(number * _CODES + lay) * 23 % PIECES for lay in range(_CODES)]
        lays = [_LAY.format(lay=lay, code=code) for lay, code in enumerate(codes)]
        (folder / f"job{number}.toml").write_text(_JOB.format(number=number) + "".join(lays))
        rows.append(f'[[row]]\njob = "job{number}.toml"\nquantity = {1 + number % 9}\n')
    order = folder / "order.toml"
    order.write_text("".join(rows))
    return order


def hundred_jobs() -> None:
    """From the order file to what is bought and what it costs; the catalogue was read before."""
    with tempfile.TemporaryDirectory() as held:
        order = _written(Path(held))
        facts = order_facts(count_together([order]))
        assert len(facts["rows"]) == _JOBS
        assert len(facts["materials"]["lines"]) == _JOBS * _CODES
        took = seconds(lambda: order_facts(count_together([order])), 1)
    tell(f"count, buy and price {_JOBS} jobs over {PIECES:,} pieces", took, 10.0, "s")


BENCHMARKS = (hundred_jobs,)

"""Thread by its length: hand and machine, whole spools, only by figures that the maker gave."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from embellish.job.files import open_job
from embellish.job.making import check_job
from embellish.plans.thread import plan_thread, stitched_mm
from embellish.plans.thread_settings import ThreadSettings

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">'
    '<path id="l" d="M10 40 H110" fill="none" stroke="black"/></svg>'
)
JOB = """version = 1
title = "Sewn (invented)"
quantity = 4
catalogues = ["shipped:sequins"]
[artwork]
file = "a.svg"
[[lay]]
id = "s"
shapes = "#l"
way = "row"
pieces = ["Q-5-BLUE"]
gap_mm = 0.5
mark = "line"
"""
FIGURES = """[materials.thread]
piece_mm = 40
marks_factor = 1.5
spool_m = 2
spool_price = "3.20"
"""


def goods(where: Path, more: str) -> dict[str, tuple[int, Decimal | None]]:
    (where / "a.svg").write_text(SVG)
    (where / "job.toml").write_text(JOB + more)
    checked = check_job(open_job(where / "job.toml"))
    return {good.name: (good.count, good.cost) for good in checked.plans.goods}


def test_hand_and_machine_are_counted_in_whole_spools(tmp_path: Path):
    found = goods(tmp_path, FIGURES)
    layout = check_job(open_job(tmp_path / "job.toml"))
    pieces = len(layout.layout)
    hand_m = pieces * 40 * 4 / 1000
    spools = -(-hand_m // 2)
    assert found[f"spool of 2 m, thread for sewing on ({hand_m:.0f} m)"] == (
        spools,
        Decimal("3.20") * int(spools),
    )
    way = stitched_mm(layout.plans.stitches)
    # Along the line once, with ticks across it.
    assert 100 < way < 250
    marks_m = way * 1.5 * 4 / 1000
    assert found[f"spool of 2 m, thread for marks ({marks_m:.0f} m)"] == (1, Decimal("3.20"))


def test_without_figures_no_thread_is_counted(tmp_path: Path):
    assert not [name for name in goods(tmp_path, "") if "thread" in name]


def test_thread_without_a_price_is_told(tmp_path: Path):
    found = goods(tmp_path, FIGURES.replace('spool_price = "3.20"\n', ""))
    assert {cost for name, (_, cost) in found.items() if "spool" in name} == {None}


@pytest.mark.parametrize("figure", ["piece_mm", "marks_factor"])
def test_each_figure_counts_its_own(figure: str, tmp_path: Path):
    goods(tmp_path, "")
    checked = check_job(open_job(tmp_path / "job.toml"))
    settings = ThreadSettings(spool_m=100).model_copy(update={figure: 2.0})
    (good,) = plan_thread(checked.layout, checked.plans.stitches, 1, settings, "EUR")
    assert ("sewing on" in good.name) == (figure == "piece_mm")

"""A job of scales: made, told how to set them, and refused where a template would tear."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from embellish.errors import JobError
from embellish.job.files import open_job
from embellish.job.making import check_job

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
<path id="a" d="M10 50 C30 0 60 0 80 50"/><path id="b" d="M10 30 H80"/></svg>"""

JOB = """version = 1
title = "Scales"
catalogues = ["shipped:sequins", "shipped:stones"]
[artwork]
file = "a.svg"
[[lay]]
id = "scales"
shapes = "#a"
way = "row"
pieces = ["Q-6-BLUE"]
gap_mm = 0.5
lap_mm = 2.0
[[lay]]
id = "line"
shapes = "#b"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.8
"""


def test_scales_lie_over_one_another_and_over_nothing_else(tmp_path: Path):
    (tmp_path / "a.svg").write_text(SVG)
    (tmp_path / "job.toml").write_text(JOB)
    checked = check_job(open_job(tmp_path / "job.toml"))
    assert not checked.stopped, checked.findings
    layout = checked.layout
    scales, line = layout.rows(0), layout.rows(1)
    steps = np.hypot(*np.diff(layout.xy[scales], axis=0).T)
    assert steps.max() < 2 * layout.reach_mm[scales[0]]
    apart = np.hypot(*(layout.xy[scales][:, None] - layout.xy[line]).transpose(2, 0, 1))
    asked = layout.reach_mm[scales][:, None] + layout.reach_mm[line] + 0.8
    assert (apart >= asked).all()
    words = [words for step in checked.plans.work.steps for words in step.words]
    assert any("over the one before it by 2 mm" in each for each in words)
    assert layout.lays[0].mark == "line"


@pytest.mark.parametrize("set_by", ["template", "face-down"])
def test_scales_are_not_brushed_into_a_template(tmp_path: Path, set_by: str):
    (tmp_path / "a.svg").write_text(SVG)
    text = JOB.replace("lap_mm = 2.0", f'lap_mm = 2.0\nset_by = "{set_by}"')
    (tmp_path / "job.toml").write_text(text)
    with pytest.raises(JobError, match="run together"):
        check_job(open_job(tmp_path / "job.toml"))

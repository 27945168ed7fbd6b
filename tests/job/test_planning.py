"""Plans of whole jobs: the two sides of the cloth, outlines of fills, a hoop in its place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from embellish.errors import JobError
from embellish.job.files import open_job
from embellish.job.making import Made, check_job, made_files
from embellish.job.placing import place
from embellish.plans.stitching.sewing import Effort
from tests.laws import check_made

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
<rect id="box" x="5" y="10" width="30" height="40"/>
<path id="line" d="M50 10 C70 20 60 40 80 50" fill="none" stroke="black"/></svg>"""
JOB = """version = 1
title = "Two sides"
catalogues = ["shipped:beads", "shipped:pearls"]
[artwork]
file = "a.svg"
{more}
[[lay]]
id = "fill"
shapes = "#box"
way = "grid"
pieces = ["B-11-GOLD"]
gap_mm = 0.6
edge_mm = 1.0
mark = "outline"
[[lay]]
id = "back"
shapes = "#line"
way = "row"
pieces = ["B-11-SILVER"]
gap_mm = 0.6
mark = "each"
worked_from = "back"
"""


def job_in(folder: Path, more: str = "") -> Path:
    (folder / "a.svg").write_text(DRAWING, encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(JOB.format(more=more), encoding="utf-8")
    return job


def made_in(folder: Path, more: str = "") -> tuple[Made, Any]:
    made = made_files(open_job(job_in(folder, more)))
    place(made.files, folder / "out")
    check_made(folder / "out")
    facts = json.loads((folder / "out" / "marks" / "marks.json").read_text(encoding="utf-8"))
    return made, facts


@pytest.mark.parametrize(
    "more", ["", '[marks]\nformats = ["exp", "dst"]\n[hoop]\nhoop = "100x100"']
)
def test_a_lay_from_the_back_is_sewn_in_a_mirrored_file(tmp_path, more):
    _, facts = made_in(tmp_path, more)
    front, back = facts["hoopings"]
    assert (front["mirrored"], back["mirrored"]) == (False, True)
    kinds = [{mark["kind"] for mark in hooping["marks"]} for hooping in (front, back)]
    assert kinds == [{"outline", "cross"}, {"each", "cross"}]
    assert front["file"].endswith("exp" if more else "dst")
    sheet = (tmp_path / "out" / "worksheet.html").read_text(encoding="utf-8")
    assert "MIRRORED: hoop the cloth with its back up" in sheet


def test_the_outline_of_a_fill_follows_its_region(tmp_path):
    checked = check_job(open_job(job_in(tmp_path)))
    front = checked.plans.stitches.hoopings[0]
    marks = [mark for mark in front.marks if mark.kind == "outline"]
    points = np.concatenate([front.design.stitches[mark.first : mark.last + 1] for mark in marks])
    places = front.to_stitch.inverse()(points)
    # The edge of 1 mm and the inset of 0.3 mm inside the box.
    assert places.min(axis=0) == pytest.approx([6.3, 11.3], abs=0.06)
    assert places.max(axis=0) == pytest.approx([33.7, 48.7], abs=0.06)


def test_the_field_lies_where_the_job_says(tmp_path):
    more = "[hoop]\nfield_mm = [100, 100]\nat_mm = [4.0, -3.0]"
    checked = check_job(open_job(job_in(tmp_path, more)))
    front = checked.plans.stitches.hoopings[0]
    assert front.to_stitch(np.array([49.0, 27.0])).tolist() == [0.0, 0.0]
    # The field ends 10 mm left of where the outline does.
    more = "[hoop]\nfield_mm = [60, 60]\nat_mm = [-51.3, 0.0]"
    checked = check_job(open_job(job_in(tmp_path, more)))
    (told,) = [each for each in checked.findings if each.code == "hoop-elsewhere"]
    assert told.mend.endswith("move the design 10.0 mm to the left.")


def test_a_base_is_not_sewn_from_the_back(tmp_path):
    more = '[base]\nfile = "rose.dst"\n[marks]\nmirrored = true'
    with pytest.raises(JobError, match="sewn from the front"):
        open_job(job_in(tmp_path, more))


def test_machine_time_is_told_as_it_comes_about(tmp_path: Path):
    def line(more: str) -> tuple[str, str]:
        checked = check_job(open_job(job_in(tmp_path, more)))
        (found,) = (each for each in checked.plans.quote.lines if each.name == "stitching")
        effort = sum((each.effort for each in checked.plans.stitches.hoopings), Effort())
        turns = effort.stitches + effort.jumps
        assert (
            f"{turns} stitches and jumps / {checked.opened.job.marks.speed_per_min:g}" in found.rule
        )
        minutes = checked.plans.amounts.stitch_minutes
        assert f" = {minutes.normalize():f} min" in found.rule
        return found.rule, found.default

    rule, usual = line("")
    assert "× 5 s" in rule
    assert "speed_per_min, trim_s, stop_s: default" in usual
    rule, usual = line("[marks]\nspeed_per_min = 450\ntrim_s = 7\nstop_s = 20\n")
    assert "× 7 s" in rule
    assert "speed_per_min" not in usual

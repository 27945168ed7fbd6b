"""Several jobs on the same sheets, as a person runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.running import embellish
from tests.laws import check_hashes, check_holes, check_rigid, check_sheets

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="70mm" viewBox="0 0 80 70">
<path id="a" d="M6 6 H74 V{foot} H6 Z"/></svg>"""

JOB = """version = 1
title = "{name}"
catalogues = ["shipped:stones"]
quantity = 3
[artwork]
file = "{name}.svg"
[template]
sheet = {sheet}
copies = {copies}
group = "one"
formats = ["svg", "plt"]
[[lay]]
id = "edge"
shapes = "#a"
way = "row"
pieces = ["R-SS10-CLEAR", "R-SS16-RED"]
gap_mm = {gap}
"""


def write(folder: Path, name: str, foot: int, *, sheet: str = "[300, 300]", copies: int = 1,
          gap: float = 1.2) -> None:  # fmt: skip
    (folder / f"{name}.svg").write_text(DRAWING.format(foot=foot))
    (folder / f"{name}.toml").write_text(
        JOB.format(name=name, sheet=sheet, copies=copies, gap=gap), encoding="utf-8"
    )


@pytest.fixture
def two(tmp_path: Path) -> Path:
    write(tmp_path, "one", 60)
    write(tmp_path, "two", 30, copies=2)
    return tmp_path


def test_parts_of_both_jobs_lie_on_one_sheet_where_their_layouts_say(two: Path):
    done = embellish("nest", "one.toml", "two.toml", "--out", "out", cwd=two)
    assert done.returncode == 0, done.stderr
    assert "2 garments on 1 sheet of 300 × 300 mm" in done.stdout
    out = two / "out"
    check_hashes(out)
    facts = json.loads((out / "nest.json").read_text(encoding="utf-8"))
    check_sheets(out, facts)
    assert [job["title"] for job in facts["jobs"]] == ["one", "two"]
    for job, copies in zip(facts["jobs"], (1, 2), strict=True):
        layout = json.loads((out / job["layout"]).read_text(encoding="utf-8"))
        rows = sorted(row for part in job["parts"] for row in part["seats"])
        assert rows == sorted(list(range(layout["summary"]["count"])) * copies)
        for part in job["parts"]:
            check_rigid(part["to_template"], mirrored=part["mirrored"])
            check_holes(out / part["file"], part, layout)
    (svg,) = (out / "sheets").glob("*.svg")
    words = " ".join(map(str, etree.parse(svg).getroot().itertext()))
    assert "one" in words
    assert "two" in words
    again = embellish("nest", "one.toml", "two.toml", "--out", "again", cwd=two)
    assert again.returncode == 0
    assert (out / "made.json").read_bytes() == (two / "again" / "made.json").read_bytes()


def test_an_error_in_one_job_withholds_the_sheets(two: Path):
    write(two, "torn", 30, gap=0.5)
    done = embellish("nest", "one.toml", "torn.toml", "--out", "out", cwd=two)
    assert done.returncode == 1
    assert "torn · rev. A" in done.stdout
    assert not (two / "out" / "sheets").exists()
    stamped = embellish("nest", "one.toml", "torn.toml", "--out", "out", "--anyway", cwd=two)
    assert stamped.returncode == 1
    for path in (two / "out" / "sheets").glob("*.svg"):
        assert "NOT TO BE CUT" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("sheet", "words"),
    [("[200, 300]", "another 200 x 300"), ('"no such"', "there is no sheet 'no such'")],
)
def test_what_must_be_mended_is_one_sentence_and_nothing_is_written(two: Path, sheet, words):
    write(two, "other", 30, sheet=sheet)
    done = embellish("nest", "one.toml", "other.toml", "--out", "out", cwd=two)
    assert done.returncode == 2
    assert words in done.stderr
    assert "other.toml" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert not (two / "out").exists()


def test_of_a_job_in_sizes_every_size_is_cut(two: Path):
    job = two / "one.toml"
    sizes = "".join(f'[[size]]\nname = "{n}"\nwidth_mm = {w}\n' for n, w in (("S", 60), ("L", 90)))
    job.write_text(job.read_text(encoding="utf-8") + sizes, encoding="utf-8")
    done = embellish("nest", "one.toml", "--out", "out", "--json", cwd=two)
    assert done.returncode == 0, done.stderr
    facts = json.loads((two / "out" / "nest.json").read_text(encoding="utf-8"))
    assert [each["size"] for each in facts["jobs"]] == ["S", "L"]
    seats = [sum(len(part["seats"]) for part in each["parts"]) for each in facts["jobs"]]
    assert 0 < seats[0] < seats[1]
    check_sheets(two / "out", facts)

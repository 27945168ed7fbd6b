"""Sizes: each laid afresh, pieces and gaps as they are, counted and bought together."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from embellish.errors import ArtworkError, JobError
from embellish.job.files import open_job
from embellish.job.making import made_files
from embellish.job.placing import place
from embellish.job.sizes import made_sizes
from tests.laws import check_layout, check_made, check_round_gaps

RING = """<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 100 100">
<circle id="ring" cx="50" cy="50" r="{r}" fill="none" stroke="#000"/></svg>"""

JOB = """version = 1
title = "Sizes"
quantity = 2
catalogues = ["shipped:stones"]
[artwork]
file = "a.svg"
[[lay]]
id = "ring"
shapes = "#ring"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
"""

SIZES = """
[[size]]
name = "S"
percent = 50
[[size]]
name = "L/XL"
width_mm = 200
quantity = 5
[[size]]
name = "own"
file = "own.svg"
width_mm = 100
quantity = 0
"""


@pytest.fixture
def where(tmp_path: Path) -> Path:
    (tmp_path / "a.svg").write_text(RING.format(size='width="100mm" height="100mm"', r=40))
    (tmp_path / "own.svg").write_text(RING.format(size="", r=30))
    (tmp_path / "job.toml").write_text(JOB + SIZES)
    return tmp_path


def test_every_size_is_lawful_and_laid_afresh(where: Path):
    made = made_sizes(open_job(where / "job.toml"))
    place(made.files, where / "out")
    counts = {}
    for folder in ("S", "L-XL", "own"):
        layout = json.loads((where / "out" / folder / "layout.json").read_text())
        check_layout(layout)
        check_round_gaps(layout)
        counts[folder] = layout["summary"]["count"]
        assert layout["pieces"][0]["max_length_mm"] == 2.9
        proof = (where / "out" / folder / "proof.svg").read_text()
        assert f"size {'L/XL' if folder == 'L-XL' else folder}" in proof
    # 2πR / (2.9 + 0.9), one less where a chord is shorter than its arc.
    assert counts == {"S": 33, "L-XL": 132, "own": 49}
    facts = json.loads((where / "out" / "sizes.json").read_text())
    assert [row["quantity"] for row in facts["sizes"]] == [2, 5, 0]
    together = json.loads((where / "out" / "materials-all.json").read_text())
    assert together["lines"][0]["count"] == 2 * 33 + 5 * 132
    rows = list(csv.DictReader(io.StringIO((where / "out" / "sizes.csv").read_text())))
    assert [row["R-SS10-CLEAR"] for row in rows] == ["33", "132", "49"]


def test_a_size_is_the_job_at_that_width(where: Path):
    sizes = made_sizes(open_job(where / "job.toml"))
    large = json.loads(sizes.files["L-XL/layout.json"])["seats"]
    text = JOB.replace('"a.svg"', '"a.svg"\nwidth_mm = 200')
    (where / "job.toml").write_text(text)
    made = made_files(open_job(where / "job.toml"))
    assert json.loads(made.files["layout.json"])["seats"] == large
    place(made.files, where / "large")
    check_made(where / "large")


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ("", r"job\.toml.*no sizes"),
        ('[[size]]\nname = "S"\n', "width_mm, percent or a file"),
        ('[[size]]\nname = "S"\npercent = 50\nwidth_mm = 3\n', "give it alone"),
        ('[[size]]\nname = "S"\npercent = 0\n', "percent"),
        ('[[size]]\nname = "S"\npercent = 50\n[[size]]\nname = "S"\npercent = 60\n', "called 'S'"),
    ],
)
def test_wrong_sizes_are_one_sentence(where: Path, sizes: str, words: str):
    (where / "job.toml").write_text(JOB + sizes)
    with pytest.raises(JobError, match=words):
        made_sizes(open_job(where / "job.toml"))


def test_an_outline_of_a_size_without_its_size_is_asked_for(where: Path):
    (where / "job.toml").write_text(JOB + '[[size]]\nname = "own"\nfile = "own.svg"\n')
    with pytest.raises(ArtworkError, match=r"own\.svg.*no physical size.*size 'own'"):
        made_sizes(open_job(where / "job.toml"))

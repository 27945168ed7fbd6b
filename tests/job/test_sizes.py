"""Sizes: each laid afresh, pieces and gaps as they are, counted and bought together."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest

from embellish.errors import ArtworkError, EmbellishError, JobError
from embellish.job.files import open_job
from embellish.job.freezing import kept_jobs, kept_text
from embellish.job.making import check_job, made_files
from embellish.job.placing import place
from embellish.job.sizes import in_sizes, made_sizes
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
    assert [row["R-SS10-CLEAR"] for row in rows] == ["33", "132", "49", str(2 * 33 + 5 * 132)]
    assert rows[-1]["materials, bought alone"] == facts["all"]["cost"] == together["total"]
    assert float(facts["all"]["cost"]) <= sum(
        float(r["cost_bought_alone"]) for r in facts["sizes"][:2]
    )
    assert facts["sizes"][2]["cost_bought_alone"] is None


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
        ('[[size]]\nname = "S"\n', "width_mm, percent or file"),
        ('[[size]]\nname = "S"\npercent = 50\nwidth_mm = 3\n', "Keep one of them"),
        ('[[size]]\nname = "S"\npercent = 0\n', "percent"),
        ('[[size]]\nname = "S"\npercent = 50\n[[size]]\nname = "S"\npercent = 60\n', "called 'S'"),
    ],
)
def test_wrong_sizes_are_one_sentence(where: Path, sizes: str, words: str):
    (where / "job.toml").write_text(JOB + sizes)
    with pytest.raises(JobError, match=words):
        made_sizes(open_job(where / "job.toml"))


SEAMS = """<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="100mm"
viewBox="0 0 {w} 100"><rect id="front" width="{w}" height="100"/>
<path id="seam" d="M{seam} 0 V100" stroke="#000" fill="none"/></svg>"""

SEWN_UP = """version = 1
title = "Seams"
[artwork]
file = "m.svg"
[[keep_out]]
shapes = "#seam"
margin_mm = 4
[[lay]]
id = "fill"
shapes = "#front"
way = "grid"
pieces = ["R-SS10-CLEAR"]
gap_mm = 6
edge_mm = 5
[[size]]
name = "M"
percent = 100
[[size]]
name = "L"
file = "l.svg"
{own}
"""


@pytest.mark.parametrize(
    ("own", "margin", "edge"),
    [
        ("", 4, 5),
        ("margin_mm = 9\nedge_mm = 12", 9, 12),
        ('margin_mm = {{ "#seam" = 11 }}\nedge_mm = {{ fill = 2 }}', 11, 2),
    ],
)
def test_an_outline_of_its_own_with_its_own_distances(
    tmp_path: Path, own: str, margin: float, edge: float
):
    (tmp_path / "m.svg").write_text(SEAMS.format(w=100, seam=40))
    (tmp_path / "l.svg").write_text(SEAMS.format(w=130, seam=70))
    (tmp_path / "job.toml").write_text(
        SEWN_UP.format(own=own.replace("{{", "{").replace("}}", "}"))
    )
    medium, large = in_sizes(open_job(tmp_path / "job.toml"))
    for opened, width, seam, far, near in ((medium, 100, 40, 4, 5), (large, 130, 70, margin, edge)):
        layout = check_job(opened).layout
        x, radius = layout.xy[:, 0], layout.reach_mm
        assert len(layout) > 50
        clear = float((np.abs(x - seam) - radius).min())
        assert far - 1e-6 <= clear < far + 9
        inside = float(np.minimum(x, width - x).min() - radius[0])
        assert near - 1e-6 <= inside < near + 9


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ('margin_mm = { "#zip" = 3 }', "size 'L'.*'#zip'.*#seam"),
        ("edge_mm = { fil = 3 }", "size 'L'.*'fil'.*'fill'"),
        ("edge_mm = -1", "size 2"),
    ],
)
def test_distances_of_what_is_not_there_are_one_sentence(tmp_path: Path, own: str, words: str):
    (tmp_path / "m.svg").write_text(SEAMS.format(w=100, seam=40))
    (tmp_path / "l.svg").write_text(SEAMS.format(w=130, seam=70))
    (tmp_path / "job.toml").write_text(SEWN_UP.format(own=own))
    with pytest.raises(JobError, match=words):
        in_sizes(open_job(tmp_path / "job.toml"))


def test_an_outline_that_lacks_a_shape_names_the_size(where: Path):
    (where / "own.svg").write_text(RING.replace('"ring"', '"other"').format(size="", r=30))
    with pytest.raises(EmbellishError, match="size 'own', lay 'ring'") as raised:
        made_sizes(open_job(where / "job.toml"))
    assert "#ring" in str(raised.value)


def test_sizes_are_kept_each(where: Path):
    opened = open_job(where / "job.toml")
    before = []
    for path, each in kept_jobs(opened):
        before.append(check_job(each).layout)
        path.write_bytes(kept_text(check_job(each)))
    assert (where / "job.L-XL.kept.toml").exists()
    again = in_sizes(open_job(where / "job.toml"))
    assert all(each.kept for each in again)
    for each, layout in zip(again, before[1:], strict=True):
        assert np.array_equal(check_job(each).layout.xy, layout.xy)
    # Another width of one size lays that one anew, and no other.
    text = (where / "job.toml").read_text().replace("width_mm = 200", "width_mm = 210")
    (where / "job.toml").write_text(text)
    changed = in_sizes(open_job(where / "job.toml"))
    assert [each.kept is not None for each in changed] == [True, False, True]
    assert not any(each.kept for each in in_sizes(open_job(where / "job.toml"), thaw=True))


def test_an_outline_of_a_size_without_its_size_is_asked_for(where: Path):
    (where / "job.toml").write_text(JOB + '[[size]]\nname = "own"\nfile = "own.svg"\n')
    with pytest.raises(ArtworkError, match=r"own\.svg.*no physical size.*size 'own'"):
        made_sizes(open_job(where / "job.toml"))

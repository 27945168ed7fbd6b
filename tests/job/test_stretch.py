"""Cloth that stretches: set on a board, places are stretched and pieces are not; all say so."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from embellish.job.files import open_job
from embellish.job.making import check_job, made_files, proof_of
from embellish.job.placing import place
from embellish.layout.spacing import least_layout_gap
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.layout import layout_json
from tests.laws import check_made

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm"
viewBox="0 0 100 80"><ellipse id="e" cx="60" cy="40" rx="35" ry="30"/>
<path id="l" d="M10 10 C40 0 60 30 95 5" fill="none" stroke="#000"/></svg>"""

JOB = """version = 1
title = "Stretched"
catalogues = ["shipped:stones", "shipped:beads"]
[artwork]
file = "a.svg"
rotate_deg = 20
[[lay]]
id = "edge"
shapes = "#e"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = {gap}
[[lay]]
id = "vine"
shapes = "#l"
way = "row"
pieces = ["seed-bugle-seed"]
gap_mm = {gap}
mark = "each"
[cloth]
{cloth}
"""

BOARD = """set = "board"
stretch_along_percent = 60
grain_deg = 30
board_along_percent = 25
board_across_percent = 10"""


def written(where: Path, cloth: str, gap: float = 1.5) -> Path:
    (where / "a.svg").write_text(DRAWING)
    (where / "job.toml").write_text(JOB.format(cloth=cloth, gap=gap))
    return where / "job.toml"


def test_on_the_board_every_law_holds_in_that_state(tmp_path: Path):
    made = made_files(open_job(written(tmp_path, BOARD)))
    place(made.files, tmp_path / "out")
    layout = check_made(tmp_path / "out")
    flat = check_job(open_job(written(tmp_path, "")))
    # The finished layout, its picture and what is bought do not know of the board.
    assert made.files["layout.json"] == layout_json(flat.layout, 1, least_layout_gap(flat.layout))
    assert made.files["proof.svg"] == svg_bytes(proof_of(flat))
    assert "FOR CLOTH" not in made.files["quote.json"].decode()
    templates = json.loads(made.files["templates/templates.json"])
    marks = json.loads(made.files["marks/marks.json"])
    assert templates["state"] == marks["state"]
    assert templates["state"]["set"] == "board"
    assert {hooping["file"] for hooping in marks["hoopings"]} == {"marks-board.dst"}
    assert len(layout["seats"]["x"]) > 50
    words = "FOR CLOTH STRETCHED ON THE BOARD: 25 % ALONG, 10 % ACROSS"
    for name in ("templates/template-1.svg", "marks/marks-board.svg", "chart.svg"):
        texts = map(str, etree.fromstring(made.files[name]).itertext())
        assert words in " ".join(text for text in texts if text.strip()), name
    assert words in made.files["worksheet.html"].decode()


def test_what_a_template_holds_is_as_far_apart_as_the_cloth_is_drawn_out(tmp_path: Path):
    plans = check_job(open_job(written(tmp_path, 'set = "board"\nboard_along_percent = 50'))).plans
    finished = check_job(open_job(tmp_path / "job.toml")).layout
    # Along is up and down, about the middle of the page at 40 mm.
    assert np.abs(plans.as_set.xy[:, 0] - finished.xy[:, 0]).max() < 1e-6
    assert plans.as_set.xy[:, 1] == pytest.approx(40 + 1.5 * (finished.xy[:, 1] - 40), abs=2e-6)
    assert np.array_equal(plans.as_set.angle_deg, finished.angle_deg)
    (template,) = plans.templates.templates
    radius = finished.footprints[int(finished.footprint[0])].round_radius_mm
    assert radius
    hole = template.parts[0].holes.radius_mm[0]
    assert radius < hole < radius + 0.5


@pytest.mark.parametrize(
    ("cloth", "words"), [("stretch_across_percent = 20", "FOR CLOTH LYING FLAT"), ("", "")]
)
def test_flat_cloth_that_gives_says_so_and_other_cloth_nothing(
    tmp_path: Path, cloth: str, words: str
):
    made = made_files(open_job(written(tmp_path, cloth)))
    told = [name for name, content in made.files.items() if b"FOR CLOTH" in content]
    pictures = [name for name in made.files if name.endswith((".svg", ".html"))]
    plain = {"proof.svg", "quote.html", "costing.html"}  # they show no place to work by
    assert len(pictures) > 4
    assert told == ([name for name in pictures if name not in plain] if words else [])
    assert all(words.encode() in made.files[name] for name in told)


def test_gaps_are_laid_wider_where_the_cloth_narrows_and_hold_in_every_state(tmp_path: Path):
    cloth = "stretch_across_percent = 30\nnarrows_percent = 8"
    checked = check_job(open_job(written(tmp_path, cloth)))
    assert not checked.stopped
    notes = [f for f in checked.findings if f.code == "gap-widened"]
    assert [f.lay for f in notes] == ["edge", "vine"]
    laid = least_layout_gap(checked.layout)
    assert laid
    assert laid >= checked.layout.lays[0].gap_mm > 1.5
    (worn,) = checked.opened.job.cloth.as_worn
    drawn = checked.layout.stretched(worn.map(checked.layout.page_mm))
    held = least_layout_gap(drawn)
    assert held
    assert held >= 1.5


def test_findings_of_stretched_templates_lie_on_the_finished_layout(tmp_path: Path):
    # Registration holes and walls are of the cloth on the board; places told are on the proof.
    cloth = 'set = "board"\nboard_along_percent = 100\n[template]\nwall_mm = 3'
    checked = check_job(open_job(written(tmp_path, cloth)))
    assert checked.stopped
    places = [f.where_mm for f in checked.findings if f.code == "wall-too-thin"]
    assert places
    for at in places:
        assert at
        assert np.hypot(*(checked.layout.xy - np.array(at)).T).min() < 4.0

"""Patterns on paper and the trial, made from a job into a folder and read by other programs."""

from __future__ import annotations

import io
import json
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from scipy.spatial import cKDTree
from typer.testing import CliRunner

from embellish.cli.app import app
from embellish.errors import EmbellishError
from embellish.job.files import open_job
from embellish.job.making import check_job, made_files
from embellish.job.placing import place
from embellish.job.trial import trial_files
from embellish.outputs.chart_sheet import frame_of
from embellish.outputs.paper_files import paper_files
from embellish.plans.paper import plan_paper
from embellish.plans.paper_settings import PaperSettings
from embellish.plans.templates.settings import TemplateSettings
from tests.laws import check_made, check_trial
from tests.laws_paper import holes_of
from tests.outputs.cast import TITLE, one_of_each

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="90mm"
 viewBox="0 0 120 90"><path id="wave" d="M10 20 C40 0 80 40 110 20" fill="none" stroke="#000"/>
<path id="line" d="M10 45 H110" fill="none" stroke="#000"/>
<path id="low" d="M10 70 H60" fill="none" stroke="#000"/>
<path id="stones" d="M70 70 H110" fill="none" stroke="#000"/>
<path id="centre-front" d="M60 -400 V400" fill="none" stroke="#00f"/></svg>"""
JOB = """version = 1
title = "Paper and trial"
catalogues = ["shipped:stones", "shipped:beads", "shipped:shaped"]
[artwork]
file = "a.svg"
[garment]
marks = "#centre-front"
[paper]
pounce = true
stencil = true
wash_away = true
[template]
clearance_mm = 0.25
formats = ["svg", "plt"]
[[lay]]
id = "wave"
shapes = "#wave"
way = "row"
pieces = ["NS-8x4-CLEAR", "B-8-RED"]
gap_mm = 0.8
[[lay]]
id = "beads"
shapes = "#line"
way = "row"
pieces = ["B-11-GOLD"]
gap_mm = 0.2
mark = "line"
[[lay]]
id = "hooked"
shapes = "#low"
way = "row"
pieces = ["seed-bugle-seed"]
gap_mm = 0.4
worked_from = "back"
[[lay]]
id = "stones"
shapes = "#stones"
way = "row"
pieces = ["R-SS10-CLEAR", "R-SS16-RED"]
gap_mm = 1.0
"""
MM_PER_POINT = 25.4 / 72.0


def job_in(folder: Path, text: str = JOB) -> Path:
    (folder / "a.svg").write_text(DRAWING, encoding="utf-8")
    (folder / "a.toml").write_text(text, encoding="utf-8")
    return folder / "a.toml"


@cache
def made() -> Path:
    folder = Path(mkdtemp())
    result = made_files(open_job(job_in(folder)))
    assert not result.withheld, result.checked.findings
    place(result.files, folder / "out")
    return folder / "out"


@cache
def tried() -> Path:
    folder = Path(mkdtemp())
    place(trial_files(open_job(job_in(folder))).files, folder / "out")
    return folder / "out"


def set_at_mm(page: Any) -> np.ndarray:
    """Where a page sets its small pictures, in mm, y down, as pypdf reads it."""
    found: list[tuple[float, float]] = []

    def visit(operator: bytes, _: list[Any], matrix: list[float], __: list[float]) -> None:
        if operator == b"Do":
            found.append((float(matrix[4]), float(page.mediabox.height) - float(matrix[5])))

    page.extract_text(visitor_operand_before=visit)
    return np.array(found).reshape(-1, 2) * MM_PER_POINT


def test_the_laws_hold_for_a_folder_with_patterns():
    layout = check_made(made())
    assert [lay["worked_from"] for lay in layout["lays"]] == ["front", "front", "back", "front"]
    names = {path.name for path in (made() / "paper").iterdir()}
    assert names == {
        "paper.json",
        *(f"{kind}{side}.svg" for kind in ("pounce", "stencil") for side in ("", "-back")),
        *(f"{kind}{side}.plt" for kind in ("pounce", "stencil") for side in ("", "-back")),
        *(f"{k}{side}.pdf" for k in ("pounce", "stencil", "wash-away") for side in ("", "-back")),
    }


@pytest.mark.parametrize("name", ["pounce", "pounce-back"])
def test_the_printed_holes_are_those_of_the_cut_ones(name: str):
    """Both are at true size: one shift takes all centres onto each other, to 0.01 mm."""
    cut, _ = holes_of(made() / "paper" / f"{name}.svg", "cut")
    pages = PdfReader(io.BytesIO((made() / "paper" / f"{name}.pdf").read_bytes())).pages
    assert len(pages) == 2
    # Each hole is set twice, edge and (empty) sign.
    printed = np.unique(np.round(set_at_mm(pages[1]), 4), axis=0)
    cut = np.unique(np.round(cut, 4), axis=0)
    assert len(printed) == len(cut)
    shift = printed.mean(axis=0) - cut.mean(axis=0)
    assert np.max(cKDTree(printed).query(cut + shift)[0]) <= 0.01


@pytest.mark.parametrize(
    ("name", "lays", "flipped"),
    [("wash-away", (0, 1), False), ("wash-away-back", (2,), True)],
)
def test_the_wash_away_print_shows_each_piece_in_its_place(name, lays, flipped):
    layout = json.loads((made() / "layout.json").read_text(encoding="utf-8"))
    seats = layout["seats"]
    rows = [row for row, lay in enumerate(seats["lay"]) if lay in lays and seats["piece"][row] >= 0]
    wanted = np.array([(seats["x"][row], seats["y"][row]) for row in rows]).reshape(-1, 2)
    units = [row for row, lay in enumerate(seats["lay"]) if lay in lays and seats["unit"][row] >= 0]
    members = [
        (seats["x"][row] + member["dx"], seats["y"][row] + member["dy"])
        for row in units
        for member in layout["units_of_pieces"][seats["unit"][row]]["members"]
    ]
    every = np.concatenate([wanted, np.array(members).reshape(-1, 2)])
    if flipped:
        every = every * (-1.0, 1.0)
    pages = PdfReader(io.BytesIO((made() / "paper" / f"{name}.pdf").read_bytes())).pages
    printed = np.unique(np.round(set_at_mm(pages[1]), 4), axis=0)
    shift = printed.min(axis=0) - every.min(axis=0)
    assert np.max(cKDTree(printed).query(every + shift)[0]) <= 0.01
    assert np.max(cKDTree(every + shift).query(printed)[0]) <= 0.01


def test_printed_on_its_back_a_wash_away_sheet_is_mirrored():
    laid = one_of_each()
    for face, said in (("front", "NOT MIRRORED"), ("back", "MIRRORED")):
        asked = PaperSettings.model_validate({"wash_away": True, "wash_away_from": face})
        files = paper_files(
            plan_paper(laid, asked), laid, TITLE, frame_of(laid), TemplateSettings()
        )
        assert list(files) == ["paper/wash-away.pdf"]
        page = PdfReader(io.BytesIO(files["paper/wash-away.pdf"])).pages[1]
        assert f"· {said}: print on" in page.extract_text()


def test_the_laws_hold_for_a_trial():
    layout = check_trial(tried())
    counts = {lay["id"]: lay["count"] for lay in layout["lays"]}
    assert set(counts) == {"wave", "beads", "hooked", "stones"}
    assert min(counts.values()) >= 3
    card = json.loads((tried() / "test-cut-card.json").read_text(encoding="utf-8"))
    assert [row["now_mm"] for row in card["rows"]] == [0.25, 0.25]
    assert (tried() / "test-cut-card.plt").exists()
    marks = json.loads((tried() / "marks" / "marks.json").read_text(encoding="utf-8"))
    assert {hooping["mirrored"] for hooping in marks["hoopings"]} == {False, True}


def test_the_sheet_of_a_trial_has_room_for_what_the_maker_writes():
    page = (tried() / "cloth-test.html").read_text(encoding="utf-8")
    for words in ("Temperature", "Pressure", "Time", "Washed", "Stretched", "Cautions"):
        assert words in page
    assert "°C</td>" in page
    assert "Try it first" not in page


def test_a_job_that_is_only_sewn_has_no_card_and_no_room_for_heat(tmp_path: Path):
    text = JOB[: JOB.index('[[lay]]\nid = "stones"')]
    trial = trial_files(open_job(job_in(tmp_path, text)))
    assert trial.card is None
    assert not [name for name in trial.files if "card" in name or name.startswith("templates")]
    assert b"Temperature" not in trial.files["cloth-test.html"]


def test_the_command_makes_it_and_says_where(tmp_path: Path):
    (tmp_path / "job").mkdir()
    path = job_in(tmp_path / "job")
    out = tmp_path / "trial"
    done = CliRunner().invoke(app, ["trial", str(path), "--out", str(out), "--json"])
    assert done.exit_code == 0, done.output
    facts = json.loads(done.stdout)
    assert "test-cut-card.svg" in facts["files"]
    assert {name for each in facts["card"] for name in each["codes"]} == {
        "R-SS10-CLEAR",
        "R-SS16-RED",
    }
    check_trial(out)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('marks = "#centre-front"', 'marks = "#nowhere"', "garment"),
        ("gap_mm = 1.0\n", 'gap_mm = 1.0\nworked_from = "back"\n', "worked from the back"),
        ("pounce = true", "pounse = true", "pounce"),
    ],
)
def test_what_is_wrong_is_one_sentence_with_its_mend(tmp_path: Path, old: str, new: str, told: str):
    with pytest.raises(EmbellishError) as wrong:
        made_files(open_job(job_in(tmp_path, JOB.replace(old, new))))
    assert told in str(wrong.value)
    assert "a.toml" in str(wrong.value)


def test_a_lay_of_everything_leaves_the_marks_of_the_garment_out(tmp_path: Path):
    head = JOB[: JOB.index("[[lay]]")]
    lay = '[[lay]]\nid = "all"\nshapes = "*"\nway = "row"\npieces = ["B-8-RED"]\ngap_mm = 1.0\n'
    layout = check_job(open_job(job_in(tmp_path, head + lay))).layout
    laid_on = {layout.shape_ids[shape] for shape in set(layout.shape.tolist())}
    assert laid_on == {"wave", "line", "low", "stones"}
    named = lay.replace('"*"', '"#centre-front"')
    layout = check_job(open_job(job_in(tmp_path, head + named))).layout
    assert {layout.shape_ids[shape] for shape in set(layout.shape.tolist())} == {"centre-front"}
    every = head.replace("#centre-front", "*") + lay
    with pytest.raises(EmbellishError, match="mark of the garment"):
        check_job(open_job(job_in(tmp_path, every)))


def test_where_an_error_stands_patterns_are_withheld_or_stamped_outside_the_cut(tmp_path: Path):
    # A hoop that holds not one mark of a stone of 8 mm.
    short = JOB[: JOB.index('[[lay]]\nid = "beads"')]
    torn = short.replace("[paper]", "[hoop]\nfield_mm = [2, 2]\n[paper]")
    opened = open_job(job_in(tmp_path, torn))
    assert not [name for name in made_files(opened).files if name.startswith("paper/")]
    stamped = made_files(opened, anyway=True).files["paper/pounce.svg"].decode()
    assert "NOT TO BE CUT" in stamped
    (tmp_path / "pounce.svg").write_text(stamped, encoding="utf-8")
    assert len(holes_of(tmp_path / "pounce.svg", "cut")[0]) > 10

"""Every demo is made whole, as a person makes it, and every law holds over what it makes."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.spatial import cKDTree

from tests.laws import check_made

ROOT = Path(__file__).parent.parent
DEMOS = ROOT / "demos"

SET_BY = {
    "moth": {"template", "hand"},
    "clutch": {"sewn"},
}
"""How the lays of each demo are set: a demo shows one of a shop's kinds of work."""

NOT_JOBS = (".kept.toml", "stock.toml", "catalogue.toml")


def jobs_of(demo: Path) -> list[Path]:
    """The jobs of a demo's folder, without catalogues of its own and what is kept."""
    return sorted(path for path in demo.glob("*.toml") if not path.name.endswith(NOT_JOBS))


PICTURES = {"gallery"}
"""Folders of pictures alone, which have tests of their own."""

JOBS = [job for demo in sorted(DEMOS.iterdir()) if demo.is_dir() for job in jobs_of(demo)]


def made(job: Path, into: Path) -> Path:
    """Make a copy of a demo; return the folder made."""
    there = into / job.parent.name
    shutil.copytree(job.parent, there, ignore=shutil.ignore_patterns("out"))
    done = subprocess.run(
        [sys.executable, "-m", "embellish", "make", job.name, "--out", "out"],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        cwd=there,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
    )
    assert done.returncode == 0, done.stderr
    return there / "out"


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def out_of(tmp_path_factory: pytest.TempPathFactory):
    """Each demo made once, however many tests look at it."""
    return cache(lambda job: made(job, tmp_path_factory.mktemp("demo")))


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.relative_to(DEMOS).as_posix())
def test_a_demo_is_made_and_keeps_every_law(job, out_of):
    out = out_of(job)
    layout = check_made(out)
    name = job.parent.name
    assert name in SET_BY, f"say in SET_BY how the lays of the demo '{name}' are set"
    assert {lay["set_by"] for lay in layout["lays"] if lay["count"]} == SET_BY[name]
    assert all(lay["count"] for lay in layout["lays"])
    # A demo shows how a job should be: nothing in the way, nothing lost.
    findings = read(out / "findings.json")
    codes = {finding["code"] for finding in findings}
    assert not codes & {"clash-dropped", "region-too-small", "edit-lost", "no-points"}
    assert all(finding["severity"] != "error" for finding in findings)


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.relative_to(DEMOS).as_posix())
def test_marks_take_at_most_half_the_time_of_marks_one_by_one(job, out_of):
    path = out_of(job) / "marks" / "plan.json"
    if not path.exists():
        pytest.skip("nothing is sewn")
    facts = read(path)
    planned = facts["as_planned"]["minutes"]
    assert planned <= facts["piece_by_piece"]["minutes"] / 2.0
    assert planned <= facts["before_joining"]["minutes"] <= facts["piece_by_piece"]["minutes"]


@pytest.mark.parametrize(
    "demo", sorted({path.name for path in DEMOS.iterdir() if path.is_dir()} - PICTURES)
)
def test_a_demo_has_a_job_and_says_that_it_is_invented(demo):
    jobs = jobs_of(DEMOS / demo)
    assert jobs
    for job in jobs:
        assert "invented" in job.read_text(encoding="utf-8").lower()


def test_the_clutch_is_sewn_by_hand_along_marks_and_chart(out_of):
    out = out_of(DEMOS / "clutch" / "clutch.toml")
    layout = read(out / "layout.json")
    # No heat: nothing to cut, nothing to press.
    assert not (out / "templates").exists()
    sheet = (out / "worksheet.html").read_text(encoding="utf-8")
    assert "plates burn" not in sheet
    assert (out / "chart.pdf").read_bytes().startswith(b"%PDF")
    # Rows are marked along lines; units that stand alone each, under the piece.
    kinds = {
        mark["kind"]
        for hooping in read(out / "marks" / "marks.json")["hoopings"]
        for mark in hooping["marks"]
    }
    assert kinds == {"line", "each"}
    codes = {finding["code"] for finding in read(out / "findings.json")}
    assert "holes-stay" in codes
    assert not codes & {"mark-shows", "mark-in-sight", "no-thread-hole"}
    # Each bugle takes its two seeds, each sequin one.
    lines = {line["code"]: line["count"] for line in read(out / "materials.json")["lines"]}
    lays = {lay["id"]: lay["count"] for lay in layout["lays"]}
    assert lines["U-2-GOLD"] == lays["edge"] + lays["rib"]
    assert lines["QC-6-GOLD"] == lays["cup"]
    assert lines["Q-5-SILVER"] == lines["B-15-SILVER"] - lays["edge-line"] == lays["sequin"]
    assert lines["B-11-GOLD"] == lays["vine"] + lays["cup"] + 2 * (lays["edge"] + lays["rib"])


def test_the_clutch_is_the_same_on_both_sides(out_of):
    layout = read(out_of(DEMOS / "clutch" / "clutch.toml") / "layout.json")
    seats, lays = layout["seats"], [lay["id"] for lay in layout["lays"]]
    # Eye and petals are drawn whole; all else is one half and its mirror image.
    for name in ("edge", "cup", "vine", "leaf", "edge-line"):
        mine = np.array(seats["lay"]) == lays.index(name)
        xy = np.column_stack([seats["x"], seats["y"]])[mine]
        away = np.asarray(cKDTree(xy).query(xy * [-1.0, 1.0] + [240.0, 0.0])[0])
        assert away.max() < 0.01, name

"""Lays by a picture: opened with the job, kept with it, bundled, laid anew when it changes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from embellish.errors import EmbellishError
from embellish.job.files import named_files, open_job
from embellish.job.keeping import job_sha256
from embellish.job.lay_memory import LayMemory
from embellish.job.laying import lay_job

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<rect id="r" width="60" height="40"/></svg>'
)
JOB = """version = 1
title = "A picture (invented)"
catalogues = ["shipped:stones"]
[artwork]
file = "a.svg"
[[lay]]
id = "m"
shapes = "#r"
way = "WAY"
pieces = [PIECES]
gap_mm = 0.9
"""
MOSAIC = '[lay.mosaic]\npicture = "p.png"\n'


def written(where: Path, more: str = MOSAIC, way: str = "grid", pieces: str = '"R-SS10-*"') -> Path:
    (where / "a.svg").write_text(SVG)
    shades = np.linspace(0, 255, 60).astype(np.uint8)
    Image.fromarray(np.tile(shades, (40, 1))).save(where / "p.png")
    job = where / "job.toml"
    job.write_text(JOB.replace("WAY", way).replace("PIECES", pieces) + more)
    return job


def laid(path: Path, memory: LayMemory | None = None):
    opened = open_job(path)
    return lay_job(opened.job, opened.artwork, opened.catalogue, memory=memory)


def test_a_pattern_names_every_piece_and_the_picture_says_which_stands_where(tmp_path: Path):
    opened = open_job(written(tmp_path))
    assert len(opened.job.lay[0].codes) == 16
    assert all(code.startswith("R-SS10-") for code in opened.job.lay[0].codes)
    layout = laid(tmp_path / "job.toml").layout
    codes = [layout.pieces[k].code for k in layout.piece[np.argsort(layout.xy[:, 0])].tolist()]
    assert codes[0] == "R-SS10-BLACK"
    assert codes[-1] in ("R-SS10-MILK", "R-SS10-CLEAR")


def test_another_picture_is_another_layout_and_another_job(tmp_path: Path):
    path, memory = written(tmp_path), LayMemory()
    before, digest = laid(path, memory).layout, job_sha256(open_job(path).job)
    assert "p.png" in named_files(open_job(path).job)
    Image.open(tmp_path / "p.png").transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(
        tmp_path / "p.png"
    )
    after = laid(path, memory).layout
    assert not np.array_equal(before.piece, after.piece)
    assert job_sha256(open_job(path).job) != digest


def test_a_renamed_picture_is_the_same_job(tmp_path: Path):
    path = written(tmp_path)
    digest = job_sha256(open_job(path).job)
    (tmp_path / "p.png").rename(tmp_path / "q.png")
    path.write_text(path.read_text().replace("p.png", "q.png"))
    assert job_sha256(open_job(path).job) == digest


def test_a_scatter_thins_out_by_a_grey_picture(tmp_path: Path):
    fade = '[lay.fade]\nkind = "picture"\npicture = "p.png"\n'
    layout = laid(written(tmp_path, fade, "scatter", '"R-SS10-CLEAR"')).layout
    dark = np.count_nonzero(layout.xy[:, 0] < 30)
    assert dark > 1.5 * (len(layout) - dark)


WRONG = {
    "no such file": (MOSAIC.replace("p.png", "q.png"), '"R-SS10-*"', "q.png"),
    "no picture": (MOSAIC.replace("p.png", "a.svg"), '"R-SS10-*"', "no photo"),
    "no such pattern": (MOSAIC, '"R-SS99-*"', "is called like 'R-SS99-*'"),
    "several sizes": (MOSAIC, '"R-SS10-RED", "R-SS6-RED"', "R-SS10-RED and R-SS6-RED differ"),
    "symmetric": ("symmetric = true\n" + MOSAIC, '"R-SS10-*"', "symmetric = false"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_told_in_a_sentence(name: str, tmp_path: Path):
    more, pieces, words = WRONG[name]
    with pytest.raises(EmbellishError) as told:
        laid(written(tmp_path, more, pieces=pieces))
    assert words in str(told.value)

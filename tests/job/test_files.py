"""Files that are missing, of another kind or under another name: one sentence with the mend."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from embellish.errors import EmbellishError
from embellish.job.catalogue_files import open_catalogue
from embellish.job.files import open_artwork, open_job, open_wide

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
    '<path id="wing" d="M10 10H90V90H10Z"/></svg>'
)
JOB = """
version = 1
title = "Test"
[artwork]
file = "moth.svg"
[[lay]]
id = "edge"
shapes = "#wing"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("files")
    (where / "moth.svg").write_text(SVG)
    (where / "packed.svgz").write_bytes(gzip.compress(SVG.encode()))
    (where / "picture.svg").write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0")
    (where / "zeros.svg").write_bytes(b"\0" * 12)
    (where / "empty.svg").write_bytes(b" \r\n")
    (where / "cut.svg").write_text(SVG[:-9])
    (where / "page.svg").write_text("<html/>")
    (where / "bare.svg").write_text(SVG.replace('<path id="wing" d="M10 10H90V90H10Z"/>', ""))
    (where / "drawing.cdr").write_bytes(b"RIFF")
    (where / "folder.svg").mkdir()
    (where / "stock.toml").write_text("")
    (where / "job.toml").write_text(JOB)
    return where


ARTWORKS = {
    "moht.svg": "there is no such artwork. Did you mean 'moth.svg'?",
    "other.svg": "there is no such artwork. Check the name and the folder.",
    "folder.svg": "this is a folder, not an artwork. Name the file in it.",
    "moth.svg/wing.svg": "moth.svg is a file, so nothing is inside it.",
    "a\0.svg": "this artwork cannot be read",
    "picture.svg": "this is not an SVG drawing but a file of another kind. Open it in a drawing",
    "zeros.svg": "this is not an SVG drawing but a file of another kind.",
    "empty.svg": "the file is empty. Save the drawing again",
    "cut.svg": "line 1: the drawing is broken here",
    "page.svg": "it is no SVG: its root element is <html>. Save it from a drawing program",
    "bare.svg": "there is no shape in it. Draw or export at least one path.",
    "drawing.cdr": "artwork of kind '.cdr' is not read. Save the drawing as one of: .svg",
}


@pytest.mark.parametrize("name", ARTWORKS)
def test_artwork_that_cannot_be_read(folder: Path, name: str):
    with pytest.raises(EmbellishError) as told:
        open_artwork(folder / name)
    assert ARTWORKS[name] in str(told.value)
    assert told.value.file
    assert told.value.mend


@pytest.mark.parametrize("width_mm", [0.0, -3.0, float("nan"), float("inf"), 1e9])
def test_a_width_that_is_none_names_the_file(folder: Path, width_mm: float):
    with pytest.raises(EmbellishError, match=r"moth\.svg: "):
        open_wide(folder / "moth.svg", width_mm)


def test_a_folder_is_no_job_and_a_misspelt_one_is_guessed(folder: Path):
    with pytest.raises(EmbellishError, match="a folder, not a job file"):
        open_job(folder)
    with pytest.raises(EmbellishError, match=r"no such job file\. Did you mean 'job\.toml'"):
        open_job(folder / "jop.toml")


CATALOGUES = {
    '"stones"': "Did you mean 'shipped:stones'?",
    '"shipped:stone"': "no catalogue 'stone' is shipped. Did you mean 'stones'?",
    '"job.toml"': "this is a job, not a catalogue",
    '"moth.svg"': "a drawing or a web page, not TOML",
    '"folder.svg"': "this is a folder, not a catalogue",
    '"stock.toml", "stock.toml"': "'stock.toml' stands there twice. Keep one of them.",
    '"stock.toml", "./stock.toml"': "'stock.toml' and './stock.toml' are the same file.",
}


@pytest.mark.parametrize("names", CATALOGUES)
def test_catalogues_that_cannot_be_read(folder: Path, names: str):
    path = folder / "wrong.toml"
    path.write_text(JOB.replace("version", f"catalogues = [{names}]\nversion", 1))
    with pytest.raises(EmbellishError) as told:
        open_job(path)
    assert CATALOGUES[names] in str(told.value)


def test_an_unpacked_and_a_packed_drawing_are_the_same(folder: Path):
    plain, _ = open_artwork(folder / "moth.svg")
    packed, _ = open_artwork(folder / "packed.svgz")
    assert [shape.id for shape in plain.shapes] == [shape.id for shape in packed.shapes]
    assert len(open_catalogue("stock.toml", folder)) == 0

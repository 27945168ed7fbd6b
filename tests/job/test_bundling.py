"""A bundle holds all a job is made from, opens safely, and makes the same again."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from embellish.errors import JobError, OutputError
from embellish.job import unbundling
from embellish.job.bundling import MANIFEST, bundled
from embellish.job.files import open_job
from embellish.job.freezing import kept_jobs, kept_text
from embellish.job.making import check_job, made_files
from embellish.job.unbundling import opened_bundle, put_down

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<circle id="ring" cx="30" cy="30" r="25"/></svg>"""

MINE = """[catalogue]
currency = "EUR"
[[piece]]
code = "A"
name = "stone"
kind = "stone"
fixing = "heat-set"
length_mm = [2.7, 2.8, 2.9]
width_mm = [2.7, 2.8, 2.9]
hex = "#ff0000"
packs = [{ pieces = 100, price = "1.00" }]
"""

JOB = """# A comment that stays: 'art/ring.svg'
version = 1
title = "Bundled"
catalogues = ["{mine}", "shipped:stones"]
[artwork]
file = '{art}'
[[lay]]
id = "edge"
shapes = "#ring"
way = "row"
pieces = ["A"]
gap_mm = 0.9
[[lay]]
id = "again"
shapes = "#ring"
way = "row"
pieces = ["R-SS6-CLEAR"]
gap_mm = 0.9
[[size]]
name = "L"
file = "{art}"
width_mm = 80
"""


def written(where: Path, *, art: str = "art/ring.svg", mine: str = "mine.toml") -> Path:
    job = where / "shop" / "job.toml"
    for name, text in ((art, DRAWING), (mine, MINE)):
        path = job.parent / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    job.write_text(JOB.format(art=art, mine=mine))
    return job


def bundle(job: Path) -> bytes:
    opened = open_job(job)
    return bundled(opened, {p: kept_text(check_job(each)) for p, each in kept_jobs(opened)})


@pytest.mark.parametrize(
    ("art", "mine"),
    [("art/ring.svg", "./mine.toml"), ("../drawings/ring.svg", "../stock/mine.toml")],
)
def test_what_is_unbundled_makes_the_same_bytes(tmp_path: Path, art: str, mine: str):
    job = written(tmp_path, art=art, mine=mine)
    before = made_files(open_job(job)).files
    data = bundle(job)
    assert data == bundle(job)
    name, files = opened_bundle(data, "b.zip")
    assert set(files) >= {"job.toml", "job.kept.toml", "job.L.kept.toml"}
    assert b"# A comment that stays" in files["job.toml"]
    put_down(files, tmp_path / "elsewhere" / "opened")
    opened = open_job(tmp_path / "elsewhere" / "opened" / name)
    # Here everything comes from the kept rows, whatever later catalogues say.
    assert opened.kept is not None
    assert made_files(opened).files == before


def test_a_job_as_its_maker_wrote_it_is_not_touched(tmp_path: Path):
    job = written(tmp_path)
    assert opened_bundle(bundle(job), "b.zip")[1]["job.toml"] == job.read_bytes()


def test_an_outside_name_that_text_alone_cannot_change_is_refused(tmp_path: Path):
    job = written(tmp_path, art="../drawings/ring.svg")
    text = job.read_text().replace("'../drawings/ring.svg'", '"..\\u002fdrawings/ring.svg"')
    job.write_text(text)
    with pytest.raises(JobError, match=r"drawings/ring\.svg lies outside.*Copy it"):
        bundle(job)


def rezipped(
    data: bytes, change: Callable[[dict[str, bytes]], object], *, hashes: bool = True
) -> bytes:
    """The same bundle with its files changed, and its manifest made to fit unless told not to."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    if hashes and MANIFEST in files:
        facts = json.loads(files[MANIFEST])
        facts["files"] = [
            {"name": name, "sha256": hashlib.sha256(content).hexdigest()}
            for name, content in files.items()
            if name != MANIFEST
        ]
        files[MANIFEST] = json.dumps(facts).encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return bundle(written(tmp_path_factory.mktemp("sound")))


@pytest.mark.parametrize(
    "name", ["../x", "/x", "a/../../x", "a\\x", "C:x", "a//x", "./x", "x\x01"], ids=ascii
)
def test_nothing_leads_out_of_the_folder(sound: bytes, name: str):
    evil = rezipped(sound, lambda files: files.__setitem__(name, b"x"))
    with pytest.raises(JobError, match=r"b\.zip: .*no safe place"):
        opened_bundle(evil, "b.zip")


DAMAGE: dict[str, tuple[Callable[[dict[str, bytes]], object], bool, str]] = {
    "a file changed": (lambda f: f.update({"mine.toml": b"x"}), False, "mine.toml.*damaged"),
    "a file gone": (lambda f: f.pop("mine.toml"), False, "mine.toml.*damaged"),
    "a file more": (lambda f: f.update(more=b""), False, "more.*damaged"),
    "artwork gone": (lambda f: f.pop("art/ring.svg"), True, "art/ring.svg.*not in the bundle"),
    "job gone": (lambda f: f.pop("job.toml"), True, "job.toml.*damaged"),
    "no manifest": (lambda f: f.pop(MANIFEST), False, "not a bundle"),
    "manifest is no JSON": (lambda f: f.update({MANIFEST: b"{"}), False, "damaged"),
    "manifest is a list": (lambda f: f.update({MANIFEST: b"[]"}), False, "damaged"),
    "of a newer version": (
        lambda f: f.update({MANIFEST: f[MANIFEST].replace(b'"version": 1', b'"version": 2')}),
        False,
        "version 2.*newer",
    ),
}


@pytest.mark.parametrize("name", DAMAGE)
def test_a_damaged_bundle_is_one_sentence(sound: bytes, name: str):
    change, hashes, words = DAMAGE[name]
    with pytest.raises(JobError, match=words):
        opened_bundle(rezipped(sound, change, hashes=hashes), "b.zip")


def test_bytes_that_are_no_zip_or_cut_or_flipped(sound: bytes):
    for data in (b"", b"PK\x03\x04", sound[:-30], sound[: len(sound) // 2]):
        with pytest.raises(JobError, match=r"b\.zip"):
            opened_bundle(data, "b.zip")
    flipped = bytearray(sound)
    flipped[len(sound) // 3] ^= 0x40
    with pytest.raises(JobError, match="damaged"):
        opened_bundle(bytes(flipped), "b.zip")


def test_a_bomb_is_refused_before_it_is_unpacked(sound: bytes, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(unbundling, "MOST_BYTES", 3_000_000)
    bomb = rezipped(sound, lambda files: files.update(big=bytes(4_000_000)), hashes=False)
    assert len(bomb) < 100_000
    with pytest.raises(JobError, match="more than any job"):
        opened_bundle(bomb, "b.zip")
    # One that lies about its size is read no further than it says.
    lying = bytearray(bomb)
    at = lying.rfind((4_000_000).to_bytes(4, "little"))
    lying[at : at + 4] = (10).to_bytes(4, "little")
    with pytest.raises(JobError, match=r"big.*damaged"):
        opened_bundle(bytes(lying), "b.zip")


def test_too_many_files_are_refused(sound: bytes, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(unbundling, "MOST_FILES", 5)
    many = rezipped(sound, lambda files: files.update({str(n): b"" for n in range(9)}))
    with pytest.raises(JobError, match="more than any job"):
        opened_bundle(many, "b.zip")


def test_it_opens_into_a_folder_of_its_own_or_not_at_all(tmp_path: Path):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine").write_text("mine")
    with pytest.raises(OutputError, match="something stands here"):
        put_down({"a": b"1"}, tmp_path / "full")
    assert [each.name for each in (tmp_path / "full").iterdir()] == ["mine"]
    (tmp_path / "empty").mkdir()
    put_down({"a": b"1", "b/c": b"2"}, tmp_path / "empty")
    assert (tmp_path / "empty" / "b" / "c").read_bytes() == b"2"
    with pytest.raises(OutputError):
        put_down({"a": b"1", "a/b": b"2"}, tmp_path / "new")
    assert sorted(each.name for each in tmp_path.iterdir()) == ["empty", "full"]

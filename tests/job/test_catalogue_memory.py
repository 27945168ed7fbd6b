"""A large catalogue is read once: what is remembered is the same, and never trusted blindly."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from embellish.catalogue.catalogue import Catalogue, read_catalogue, shipped
from embellish.catalogue.shipped import shipped_names
from embellish.catalogue.stored import restored, stored
from embellish.errors import CatalogueError
from embellish.job import catalogue_memory
from embellish.job.catalogue_memory import FOLDER, cache_folder, remembered_catalogue

ROW = """[[piece]]
code = "A{n}"
kind = "stone"
fixing = "heat-set"
size_mm = [2.7, 2.8, 2.9]
packs = [{{ pieces = 144, price = "1.10", breaks = [{{ packs = 5, off = 0.1 }}] }}]
lots = [{{ lot = "7", pieces = 12 }}]
source = "{note}"
"""
HEAD = '[catalogue]\ncurrency = "EUR"\n[suppliers.Harbour]\nshipping = "4.90"\n'


def large(note: str = "measured") -> bytes:
    return (HEAD + "".join(ROW.format(n=n, note=note) for n in range(600))).encode()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(FOLDER, str(tmp_path / "kept"))
    remembered_catalogue.cache_clear()
    return tmp_path / "kept"


def again(data: bytes) -> Catalogue:
    """Read as another run would."""
    remembered_catalogue.cache_clear()
    return remembered_catalogue(data, "mine.toml")


@pytest.mark.parametrize("name", shipped_names("pieces"))
def test_what_is_stored_comes_back_whole(name: str):
    catalogue = shipped(name)
    assert restored(stored(catalogue), catalogue.name) == catalogue


def test_a_second_run_reads_what_the_first_kept(folder: Path, monkeypatch):
    data = large()
    first = again(data)
    assert first == read_catalogue(data, "mine.toml")
    assert len(list(folder.iterdir())) == 1
    monkeypatch.setattr(catalogue_memory, "read_catalogue", None)
    assert again(data) == first
    with pytest.raises(TypeError):
        again(large("other bytes"))


def test_a_small_file_leaves_nothing_behind(folder: Path):
    again(HEAD.encode())
    assert not folder.exists()


@pytest.mark.parametrize("harm", ["cut", "flipped", "emptied", "foreign", "folder"])
def test_what_is_damaged_is_read_anew(folder: Path, harm: str):
    data = large()
    whole = again(data)
    (kept,) = folder.iterdir()
    content = kept.read_bytes()
    if harm == "folder":
        kept.unlink()
        kept.mkdir()
    else:
        kept.write_bytes(
            {
                "cut": content[:-7],
                "flipped": content[:50] + bytes([content[50] ^ 1]) + content[51:],
                "emptied": b"",
                "foreign": stored(whole)[:32] + b'{"pieces": []}',
            }[harm]
        )
    assert again(data) == whole
    if harm != "folder":
        assert kept.read_bytes() == content


def test_a_value_that_no_field_holds_is_not_taken_even_with_a_right_hash():
    import hashlib

    body = stored(read_catalogue(large(), "x"))[32:].replace(b'"nominal":2.8', b'"nominal":-2.8')
    assert restored(hashlib.sha256(body).digest() + body, "x") is None


def test_where_nothing_can_be_written_it_is_just_read(tmp_path: Path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    for place in (str(tmp_path / "file"), str(tmp_path / "file" / "below"), ""):
        monkeypatch.setenv(FOLDER, place)
        assert len(again(large()).pieces) == 600
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


def test_a_file_that_is_wrong_is_told_every_time(folder: Path):
    wrong = large() + b"[[piece]]\nkind = 5\n"
    for _ in range(2):
        with pytest.raises(CatalogueError):
            again(wrong)
    assert not folder.exists()


def test_only_so_many_are_kept(folder: Path):
    for n in range(catalogue_memory._MOST_KEPT + 3):
        again(large(f"number {n}"))
    assert len(list(folder.iterdir())) == catalogue_memory._MOST_KEPT


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="these have rules of their own")
def test_the_folder_is_where_the_system_keeps_such_things(tmp_path: Path, monkeypatch):
    monkeypatch.delenv(FOLDER, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert cache_folder() == tmp_path / "embellish"
    monkeypatch.setenv("XDG_CACHE_HOME", "not/absolute")
    assert cache_folder() == Path.home() / ".cache" / "embellish"

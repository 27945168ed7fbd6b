"""How a job begins: what is handed in is told about first, and the folder is left as it was."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from embellish.errors import EmbellishError
from embellish.workbench.handed import MOST_FILES, HandedIn, handed_file
from tests.real_artwork import font
from tests.workbench.serving import MOTH, ROOT, Started, bench

SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
    b'<rect id="box" x="5" y="5" width="30" height="30"/></svg>'
)
UNSIZED = SVG.replace(b' width="40mm" height="40mm"', b"")
ODD = SVG.replace(b"</svg>", b'<text x="2" y="9">Hi</text></svg>')


def handed(started: Started, name: str, content: bytes) -> str:
    answer = started.client.post("/api/hand-in", params={"name": name}, content=content)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["key"])


def begun(started: Started, name: str, content: bytes, **more: Any) -> Any:
    key = handed(started, name, content)
    return started.post("/api/begin/drawing", {"drawing": key, **more})


def left(folder: Path) -> set[str]:
    return {each.name for each in folder.iterdir() if not each.name.endswith(".steps")}


def test_a_drawing_a_name_and_the_example_each_begin_a_job(tmp_path: Path):
    (tmp_path / "heart.svg").write_bytes(b"mine")
    with bench(tmp_path) as started:
        assert started.get("/api/state")["job"] is None
        assert "no job is open" in started.refused("/api/undo", {})
        state = begun(started, "../../heart.svg", SVG)
        assert state["file"] == "heart-2.toml"
        assert (tmp_path / "heart.svg").read_bytes() == b"mine"
        started.checked()
        words = {"text": "../Ana!", "font": "single-line:futural", "cap_height_mm": 30}
        assert started.post("/api/begin/words", words)["file"] == "Ana.toml"
        started.checked()
        state = started.post("/api/demo")
        assert state["job"]["title"].startswith("Moth")
        started.checked()
        assert started.post("/api/demo")["file"] == state["file"]
        assert set(state["jobs"]) == {"Ana.toml", "heart-2.toml", "moth.toml"}
        started.post("/api/open", {"job": "Ana.toml"})
        started.checked()
    assert left(tmp_path) == {
        *("heart.svg", "heart-2.svg", "heart-2.toml"),
        *("Ana.toml", "moth.svg", "moth.toml"),
    }


def test_a_drawing_is_told_about_before_anything_is_written(tmp_path: Path):
    with bench(tmp_path) as started:
        key = handed(started, "a.svg", UNSIZED)
        told = started.post("/api/look/drawing", {"drawing": key})
        assert told["sized"] is False
        told = started.post("/api/look/drawing", {"drawing": key, "width_mm": 120})
        assert (told["sized"], told["width_mm"], told["height_mm"]) == (True, 120, 120)
        assert (told["count"], told["closed"]) == (1, 1)
        odd = started.post("/api/look/drawing", {"drawing": handed(started, "a.svg", ODD)})
        assert any("text" in each["message"] for each in odd["findings"])
    assert left(tmp_path) == set()


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.svg", UNSIZED, "no physical size"),
        ("a b.svg", b"not a drawing", "a b.svg"),
    ],
)
def test_what_is_no_drawing_leaves_nothing_behind(
    tmp_path: Path, name: str, content: bytes, told: str
):
    with bench(tmp_path) as started:
        key = handed(started, name, content)
        words = started.refused("/api/begin/drawing", {"drawing": key})
        assert told in words
        assert str(Path(words.split(":")[0]).name) == name
        words = started.refused("/api/begin/drawing", {"drawing": "no such file"})
        assert "Choose it once more" in words
    assert left(tmp_path) == set()


@pytest.mark.parametrize("name", ["a", "a.b c", "..", "a.", "a.abcdefghi", ""])
def test_a_name_that_tells_no_kind_is_refused(name: str):
    with pytest.raises(EmbellishError, match="no ending"):
        handed_file(name, SVG)


def test_the_newest_files_are_kept():
    held = HandedIn()
    keys = [held.take(f"{n}.svg", SVG)[0] for n in range(MOST_FILES + 1)]
    assert len(set(keys)) == len(keys)
    with pytest.raises(EmbellishError, match="not at hand"):
        held.file(keys[0])
    assert held.file(keys[-1]).name == f"{MOST_FILES}.svg"


def test_words_in_a_font_of_mine_tell_what_it_lacks_and_stand_beside_the_job(tmp_path: Path):
    with bench(tmp_path) as started:
        key = handed(started, "my script.woff", _script())
        asked = {"text": "Ana\n\u05d0", "font": key, "cap_height_mm": 25.0}
        told = started.post("/api/look/words", asked)
        assert told["height_mm"] > 25
        assert any("\u05d0" in each["message"] for each in told["findings"])
        assert left(tmp_path) == set()
        asked["text"] = "Ana"
        state = started.post("/api/begin/words", asked)
        assert state["job"]["lettering"][0]["font"] == "my-script.woff"
        started.checked()
        # the same font serves a second job
        started.post("/api/begin/words", {**asked, "text": "Eva"})
        started.checked()
    assert left(tmp_path) == {"my-script.woff", "Ana.toml", "Eva.toml"}


def _script() -> bytes:
    return font("dancing-script", "dancing-script-latin-400-normal")


def test_a_list_of_mine_is_told_about_and_used(tmp_path: Path):
    mine = (ROOT / "catalogues" / "pieces" / "pearls.toml").read_bytes()
    with bench(tmp_path) as started:
        key = handed(started, "mine.toml", mine)
        told = started.post("/api/look/catalogue", {"catalogue": key})
        assert told["count"] == sum(told["kinds"].values()) > 0
        bad = handed(started, "bad.toml", b"[nothing]")
        assert "bad.toml" in started.refused("/api/look/catalogue", {"catalogue": bad})
        assert started.refused(
            "/api/begin/drawing", {"drawing": handed(started, "a.svg", SVG), "catalogue": bad}
        )
        assert left(tmp_path) == set()
        state = begun(started, "a.svg", SVG, catalogue=key)
        assert state["job"]["catalogues"] == ["mine.toml"]
        started.checked()
    assert left(tmp_path) == {"mine.toml", "a.svg", "a.toml"}


def test_a_job_from_elsewhere_comes_with_all_it_names(tmp_path: Path):
    job, drawing = ((MOTH / f"moth.{end}").read_bytes() for end in ("toml", "svg"))
    with bench(tmp_path) as started:
        one = handed(started, "moth.toml", job)
        words = started.refused("/api/begin/brought", {"files": [one]})
        assert "moth.svg" in words
        assert left(tmp_path) == set()
        both = [one, handed(started, "moth.svg", drawing)]
        state = started.post("/api/begin/brought", {"files": both})
        assert (state["opened"], state["jobs"]) == ("moth/moth.toml", ["moth/moth.toml"])
        started.checked()
        state = started.post("/api/begin/brought", {"files": both})
        assert state["opened"] == "moth-2/moth.toml"
        assert "no job" in started.refused("/api/begin/brought", {"files": both[1:]})


@pytest.mark.parametrize("named", ["../moth.svg", "/etc/moth.svg", "a/../../moth.svg"])
def test_a_job_from_elsewhere_puts_nothing_outside_its_folder(tmp_path: Path, named: str):
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    job = (MOTH / "moth.toml").read_bytes().replace(b"moth.svg", named.encode())
    with bench(shelf) as started:
        files = [handed(started, "moth.toml", job), handed(started, "moth.svg", SVG)]
        assert "moth.svg" in started.refused("/api/begin/brought", {"files": files})
    assert left(shelf) == set()
    assert left(tmp_path) == {"shelf"}


def test_a_zip_that_is_no_bundle_is_refused(tmp_path: Path):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("a.txt", json.dumps({}))
    with bench(tmp_path) as started:
        key = handed(started, "a.zip", held.getvalue())
        assert "not a bundle" in started.refused("/api/begin/brought", {"files": [key]})
    assert left(tmp_path) == set()

"""What a kill at any moment and links laid in the way do to a maker's files: nothing."""

from __future__ import annotations

import contextlib
import json
import re
import threading
from pathlib import Path

import httpx
import pytest

from tests.workbench.serving import MOTH, bench, put_moth


@pytest.mark.parametrize("where", ["moth-made/proof.svg", "moth-made/templates", ".moth.toml.new"])
def test_no_link_leads_what_is_written_elsewhere(tmp_path: Path, where: str):
    shelf, outside = tmp_path / "shelf", tmp_path / "outside"
    shelf.mkdir()
    outside.mkdir()
    put_moth(shelf)
    precious = outside / "template-1.svg"
    precious.write_text("mine")
    link = shelf / where
    link.parent.mkdir(exist_ok=True)
    link.symlink_to(outside if where.endswith("templates") else precious)
    with bench(shelf, "moth.toml") as started:
        started.change({"do": "set", "at": ["quantity"], "value": 3})
        started.checked()
        answer = started.client.post("/api/make", json={"anyway": False, "folder": True})
    assert answer.status_code == (200 if where.endswith(".new") else 422)
    assert precious.read_text() == "mine"
    assert sorted(each.name for each in outside.iterdir()) == ["template-1.svg"]
    assert not (shelf / "moth.toml").is_symlink()
    assert "quantity = 3" in (shelf / "moth.toml").read_text()


def test_steps_are_not_written_through_a_link(tmp_path: Path):
    put_moth(tmp_path)
    precious = tmp_path / "precious.txt"
    precious.write_text("mine\n")
    (tmp_path / ".moth.toml.steps").symlink_to(precious)
    with bench(tmp_path) as started:
        assert "through a link" in started.refused("/api/open", {"job": "moth.toml"})
    assert precious.read_text() == "mine\n"


@pytest.mark.parametrize("rest_s", [0.0, 0.002, 0.006, 0.012, 0.03])
def test_killed_while_it_saves_the_job_is_whole_and_at_most_the_last_change_is_lost(
    tmp_path: Path, rest_s: float
):
    put_moth(tmp_path)
    answered = 1
    with bench(tmp_path, "moth.toml") as started:
        killer = threading.Timer(0.15 + rest_s, started.process.kill)
        killer.start()
        with contextlib.suppress(httpx.HTTPError):
            for value in range(2, 10_000):
                started.change({"do": "set", "at": ["quantity"], "value": value})
                answered = value
        started.process.wait()
        killer.join()
    text = (tmp_path / "moth.toml").read_text()
    found = re.search(r"^quantity = (\d+)$", text, re.MULTILINE)
    there = 1 if found is None else int(found[1])
    # What was answered is there; the one on its way may be.
    assert there in (answered, answered + 1)
    assert text.count("[[lay]]") == (MOTH / "moth.toml").read_text().count("[[lay]]")
    with bench(tmp_path, "moth.toml") as again:
        state = again.checked()
        assert (state["trouble"], state["job"].get("quantity", 1)) == (None, there)
        again.change({"do": "set", "at": ["revision"], "value": "Z"})
        again.post("/api/undo")
        assert again.get("/api/state")["job"].get("quantity", 1) == there
    assert not list(tmp_path.glob(".*.new"))


@pytest.mark.parametrize("rest_s", [0.05, 0.3, 0.6, 1.0])
def test_killed_while_it_makes_every_file_is_whole_and_the_next_run_puts_it_right(
    tmp_path: Path, rest_s: float
):
    put_moth(tmp_path)
    with bench(tmp_path, "moth.toml") as started:
        started.checked()
        killer = threading.Timer(rest_s, started.process.kill)
        killer.start()
        with contextlib.suppress(httpx.HTTPError):
            for _ in range(100):
                started.post("/api/make", {"anyway": False, "folder": True})
        started.process.wait()
        killer.join()
    assert (tmp_path / "moth.toml").read_bytes() == (MOTH / "moth.toml").read_bytes()
    with bench(tmp_path, "moth.toml") as again:
        again.checked()
        made = again.post("/api/make", {"anyway": False, "folder": True})
    out = tmp_path / "moth-made"
    for file in made["files"]:
        assert (out / file["name"]).stat().st_size == file["bytes"]
    listed = {each["name"] for each in json.loads((out / "made.json").read_text())["files"]}
    there = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert there == {*listed, "made.json"}

"""A job on the desk: saved as it is changed, and never at the cost of somebody else's change."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from embellish.errors import EmbellishError, JobError
from embellish.job.text.changes import Change, read_changes
from embellish.workbench.desk import OUTSIDE, Desk

JOB = """version = 1
title = "Desk"   # ours
[artwork]
file = "a.svg"
[[lay]]
id = "edge"
shapes = "#a"
way = "row"
pieces = ["A"]
gap_mm = 0.9
"""


def ask(*changes: dict[str, Any]) -> list[Change]:
    return read_changes(json.dumps({"number": 1, "changes": changes}).encode()).changes


def gap(value: float) -> list[Change]:
    return ask({"do": "set", "at": ["lay", "edge", "gap_mm"], "value": value})


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(JOB)
    return path


def test_a_change_is_on_disk_when_it_is_answered(job: Path):
    desk = Desk(job)
    desk.change(gap(1.5), "gap")
    assert "gap_mm = 1.5" in job.read_text()
    assert desk.back == "gap"
    desk.go(-1)
    assert job.read_text() == JOB
    desk.close()
    assert sorted(each.name for each in job.parent.iterdir()) == [".job.toml.steps", "job.toml"]


def test_what_the_job_would_refuse_changes_nothing(job: Path):
    desk = Desk(job)
    number = desk.number
    for wrong in (gap(-1.0), ask({"do": "set", "at": ["lay", "edge", "gap"], "value": 1})):
        with pytest.raises(JobError):
            desk.change(wrong, "wrong")
    assert job.read_text() == JOB
    assert (desk.number, desk.back) == (number, None)
    desk.close()


def test_an_edit_outside_and_a_change_here_both_stay(job: Path):
    desk = Desk(job)
    job.write_text(JOB.replace("# ours", "# theirs").replace('"Desk"', '"Other"'))
    desk.change(gap(1.5), "gap")
    text = job.read_text()
    assert "# theirs" in text
    assert "gap_mm = 1.5" in text
    desk.go(-1)
    assert desk.back == OUTSIDE
    desk.go(-1)
    assert job.read_text() == JOB
    desk.close()


def test_a_file_spoilt_outside_is_never_written_over(job: Path):
    desk = Desk(job)
    job.write_text("title = ")
    assert desk.look()
    assert desk.trouble is not None
    with pytest.raises(JobError, match="changed outside"):
        desk.change(gap(1.5), "gap")
    assert job.read_text() == "title = "
    aside = desk.put_back()
    assert job.read_text() == JOB
    assert aside is not None
    assert aside.read_text() == "title = "
    assert desk.trouble is None
    job.unlink()
    assert desk.look()
    assert desk.put_back() is None
    assert job.read_text() == JOB
    desk.close()


def test_what_is_mended_outside_is_taken_in(job: Path):
    desk = Desk(job)
    job.write_text("title = ")
    desk.look()
    job.write_text(JOB.replace("0.9", "2.0"))
    assert desk.look()
    assert desk.trouble is None
    assert "2.0" in desk.text
    assert not desk.look()
    desk.close()


def test_two_workbenches_do_not_share_a_job(job: Path):
    desk = Desk(job)
    with pytest.raises(JobError, match="another workbench"):
        Desk(job)
    desk.close()
    Desk(job).close()


def test_what_is_done_while_it_was_closed_is_a_step(job: Path):
    desk = Desk(job)
    desk.change(gap(1.5), "gap")
    desk.close()
    job.write_text(job.read_text().replace("1.5", "1.75"))
    again = Desk(job)
    assert again.back == OUTSIDE
    again.go(-1)
    assert "1.5" in job.read_text()
    again.close()


@pytest.mark.parametrize("content", [b"", b"[[lay]]", b"\xff\xfe", b"version = 1"])
def test_what_is_no_job_is_not_opened_and_nothing_is_left_beside_it(tmp_path: Path, content: bytes):
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    with pytest.raises(EmbellishError):
        Desk(path)
    assert [each.name for each in tmp_path.iterdir()] == ["job.toml"]


@pytest.mark.parametrize(
    "name",
    [
        "../secret.svg", "art/../../secret.svg", "{outside}/secret.svg", "..\\secret.svg",
        "C:\\secret.svg", "link.svg", "linked/secret.svg", "nothing\0.svg",
    ],
)  # fmt: skip
def test_a_change_names_no_file_outside_the_folder(tmp_path: Path, name: str):
    folder = tmp_path / "shelf"
    folder.mkdir()
    (tmp_path / "secret.svg").write_text("<svg/>")
    (folder / "link.svg").symlink_to(tmp_path / "secret.svg")
    (folder / "linked").symlink_to(tmp_path)
    job = folder / "job.toml"
    job.write_text(JOB)
    desk = Desk(job)
    name = name.replace("{outside}", str(tmp_path))
    art = {"do": "set", "at": ["artwork", "file"], "value": name}
    photo = {"do": "set", "at": ["background"], "value": {"file": name, "width_mm": 300.0}}
    list_of_mine = {"do": "set", "at": ["catalogues"], "value": [name]}
    for change in (art, photo, list_of_mine):
        with pytest.raises(JobError, match="files that lie in the job's folder"):
            desk.change(ask(change), "elsewhere")
    assert (job.read_text(), desk.back) == (JOB, None)
    desk.close()


def test_what_the_job_file_names_elsewhere_stays_and_what_lies_beside_may_be_named(tmp_path: Path):
    folder = tmp_path / "shelf"
    (folder / "art").mkdir(parents=True)
    job = folder / "job.toml"
    job.write_text(JOB.replace("a.svg", "../shared.svg"))
    desk = Desk(job)
    desk.change(gap(1.5), "gap")
    desk.change(ask({"do": "set", "at": ["artwork", "file"], "value": "art/b.svg"}), "drawing")
    assert 'file = "art/b.svg"' in job.read_text()
    # Undone, it is named again: that was the job file's own word.
    desk.go(-1)
    assert 'file = "../shared.svg"' in job.read_text()
    desk.close()

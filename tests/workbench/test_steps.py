"""Steps outlive a reload, a torn line, a full journal."""

from __future__ import annotations

from pathlib import Path

import pytest

from embellish.errors import OutputError
from embellish.workbench.steps import MOST_STEPS, Step, Steps


def test_undo_and_redo_after_a_reload(tmp_path: Path):
    job = tmp_path / "job.toml"
    steps = Steps(job)
    for n in range(5):
        steps.add(Step(f"step {n}", f"text {n}\n" * 100))
    assert steps.go(-1).text.startswith("text 3")
    again = Steps(job)
    assert again.now is not None
    assert (again.now.words, again.back, again.forth) == ("step 3", "step 3", "step 4")
    assert again.go(1).text.startswith("text 4")
    again.go(-1)
    again.go(-1)
    again.add(Step("other", "other text"))
    last = Steps(job)
    assert (last.now and last.now.text, last.forth) == ("other text", None)
    assert last.go(-1).text.startswith("text 2")


def test_there_is_no_step_beyond_the_first_and_last(tmp_path: Path):
    steps = Steps(tmp_path / "job.toml")
    steps.add(Step("opened", "a"))
    for by in (-1, 1):
        with pytest.raises(OutputError):
            steps.go(by)


def test_the_last_five_hundred_are_kept_and_the_file_stays_small(tmp_path: Path):
    job = tmp_path / "job.toml"
    steps = Steps(job)
    for n in range(1300):
        steps.add(Step(f"{n}", f"text {n}"))
        if n % 7 == 0 and steps.back:
            steps.go(-1)
            steps.go(1)
    lines = job.with_name(".job.toml.steps").read_bytes().splitlines()
    assert len(lines) < 2 * MOST_STEPS
    again = Steps(job)
    count = 0
    while again.back is not None:
        again.go(-1)
        count += 1
    assert count == MOST_STEPS - 1
    assert again.now is not None
    assert again.now.text == f"text {1300 - MOST_STEPS}"


@pytest.mark.parametrize("cut", range(1, 120, 7))
def test_a_kill_while_a_step_was_written_costs_that_step_alone(tmp_path: Path, cut: int):
    job = tmp_path / "job.toml"
    steps = Steps(job)
    for n in range(4):
        steps.add(Step(f"{n}", f"text {n}"))
    file = job.with_name(".job.toml.steps")
    whole = file.read_bytes()
    last = len(whole.splitlines(keepends=True)[-1])
    file.write_bytes(whole[: -min(cut, last - 1)])
    again = Steps(job)
    assert again.now is not None
    assert again.now.text == "text 2"
    again.add(Step("3 again", "text 3"))
    once_more = Steps(job).now
    assert once_more is not None
    assert once_more.text == "text 3"


def test_lines_that_are_spoilt_are_passed_over(tmp_path: Path):
    job = tmp_path / "job.toml"
    steps = Steps(job)
    steps.add(Step("0", "text 0"))
    steps.add(Step("1", "text 1"))
    file = job.with_name(".job.toml.steps")
    file.write_bytes(file.read_bytes() + b'junk\n{"z": 3}\n[]\n{"at": "x"}\n\xff\n')
    again = Steps(job)
    assert again.now is not None
    assert again.now.text == "text 1"

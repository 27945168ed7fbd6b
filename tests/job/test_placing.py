"""A folder of outputs holds whole files of one run, whatever happens."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from embellish.errors import OutputError
from embellish.job.placing import place


def made(out: Path) -> dict[str, str]:
    return {
        entry["name"]: entry["sha256"]
        for entry in json.loads((out / "made.json").read_text())["files"]
    }


def visible(out: Path) -> set[str]:
    return {
        path.relative_to(out).as_posix()
        for path in out.rglob("*")
        if path.is_file() and not path.relative_to(out).as_posix().startswith(".")
    }


def test_made_names_every_file_with_its_hash(tmp_path: Path):
    place({"a.txt": b"one", "marks/m.dst": b"two"}, tmp_path / "out")
    assert visible(tmp_path / "out") == {"a.txt", "marks/m.dst", "made.json"}
    assert made(tmp_path / "out") == {
        "a.txt": hashlib.sha256(b"one").hexdigest(),
        "marks/m.dst": hashlib.sha256(b"two").hexdigest(),
    }


def test_a_file_no_longer_made_is_removed(tmp_path: Path):
    place({"a.txt": b"one", "marks/m.dst": b"two"}, tmp_path)
    place({"a.txt": b"new"}, tmp_path)
    assert visible(tmp_path) == {"a.txt", "made.json"}
    assert not (tmp_path / "marks").exists()


def test_a_stale_file_the_user_changed_stays(tmp_path: Path):
    place({"a.txt": b"one", "b.txt": b"two"}, tmp_path)
    (tmp_path / "b.txt").write_bytes(b"my notes")
    place({"a.txt": b"one"}, tmp_path)
    assert (tmp_path / "b.txt").read_bytes() == b"my notes"


@pytest.mark.parametrize("content", [b"mine", b""])
def test_a_strangers_file_in_the_way_stops_everything(tmp_path: Path, content: bytes):
    (tmp_path / "b.txt").write_bytes(content)
    with pytest.raises(OutputError, match=r"b\.txt.*in the way.*--out"):
        place({"a.txt": b"one", "b.txt": b"two"}, tmp_path)
    assert visible(tmp_path) == {"b.txt"}
    assert (tmp_path / "b.txt").read_bytes() == content


def test_a_changed_file_is_not_overwritten(tmp_path: Path):
    place({"a.txt": b"one"}, tmp_path)
    (tmp_path / "a.txt").write_bytes(b"my edit")
    with pytest.raises(OutputError, match="changed since it was made"):
        place({"a.txt": b"two"}, tmp_path)
    assert (tmp_path / "a.txt").read_bytes() == b"my edit"


def test_a_folder_in_the_way_is_told(tmp_path: Path):
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(OutputError, match="not a plain file"):
        place({"a.txt": b"one"}, tmp_path)


def test_a_link_is_never_followed(tmp_path: Path):
    (tmp_path / "treasure").write_bytes(b"keep")
    out = tmp_path / "out"
    out.mkdir()
    (out / "a.txt").symlink_to(tmp_path / "treasure")
    with pytest.raises(OutputError, match="not a plain file"):
        place({"a.txt": b"one"}, out)
    assert (tmp_path / "treasure").read_bytes() == b"keep"


@pytest.mark.parametrize("text", ["not json", "[]", '{"files": [{"name": 1}]}'])
def test_a_made_json_of_somebody_else_is_refused(tmp_path: Path, text: str):
    (tmp_path / "made.json").write_text(text)
    with pytest.raises(OutputError, match=r"made\.json"):
        place({"a.txt": b"one"}, tmp_path)
    assert visible(tmp_path) == {"made.json"}


def test_the_out_folder_is_a_file(tmp_path: Path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(OutputError, match="cannot write here"):
        place({"a.txt": b"one"}, tmp_path / "out")


def test_a_second_run_waits_its_turn_and_says_so(tmp_path: Path):
    from filelock import FileLock

    with FileLock(tmp_path / ".lock"), pytest.raises(OutputError, match="another run"):
        place({"a.txt": b"one"}, tmp_path, wait_s=0.1)


KILLED = """
import sys
from pathlib import Path
from embellish.job.placing import place
out = Path(sys.argv[1])
n = 0
while True:
    n += 1
    place({f"f{i}.txt": (f"run {n} file {i} " * 50).encode() for i in range(20)}, out)
    print(n, flush=True)
"""


@pytest.mark.slow
def test_killed_at_any_moment_every_file_is_whole_and_the_next_run_works(tmp_path: Path):
    out = tmp_path / "out"
    for attempt in range(12):
        child = subprocess.Popen(
            [sys.executable, "-c", KILLED, str(out)], stdout=subprocess.PIPE, text=True
        )
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(0.003 * attempt)
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        child.stdout.close()
        for name in visible(out) - {"made.json"}:
            words = (out / name).read_text().split("file")
            assert len(words) == 51, name
        place({"final.txt": b"done"}, out)
        assert visible(out) == {"final.txt", "made.json"}

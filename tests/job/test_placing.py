"""A folder of outputs holds whole files of one run, whatever happens."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from embellish.errors import OutputError
from embellish.job.placing import change_file, create_file, place, replace_file

ROOT = Path(__file__).parents[2]


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


@pytest.mark.parametrize("mode", ["die", "stop", "kill", "refuse", "single", "together"])
@pytest.mark.skipif(
    not hasattr(os, "fork"), reason="this system has no fork to kill by the hundred"
)
def test_nothing_is_half_written_whatever_happens_at_any_step(mode: str, tmp_path: Path):
    tried = subprocess.run(
        [sys.executable, "-m", "tests.job.crashes", mode, tmp_path],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert tried.returncode == 0, tried.stderr[-2000:]
    assert int(tried.stdout) >= 100


def _refused(command: list[str]) -> bool:
    return subprocess.run(command, check=False, capture_output=True).returncode != 0


@contextlib.contextmanager
def mounted(folder: Path, *options: str) -> Iterator[None]:
    """A disk in memory, where the system lets the tests have one."""
    folder.mkdir(exist_ok=True)
    mount = ["mount", "-t", "tmpfs", *options, "tmpfs", str(folder)]
    if shutil.which("mount") is None or _refused(mount):
        pytest.skip("only root may mount the small disk that this test fills")
    try:
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_disk_that_is_full_keeps_what_it_had(tmp_path: Path):
    with mounted(tmp_path / "disk", "-o", "size=256k"):
        out, large = tmp_path / "disk" / "out", os.urandom(300_000)
        with pytest.raises(OutputError, match=r"No space left.*Free some space"):
            place({"a.txt": large}, out)
        assert not out.exists()
        place({"a.txt": b"one" * 100, "b/c.txt": b"two"}, out)
        before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
        writes: list[Callable[[], None]] = [
            lambda: place({"a.txt": large}, out),
            lambda: replace_file(out / "a.txt", large),
            lambda: create_file(out / "new" / "n.txt", large, "Name another."),
        ]
        for write in writes:
            with pytest.raises(OutputError, match="No space left"):
                write()
            after = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
            assert after == before
            assert not (out / "new").exists()
        place({"a.txt": b"new"}, out)
        assert visible(out) == {"a.txt", "made.json"}


def test_a_disk_that_may_only_be_read_is_told(tmp_path: Path):
    out = tmp_path / "disk" / "out"
    with mounted(tmp_path / "disk"):
        place({"a.txt": b"one"}, out)
        subprocess.run(["mount", "-o", "remount,ro", str(tmp_path / "disk")], check=True)
        for folder in (out, tmp_path / "disk" / "other"):
            with pytest.raises(OutputError, match=r"Read-only.*--out"):
                place({"a.txt": b"two"}, folder)
        with pytest.raises(OutputError, match="Read-only"):
            replace_file(out / "a.txt", b"two")
        assert (out / "a.txt").read_bytes() == b"one"
        assert not (tmp_path / "disk" / "other").exists()


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere"
)
def test_a_folder_one_may_not_write_to_is_told(tmp_path: Path):
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(OutputError, match=r"Permission denied.*--out"):
            place({"a.txt": b"two"}, tmp_path / "out")
    finally:
        tmp_path.chmod(0o700)


def test_no_lock_and_no_folder_stays_behind(tmp_path: Path):
    place({"a.txt": b"one"}, tmp_path / "out")
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"a.txt", "made.json"}
    (tmp_path / "out" / "a.txt").write_bytes(b"my edit")
    with pytest.raises(OutputError):
        place({"a.txt": b"two"}, tmp_path / "out")
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"a.txt", "made.json"}
    # A name that no folder can hold: the disk refuses once the folder has been made.
    with pytest.raises(OutputError):
        place({"x" * 300: b"two"}, tmp_path / "above" / "below")
    assert not (tmp_path / "above").exists()


def test_a_file_is_made_only_where_there_is_none(tmp_path: Path):
    create_file(tmp_path / "sub" / "j.toml", b"one", "Name another.")
    with pytest.raises(OutputError, match=r"j\.toml.*file of this name.*Name another"):
        create_file(tmp_path / "sub" / "j.toml", b"two", "Name another.")
    assert {path.name: path.read_bytes() for path in (tmp_path / "sub").iterdir()} == {
        "j.toml": b"one"
    }


def test_a_disk_without_links_makes_files_all_the_same(tmp_path: Path, monkeypatch):
    def no_links(*_: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    create_file(tmp_path / "j.toml", b"one", "Name another.")
    assert (tmp_path / "j.toml").read_bytes() == b"one"


def test_folders_of_folders_no_longer_made_go(tmp_path: Path):
    place({"S/marks/m.dst": b"one", "S/keep.txt": b"two", "M/marks/m.dst": b"one"}, tmp_path)
    place({"S/keep.txt": b"two"}, tmp_path)
    assert {path.name for path in tmp_path.rglob("*")} == {"S", "keep.txt", "made.json"}


def test_runs_that_change_a_file_at_once_lose_nothing_of_each_other(tmp_path: Path):
    path = tmp_path / "log.txt"
    code = (
        "import sys; from pathlib import Path; from embellish.job.placing import change_file\n"
        "for k in range(20): change_file(Path(sys.argv[1]),"
        " lambda there: there + f'{sys.argv[2]}{k}\\n'.encode())"
    )
    runs = [
        subprocess.Popen([sys.executable, "-c", code, str(path), each], cwd=ROOT) for each in "abc"
    ]
    assert [run.wait() for run in runs] == [0, 0, 0]
    lines = path.read_text().split()
    assert sorted(lines) == sorted(f"{each}{k}" for each in "abc" for k in range(20))
    assert list(tmp_path.iterdir()) == [path]


def test_a_change_that_cannot_be_leaves_the_file_as_it_was(tmp_path: Path):
    path = tmp_path / "log.txt"
    path.write_bytes(b"one")

    def refuse(_: bytes) -> bytes:
        raise OutputError("no", file="log.txt", mend="-")

    with pytest.raises(OutputError, match="no"):
        change_file(path, refuse)
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]


def test_nothing_is_written_through_a_link(tmp_path: Path):
    outside = tmp_path / "outside"
    outside.mkdir()
    for name in ("job.toml", "a.txt", "b.txt"):
        (outside / name).write_text("precious")
    kept = dict.fromkeys(("job.toml", "a.txt", "b.txt"), "precious")

    def there() -> dict[str, str]:
        return {path.name: path.read_text() for path in outside.iterdir()}

    job = tmp_path / "job.toml"
    job.write_text("old")
    (tmp_path / ".job.toml.new").symlink_to(outside / "job.toml")
    replace_file(job, b"new")
    assert (job.read_bytes(), job.is_symlink(), there()) == (b"new", False, kept)

    out = tmp_path / "made"
    out.mkdir()
    (out / ".building").symlink_to(outside)
    place({"a.txt": b"a"}, out)
    assert (out / "a.txt").read_bytes() == b"a"
    assert there() == kept

    (out / "sub").symlink_to(outside)
    with pytest.raises(OutputError, match="a link to another"):
        place({"a.txt": b"a", "sub/deep/b.txt": b"b"}, out)
    with pytest.raises(OutputError, match="a link to another"):
        place({"a.txt": b"a", "sub/b.txt": b"b"}, out)
    assert there() == kept

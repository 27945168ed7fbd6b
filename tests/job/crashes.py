"""What can go wrong with a disk or a run, tried at every step of the writing; run as a program.

    python -m tests.job.crashes die FOLDER

It stands apart from pytest because it forks and kills by the hundred, and a fork is cheap only
where nothing large is loaded. Every mode ends with exit 0 and the number of cases tried, or with
the assertion that failed.

A *step* is one call that asks something of the disk: making, opening, writing, syncing, renaming,
linking or removing a file or folder. Steps are counted as they come, so that each of them can be
made to fail in turn until a whole run passes without meeting the fault.
"""

from __future__ import annotations

import builtins
import contextlib
import errno
import io
import json
import os
import random
import shutil
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Self

from embellish.errors import OutputError
from embellish.job.disk import held
from embellish.job.placing import create_file, place, replace_file

Files = dict[str, bytes]
Fault = Callable[[int, str], None]
"""Told the number and name of a step before it is taken; may raise, die or press Ctrl-C."""

STEPS = ("mkdir", "open", "fsync", "replace", "rename", "link", "unlink", "rmdir")
TAKES_SPACE = {"mkdir", "open for writing", "write", "fsync", "link"}

OLD: Files = {
    "same.json": b"the same in both runs" * 40,
    "changed.csv": b"what the first run made" * 40,
    "gone/away.dst": b"only the first run makes this" * 40,
}
NEW: Files = {
    "same.json": OLD["same.json"],
    "changed.csv": b"what the second run makes instead" * 40,
    "fresh/deep/new.svg": b"only the second run makes this" * 40,
}
NOTES = b"the user's own notes"


@contextlib.contextmanager
def met(fault: Fault) -> Iterator[list[str]]:
    """Have every step meet the fault first; gives the list of steps taken."""
    taken: list[str] = []

    def step(name: str) -> None:
        taken.append(name)
        fault(len(taken), name)

    def watched(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            writes = name == "open" and args[1] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
            step("open for writing" if writes else name)
            return real(*args, **kwargs)

        return call

    real_open = io.open

    def open_file(file: Any, mode: str = "r", *args: Any, **kwargs: Any) -> Any:
        if not set(mode) & set("wxa"):
            return real_open(file, mode, *args, **kwargs)
        step("open for writing")
        return _Written(real_open(file, mode, *args, **kwargs), step)

    kept = {name: getattr(os, name) for name in STEPS}
    for name, real in kept.items():
        setattr(os, name, watched(name, real))
    io.open = builtins.open = open_file
    try:
        yield taken
    finally:
        for name, real in kept.items():
            setattr(os, name, real)
        io.open = builtins.open = real_open


class _Written:
    """A file of which half stands when a write fails, as on a disk that fills."""

    def __init__(self, file: Any, step: Callable[[str], None]) -> None:
        self._file, self._step = file, step

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, content: bytes) -> int:
        self._file.write(content[: len(content) // 2])
        self._file.flush()
        self._step("write")
        self._file.write(content[len(content) // 2 :])
        return len(content)


def refused(number: int, *, of: set[str] | None, again: bool, code: int) -> Fault:
    """A disk that refuses one step, or all from there on, or all of some kinds."""

    def fault(now: int, name: str) -> None:
        meant = now >= number if again else now == number
        if meant and (of is None or name in of):
            raise OSError(code, os.strerror(code))

    return fault


REFUSALS: dict[str, Callable[[int], Fault]] = {
    "one step fails": lambda number: refused(number, of=None, again=False, code=errno.EIO),
    "the disk is full": lambda number: refused(
        number, of=TAKES_SPACE, again=True, code=errno.ENOSPC
    ),
    "the disk turns read-only": lambda number: refused(
        number, of=None, again=True, code=errno.EROFS
    ),
}


def tree(folder: Path) -> dict[str, bytes | None]:
    """Every file with its content, and every folder, that stands in a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


def shown(files: Mapping[str, bytes | None]) -> Files:
    """The files among them that are not our own scaffolding."""
    return {
        name: content
        for name, content in files.items()
        if content is not None and not name.startswith(".")
    }


def settled(folder: Path, files: Files, notes: bool) -> bool:
    """Whether a folder holds one run and nothing else but the user's notes."""
    found = tree(folder)
    names = {name for name, content in found.items() if content is not None}
    wanted = {**files, **({"notes.txt": NOTES} if notes else {})}
    if not found or names != {*wanted, "made.json"}:
        return False
    made = {entry["name"] for entry in json.loads(found["made.json"] or b"")["files"]}
    folders = {name for name, content in found.items() if content is None}
    needed = {str(Path(name).parent) for name in names} | {
        str(parent) for name in names for parent in Path(name).parents
    }
    return made == set(files) and folders <= needed and all(found[n] == wanted[n] for n in wanted)


def start(folder: Path, first: bool) -> dict[str, bytes | None]:
    """Bring a folder to where a second run begins, or to nothing where it is the first run."""
    shutil.rmtree(folder, ignore_errors=True)
    if not first:
        place(OLD, folder)
        (folder / "notes.txt").write_bytes(NOTES)
        return tree(folder)
    return {}


def check_whole(folder: Path, before: Mapping[str, bytes | None], case: str) -> None:
    """Every file is the old one or the new one; nothing of the user's, or of both runs, is lost."""
    found = shown(tree(folder)) if folder.exists() else {}
    for name, content in found.items():
        if name != "made.json":
            assert content in (before.get(name), NEW.get(name)), f"{case}: {name} is neither"
    lost = {name for name in shown(before) if name not in found} - set(OLD)
    assert not lost, f"{case}: lost {lost}"
    assert set(OLD) & set(NEW) & set(before) <= set(found), f"{case}: lost what both runs make"
    if found.get("made.json") not in (None, before.get("made.json")):
        assert settled_files(found) == NEW, f"{case}: made.json speaks of what is not there"
    elif folder.exists() and not (folder / ".placing.json").exists():
        same = {name: content for name, content in found.items() if name != "made.json"}
        old = {name: content for name, content in shown(before).items() if name != "made.json"}
        assert same == old, f"{case}: changed without a word"


def settled_files(found: Files) -> Files:
    """The files that made.json names."""
    return {
        entry["name"]: found[entry["name"]] for entry in json.loads(found["made.json"])["files"]
    }


def check_mended(folder: Path, first: bool, case: str) -> None:
    """The same command once more puts everything right, and leaves no scaffolding."""
    place(NEW, folder)
    assert settled(folder, NEW, notes=not first), f"{case}: not mended: {list(tree(folder))}"


def every_step(try_one: Callable[[int], bool]) -> int:
    """Try the fault at every step until a run passes without meeting it; return how many."""
    number = 1
    while try_one(number):
        number += 1
    assert number > 10, "too few steps were met: are they still watched?"
    return number - 1


def refuse(root: Path) -> int:
    """A disk that refuses, at every step and in every manner."""
    tried = 0
    for words, fault in REFUSALS.items():
        for first in (True, False):

            def one(
                number: int, words: str = words, fault: Any = fault, first: bool = first
            ) -> bool:
                folder = root / "above" / "out"
                case = f"{words} at step {number}, first run: {first}"
                shutil.rmtree(root / "above", ignore_errors=True)
                before = start(folder, first)
                said = ""
                with met(fault(number)) as taken:
                    try:
                        place(NEW, folder)
                    except OutputError as wrong:
                        said = str(wrong)
                check_whole(folder, before, case)
                cut_short = "once more" in said
                if said and words in ("one step fails", "the disk is full") and not cut_short:
                    # One step of tidying may be the one that failed.
                    tidied = words == "the disk is full" or taken[number - 1] not in (
                        "unlink",
                        "rmdir",
                    )
                    left = tree(folder) if folder.exists() else {}
                    assert not tidied or left == before, f"{case}: {said} but it left {list(left)}"
                    assert not tidied or not first or not folder.parent.exists(), case
                if not said:
                    assert settled_files(shown(tree(folder))) == NEW, f"{case}: not made, not told"
                if len(taken) < number or taken[number - 1] != "rmdir" or words != "one step fails":
                    check_mended(folder, first, case)  # an empty folder may stay otherwise
                return len(taken) >= number

            tried += every_step(one)
    return tried


def in_a_child(work: Callable[[], None]) -> int:
    """Start a child for some work; it never returns into ours."""
    child = os.fork()
    if child:
        return child
    try:
        work()
    except KeyboardInterrupt:
        os._exit(130)
    except BaseException:  # noqa: BLE001 - told, and told by the exit code
        traceback.print_exc()
        os._exit(99)
    os._exit(0)


def die(root: Path) -> int:
    """A run that dies at every step, its tidying undone."""
    tried = 0
    for first in (True, False):

        def one(number: int, first: bool = first) -> bool:
            folder, case = root / "out", f"died at step {number}, first run: {first}"
            before = start(folder, first)

            def fault(now: int, _name: str) -> None:
                if now == number:
                    os._exit(77)

            def work() -> None:
                with met(fault):
                    place(NEW, folder)

            code = os.waitstatus_to_exitcode(os.waitpid(in_a_child(work), 0)[1])
            assert code in (0, 77), case
            check_whole(folder, before, case)
            check_mended(folder, first, case)
            return code == 77

        tried += every_step(one)
    return tried


def stop(root: Path) -> int:
    """Ctrl-C at every step: all of the old run or all of the new, and no scaffolding."""
    tried = 0
    for first in (True, False):

        def one(number: int, first: bool = first) -> bool:
            folder, case = root / "out", f"stopped at step {number}, first run: {first}"
            before = start(folder, first)
            pressed = []

            def fault(now: int, _name: str) -> None:
                if now == number:
                    pressed.append(now)
                    os.kill(os.getpid(), signal.SIGINT)

            words = None
            try:
                with met(fault):
                    place(NEW, folder)
            except KeyboardInterrupt as stopped:
                words = str(stopped)
            after = tree(folder) if folder.exists() else {}
            if words == "":
                assert after == before, f"{case}: nothing was to be changed, but {list(after)}"
                assert folder.exists() != first, f"{case}: a folder was made or lost"
            else:
                assert settled(folder, NEW, notes=not first), f"{case}: {list(after)}"
                assert (words is not None) == bool(pressed), case
            return bool(pressed)

        tried += every_step(one)
    return tried


def kill(root: Path, times: int = 300) -> int:
    """Hundreds of kills at random moments of runs that follow one another without a pause."""
    folder = root / "out"
    chance = random.Random(20)  # noqa: S311 - not a secret
    names = [f"{kind}/{i}.txt" for kind in ("a", "b") for i in range(3)]

    def run(number: int) -> Files:
        # Every other run makes fewer files, so that removing is killed as well.
        chosen = names if number % 2 else names[:4]
        return {name: f"run {number} of {name}. ".encode() * 200 for name in chosen}

    place(run(1), folder)
    (folder / "notes.txt").write_bytes(NOTES)
    for attempt in range(times):

        def work(number: int = attempt * 1000) -> None:
            while True:
                number += 1
                place(run(number), folder)

        child = in_a_child(work)
        time.sleep(chance.uniform(0.0, 0.008))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        found = shown(tree(folder))
        assert found.pop("notes.txt") == NOTES
        listed = json.loads(found.pop("made.json"))["files"]
        assert set(names[:4]) <= set(found), f"kill {attempt}: lost {set(names[:4]) - set(found)}"
        assert {entry["name"] for entry in listed} <= set(names)
        for name, content in found.items():
            number = int(content.split(b" ")[1])
            assert content == run(number)[name], f"kill {attempt}: {name} is not whole"
        if attempt % 10 == 0:
            place(NEW, folder)
            assert settled(folder, NEW, notes=True), f"kill {attempt}: {list(tree(folder))}"
            place(run(attempt * 1000 + 1), folder)
    return times


def together(root: Path, runs: int = 4, times: int = 40) -> int:
    """Several runs at once into one folder, which some of them find and some make."""
    folder, inside = root / "above" / "out", root / "inside"
    files = [
        {f"{who}.txt": b"x" * 999, "shared.txt": f"{who}".encode() * 999} for who in range(runs)
    ]

    def work(who: int) -> None:
        busy = OutputError("busy")
        for turn in range(times):
            if turn < times // 2:
                # A refused run takes away the folder it made, while others want it.
                with met(refused(1, of={"write"}, again=True, code=errno.ENOSPC)):
                    try:
                        place(files[who], folder)
                    except OutputError as wrong:
                        assert "No space left" in str(wrong), wrong  # noqa: PT017 - no pytest here
                continue
            place(files[who], folder)
            with held(root / "gate", 60.0, busy):
                os.close(os.open(inside, os.O_CREAT | os.O_EXCL))  # fails if another is inside
                inside.unlink()

    children = [in_a_child(lambda who=who: work(who)) for who in range(runs)]  # type: ignore[misc]
    for child in children:
        assert os.waitpid(child, 0)[1] == 0, "a run was disturbed by another"
    assert any(settled(folder, each, notes=False) for each in files), list(tree(folder))
    assert not (root / "gate").exists()
    return runs * times


def single(root: Path) -> int:
    """One file replaced or made: refused, stopped and dying at every step."""
    tried = 0
    old, new = b"what stood there" * 99, b"what comes instead" * 99
    path = root / "deep" / "job.kept.toml"
    writers: tuple[tuple[str, Callable[[], None], bytes | None], ...] = (
        ("replaced", lambda: replace_file(path, new), old),
        ("replaced, first", lambda: replace_file(path, new), None),
        ("made", lambda: create_file(path, new, "Name another."), None),
    )
    for words, write, before in writers:
        for manner in ("die", *REFUSALS):

            def one(
                number: int,
                words: str = words,
                write: Callable[[], None] = write,
                before: bytes | None = before,
                manner: str = manner,
            ) -> bool:
                case = f"{words}, {manner} at step {number}"
                shutil.rmtree(root / "deep", ignore_errors=True)
                if before is not None:
                    path.parent.mkdir(parents=True)
                    path.write_bytes(before)
                reached, said = True, False
                if manner == "die":

                    def fault(now: int, _name: str) -> None:
                        if now == number:
                            os._exit(77)

                    def work() -> None:
                        with met(fault):
                            write()

                    code = os.waitstatus_to_exitcode(os.waitpid(in_a_child(work), 0)[1])
                    assert code in (0, 77), case
                    reached = code == 77
                else:
                    with met(REFUSALS[manner](number)) as taken:
                        try:
                            write()
                        except OutputError:
                            said = True
                    reached = len(taken) >= number
                    if said and manner == "the disk is full":
                        left = tree(root / "deep") if (root / "deep").exists() else {}
                        assert left == ({} if before is None else {path.name: before}), case
                found = path.read_bytes() if path.exists() else None
                assert found in (before, new), f"{case}: neither the old file nor the new one"
                assert before is None or found is not None, f"{case}: lost"
                if found is None or before is not None:
                    write()
                else:
                    replace_file(path, new)
                assert tree(root / "deep") == {path.name: new}, f"{case}: {list(tree(root))}"
                return reached

            number = 1
            while one(number):
                number += 1
            assert number > 5, "too few steps were met: are they still watched?"
            tried += number - 1
    return tried


MODES: dict[str, Callable[[Path], int]] = {
    "refuse": refuse,
    "die": die,
    "stop": stop,
    "kill": kill,
    "together": together,
    "single": single,
}

if __name__ == "__main__":
    # The system keeps what a killed process wrote; only a power cut asks for the true call, which
    # costs milliseconds a time.
    os.fsync = lambda fd: None  # noqa: ARG005 - named as the true one names it
    sys.stdout.write(f"{MODES[sys.argv[1]](Path(sys.argv[2]))}\n")

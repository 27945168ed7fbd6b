"""What commands tell while they work: a line on a terminal, after a second, and nowhere else."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from embellish.cli import telling
from embellish.cli.telling import ProgressLine
from tests.cli.running import ROOT
from tests.cli.test_ending import FIELD, JOB


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True

    def screens(self) -> list[str]:
        """What stood in the line, one after the other."""
        return self.getvalue().split("\r\x1b[K")[1:]


@pytest.fixture
def terminal(monkeypatch) -> Terminal:
    monkeypatch.setattr(telling, "QUIET_S", 0.02)
    monkeypatch.setattr(telling, "REDRAW_S", 0.005)
    return Terminal()


def shown(terminal: Terminal, words: str) -> None:
    """Wait for words to stand in the line."""
    given_up = time.monotonic() + 10.0
    while words not in terminal.getvalue():
        assert time.monotonic() < given_up, terminal.getvalue()
        time.sleep(0.002)


def test_long_work_names_the_stage_and_the_share(terminal: Terminal):
    with ProgressLine(terminal) as progress:
        tell = progress.stage("laying wing fill")
        shown(terminal, "laying wing fill, 0 s")
        tell(0.451)
        shown(terminal, "laying wing fill: 45%, ")
        tell(0.3)  # another try: what was told is not taken back
        tell(7.0)
        shown(terminal, "laying wing fill: 100%, ")
        assert not any(": 30%" in screen for screen in terminal.screens())
        progress.stage("checking")
        shown(terminal, "checking, ")
    assert terminal.screens()[-1] == ""


def test_the_line_goes_however_the_work_ends(terminal: Terminal):
    def work() -> None:
        with ProgressLine(terminal) as progress:
            progress.stage("laying")
            shown(terminal, "laying")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        work()
    assert terminal.screens()[-1] == ""


def test_a_narrow_terminal_keeps_one_line(terminal: Terminal, monkeypatch):
    monkeypatch.setenv("COLUMNS", "20")
    with ProgressLine(terminal) as progress:
        progress.stage("laying a lay with quite a long name")
        shown(terminal, "laying a lay")
    assert max(map(len, terminal.screens())) == 19


def test_short_work_and_pipes_show_nothing(terminal: Terminal, monkeypatch):
    monkeypatch.setattr(telling, "QUIET_S", 1.0)
    with ProgressLine(terminal) as progress:
        progress.stage("laying")(0.5)
    assert terminal.getvalue() == ""
    monkeypatch.setattr(telling, "QUIET_S", 0.01)
    pipe = io.StringIO()
    with ProgressLine(pipe) as progress:
        progress.stage("laying")(0.5)
        time.sleep(0.05)
    assert pipe.getvalue() == ""


@pytest.mark.skipif(os.name == "nt", reason="there is no pseudo-terminal there")
def test_a_command_on_a_terminal_shows_how_far_it_has_come(tmp_path: Path):
    import pty

    (tmp_path / "field.svg").write_text(FIELD.replace("300", "900"))
    (tmp_path / "field.toml").write_text(JOB)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "embellish", "check", "field.toml"]
    child = subprocess.Popen(
        command,
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=theirs,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "60"},
    )
    os.close(theirs)
    seen = ""
    wanted = r"\r\x1b\[Klaying fill(: \d+%)?, \d+ s"
    # Until it has told, or ended without: then reading its terminal is an error.
    while not re.search(wanted, seen):
        try:
            seen += os.read(ours, 4096).decode()
        except OSError:
            break
    child.kill()
    told, _ = child.communicate()
    os.close(ours)
    assert re.search(wanted, seen), seen
    assert told == b""

"""How commands end: errors as a sentence and as JSON, exit codes, Ctrl-C."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from embellish.cli import ending
from tests.cli.running import ROOT, embellish, embellish_apart
from tests.cli.test_help import below, commands

BAD = {
    "make": ["nowhere.toml", "--out", "made"],
    "sizes": ["nowhere.toml", "--out", "made"],
    "trial": ["nowhere.toml", "--out", "made"],
    "nest": ["nowhere.toml", "--out", "made"],
    "check": ["nowhere.toml"],
    "count": ["nowhere.toml"],
    "freeze": ["nowhere.toml"],
    "proof": ["nowhere.toml", "--picture", "p.svg"],
    "look": ["nowhere.svg"],
    "new": ["nowhere.svg"],
    "catalogue list": ["nowhere.toml"],
    "catalogue show": ["NO-SUCH-PIECE"],
    "catalogue find": ["--near", "no such colour"],
    "catalogue check": ["nowhere.toml"],
    "catalogue instead": ["NO-SUCH-PIECE"],
    "catalogue import": ["nowhere.csv", "--out", "new.toml"],
    "catalogue export": ["nowhere.toml", "--out", "new.csv"],
    "compare": ["nowhere.toml", "nowhere.toml"],
    "fit": ["nowhere.toml", "--count", "5"],
    "rough": ["NO-SUCH", "--size", "9x9"],
    "names": ["nowhere.toml", "nowhere.csv", "--out", "made"],
    "bench": ["nowhere.toml", "--no-open"],
    "stock show": ["nowhere.csv"],
    "stock log": ["nowhere.csv"],
    "stock add": ["nowhere.csv", "A"],
    "stock count": ["nowhere.csv", "", "5"],
    "stock use": ["nowhere.toml"],
    "stock undo": ["nowhere.csv"],
    "log add": ["nowhere.toml", "nowhere.toml", "--setting-minutes", "5"],
    "log show": ["nowhere.csv"],
    "log undo": ["nowhere.csv"],
    "log rates": ["nowhere.csv"],
    "deliver": ["nowhere.toml", "--date", "2026-11-20"],
    "again": ["nowhere.toml", "--garments", "1", "--out", "made"],
    "bundle": ["nowhere.toml"],
    "unbundle": ["nowhere.zip", "--out", "opened"],
}
"""For each command, words with which it must be refused."""

LEAVES = [command for command in commands() if not below(command)]


@pytest.mark.parametrize("command", LEAVES)
def test_every_command_tells_its_errors_as_json_too(command: str, tmp_path: Path):
    assert command in BAD, f"say in BAD how '{command}' is refused"
    done = embellish(*command.split(), *BAD[command], "--json", cwd=tmp_path)
    assert done.returncode == 2, done.stderr
    error = json.loads(done.stdout)["error"]
    assert set(error) == {"file", "item", "message", "mend"}
    words = " ".join(filter(None, error.values()))
    assert BAD[command][0] in words
    assert error["mend"], words
    assert error["message"].rstrip(".") in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not list(tmp_path.iterdir())
    plain = embellish(*command.split(), *BAD[command], cwd=tmp_path)
    assert (plain.returncode, plain.stdout, plain.stderr) == (2, "", done.stderr)


@pytest.mark.parametrize("command", LEAVES)
def test_every_command_tells_an_unknown_option_in_one_sentence(command: str):
    done = embellish(*command.split(), *BAD[command], "--no-such-thing")
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr == (
        f"embellish {command}: there is no option --no-such-thing."
        f" See: embellish {command} --help\n"
    )


USAGE = {
    "maek": "embellish: there is no command 'maek'. Is 'make' meant? See: embellish --help",
    "catalogue lsit": "embellish catalogue: there is no command 'lsit'. Is 'list' meant?"
    " See: embellish catalogue --help",
    "check a.toml --jsno": "embellish check: there is no option --jsno. Is --json meant?"
    " See: embellish check --help",
    "check": "embellish check: 'job' is missing. See: embellish check --help",
    "make a.toml": "embellish make: the option --out is missing. See: embellish make --help",
    "make a.toml --out": "embellish: the option --out needs a value after it."
    " See: embellish --help",
    "check a.toml b.toml": "embellish check: there is no place for 'b.toml'."
    " See: embellish check --help",
    "look a.svg --width-mm wide": "embellish look: --width-mm: a number is wanted here, such as"
    " 120. See: embellish look --help",
}


@pytest.mark.parametrize("words", USAGE)
def test_a_command_line_that_makes_no_sense_is_one_sentence(words: str):
    done = embellish(*words.split())
    assert (done.returncode, done.stdout, done.stderr) == (2, "", USAGE[words] + "\n")
    asked = embellish(*words.split(), "--json")
    if words.endswith("--out"):  # it took --json for the folder, and then misses nothing
        return
    assert asked.returncode == 2
    assert json.loads(asked.stdout)["error"]["message"] in USAGE[words]


@pytest.mark.parametrize("words", ["", "catalogue"])
def test_no_command_shows_the_help(words: str):
    done = embellish(*words.split())
    assert done.returncode == 2
    assert "Commands:" in done.stderr


def test_a_fault_of_ours_is_told_as_ours(monkeypatch, capsys):
    def app(**_: object) -> None:
        raise RuntimeError("the wheel fell off")

    monkeypatch.setattr(sys, "argv", ["embellish", "check", "--json"])
    with pytest.raises(SystemExit) as ended:
        ending.run_to_the_end(app)
    told = capsys.readouterr()
    assert ended.value.code == 3
    assert "Traceback" in told.err
    assert "a fault of embellish, not of your files" in told.err.splitlines()[-1]
    assert "the wheel fell off" in json.loads(told.out)["error"]["message"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no disk always full")
@pytest.mark.parametrize("words", ["--version", "catalogue list", "catalogue list --json"])
def test_an_output_that_cannot_be_written_is_told(words: str):
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "embellish", *words.split()],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
    assert done.returncode == 2
    assert done.stderr == "embellish: cannot write to the output: No space left on device.\n"


def test_a_terminal_that_lacks_letters_is_no_fault():
    plain = embellish_apart("catalogue", "list", PYTHONIOENCODING="ascii")
    assert (plain.returncode, plain.stderr) == (0, "")
    assert "2.8 ? 2.8" in plain.stdout
    facts = embellish_apart("catalogue", "list", "--find", "Ø", "--json", PYTHONIOENCODING="ascii")
    assert json.loads(facts.stdout) == []


@pytest.mark.parametrize("command", ["make", "sizes"])
def test_a_missing_library_is_told_before_the_work(command: str, field: Path, monkeypatch):
    more = '[template]\nformats = ["svg", "dxf"]\n[[size]]\nname = "S"\npercent = 80\n'
    (field / "field.toml").write_text(JOB + more)
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    monkeypatch.setattr("embellish.job.making.check_job", None)
    done = embellish(command, "field.toml", "--out", "made", cwd=field)
    assert done.returncode == 2, done.stderr
    assert re.search(r"ezdxf, which is not installed.* -m pip install 'ezdxf>=", done.stderr)
    assert not (field / "made").exists()


INTERRUPTED = """
import os, signal, sys, threading, time
def press():
    time.sleep(float(sys.argv.pop(1)))
    os.kill(os.getpid(), signal.SIGINT)
from embellish.__main__ import main
threading.Thread(target=press, daemon=True).start()
main()
"""

JOB = """version = 1
title = "Field"
catalogues = ["shipped:stones"]
[artwork]
file = "field.svg"
[[lay]]
id = "fill"
shapes = "#field"
way = "scatter"
density = 0.7
pieces = ["R-SS6-CLEAR"]
gap_mm = 0.5
"""

FIELD = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm"
viewBox="0 0 300 300"><rect id="field" width="300" height="300"/></svg>"""


@pytest.fixture
def field(tmp_path: Path) -> Path:
    """A job that takes many seconds."""
    (tmp_path / "field.svg").write_text(FIELD)
    (tmp_path / "field.toml").write_text(JOB)
    return tmp_path


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent in another way there")
@pytest.mark.parametrize("after_s", [0.02, 0.05, 0.1, 0.2, 0.5, 1.5])
def test_ctrl_c_is_one_sentence_and_nothing_is_written(field: Path, after_s: float):
    before = {path.name for path in field.iterdir()}
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED, str(after_s), "make", "field.toml", "--out", "made"],
        capture_output=True,
        text=True,
        check=False,
        cwd=field,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.stderr == "embellish: stopped; nothing was written.\n"
    assert (done.returncode, done.stdout) == (130, "")
    assert {path.name for path in field.iterdir()} == before

"""What the help texts say, word for word, and that each shows how its command is used.

After a change that is meant, write them anew and read the difference:

    python -m tests.cli.test_help
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
GOLDEN = Path(__file__).with_name("help.txt")


@cache
def help_of(command: str) -> str:
    """The help text of a command ('' for the whole), 80 columns wide."""
    done = subprocess.run(
        [sys.executable, "-m", "embellish", *command.split(), "--help"],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "PYTHONIOENCODING": "utf-8",
            "COLUMNS": "80",
            "TERMINAL_WIDTH": "80",
            "NO_COLOR": "1",
            "LC_ALL": "C.UTF-8",
            "LANGUAGE": "",
        },
    )
    return "\n".join(line.rstrip() for line in done.stdout.splitlines()).strip() + "\n"


def below(command: str) -> list[str]:
    """The commands that a help text lists, each with those below it."""
    listed = re.search(r"^Commands:\n((?:  .*\n)+)", help_of(command), re.MULTILINE)
    if listed is None:
        return []
    names = re.findall(r"^  ([a-z][a-z-]*)", listed[1], re.MULTILINE)
    found = []
    for name in names:
        whole = f"{command} {name}".strip()
        found += [whole, *below(whole)]
    return found


@cache
def commands() -> tuple[str, ...]:
    return ("", *below(""))


def all_help() -> str:
    """Every help text under its command."""
    parts = [f"$ embellish {command} --help".replace("  ", " ") for command in commands()]
    return "\n".join(
        f"{part}\n{help_of(command)}" for part, command in zip(parts, commands(), strict=True)
    )


def test_help_says_what_it_said():
    assert all_help() == GOLDEN.read_text(encoding="utf-8"), (
        "help texts have changed; if that is meant: python -m tests.cli.test_help"
    )


def test_every_command_is_found():
    assert {"new", "look", "check", "count", "proof", "make", "catalogue list"} <= set(commands())


def test_every_command_shows_an_example_of_itself():
    for command in commands():
        if below(command):
            continue
        examples = re.findall(r"^  Example: (embellish .*)$", help_of(command), re.MULTILINE)
        assert len(examples) >= 1, command
        for example in examples:
            assert shlex.split(example)[1 : 1 + len(command.split())] == command.split()


def test_the_options_of_an_example_are_its_own():
    for command in commands():
        for example in re.findall(r"^  Example: (.*)$", help_of(command), re.MULTILINE):
            for option in re.findall(r"--[a-z-]+", example):
                assert re.search(rf"^  (-\w, )?{option}\b", help_of(command), re.MULTILINE), example


def test_help_fits_a_narrow_terminal():
    assert max(map(len, all_help().splitlines())) <= 80


if __name__ == "__main__":
    GOLDEN.write_text(all_help(), encoding="utf-8", newline="\n")

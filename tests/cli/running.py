"""The command run by tests: within this process, or apart in one of its own."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import subprocess
import sys
from pathlib import Path

from embellish.__main__ import main

ROOT = Path(__file__).parents[2]

Done = subprocess.CompletedProcess[str]


def embellish(*words: object, cwd: Path | None = None) -> Done:
    """Run a command as a person would, but within this process: most of its time is loading."""
    out, err = io.StringIO(), io.StringIO()
    argv, before = sys.argv, signal.getsignal(signal.SIGINT)
    code: object = 0
    try:
        sys.argv = ["embellish", *map(str, words)]
        with (
            contextlib.chdir(cwd or Path.cwd()),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            main()
    except SystemExit as done:
        code = done.code
    finally:
        sys.argv = argv
        signal.signal(signal.SIGINT, before)
    assert isinstance(code, int), code
    return subprocess.CompletedProcess(list(map(str, words)), code, out.getvalue(), err.getvalue())


def embellish_apart(*words: object, cwd: Path | None = None, **environment: str) -> Done:
    """Run a command in a process of its own, in another order of sets and hashes each time."""
    return subprocess.run(
        [sys.executable, "-m", "embellish", *map(str, words)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **environment},
    )

"""A whole job of 1e5 pieces, as a command: `python -m tests.benchmarks whole`."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path

import numpy as np

from tests.benchmarks.yardstick import kd_seconds, tell

_JOB = """version = 1
title = "Field"
catalogues = ["shipped:stones"]
[artwork]
file = "field.svg"
[[lay]]
id = "fill"
shapes = "*"
way = "grid"
pieces = ["R-SS6-CLEAR"]
gap_mm = 0.8
set_by = "hand"
mark = "none"
"""
_SIDE_MM = 880
_PITCH_MM = 2.9
_WHY = "a quarter is loading libraries, the rest two pictures, a chart and text, none of them much"


def whole_job() -> None:
    """From the job file to every output, proof included: time and greatest memory."""
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held)
        (folder / "field.toml").write_text(_JOB)
        (folder / "field.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_SIDE_MM}mm" height="{_SIDE_MM}mm"'
            f' viewBox="0 0 {_SIDE_MM} {_SIDE_MM}"><rect width="{_SIDE_MM}" height="{_SIDE_MM}"/>'
            "</svg>"
        )
        command = [sys.executable, "-m", "embellish", "make", "field.toml", "--out", "made"]
        # The first run compiles the code, as installing does.
        compiled = {"PYTHONPYCACHEPREFIX": str(folder / "compiled"), "PYTHONDONTWRITEBYTECODE": ""}
        run = partial(
            subprocess.run,
            command,
            cwd=folder,
            env=os.environ | compiled,
            check=True,
            capture_output=True,
        )
        run()
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        run()
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    side = np.arange(316) * _PITCH_MM
    xy = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    tell("whole job of 1e5, with proof", took / kd_seconds(xy, _PITCH_MM), 60.0, "kd", why=_WHY)
    tell("whole job of 1e5, with proof, time", took, 30.0, "s")
    # ru_maxrss is the largest of all children so far, in KB: run alone, this one's.
    tell("whole job of 1e5, greatest memory", after.ru_maxrss / 1e6, 1.5, "GB")


BENCHMARKS = (whole_job,)

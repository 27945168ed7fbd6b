"""What is remembered of lays changes nothing but the time."""

from __future__ import annotations

from pathlib import Path

import pytest

from embellish.job import laying, one_lay
from embellish.job.files import open_text
from embellish.job.lay_memory import LayMemory
from embellish.job.laying import lay_job
from embellish.layout.fingerprint import fingerprint

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<rect id="a" x="2" y="2" width="26" height="26"/>
<circle id="b" cx="44" cy="44" r="14"/></svg>"""

JOB = """version = 1
title = "Remembered"
catalogues = ["shipped:stones"]
seed = SEED
[artwork]
file = "a.svg"
rotate_deg = TURN
[[lay]]
id = "a"
shapes = "#a"
way = "scatter"
pieces = ["R-SS6-CLEAR"]
gap_mm = GAP
[[lay]]
id = "b"
shapes = "*"
way = "row"
pieces = ["PIECE"]
gap_mm = 1.0
"""

PLAIN = {"SEED": "1", "TURN": "0", "GAP": "0.5", "PIECE": "R-SS10-CLEAR"}


def test_every_change_gives_what_laying_afresh_gives(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "a.svg").write_text(SVG)
    laid_anew: list[int] = []
    lay_one = one_lay.lay_one

    def counted(*args):
        laid_anew.append(args[1])
        return lay_one(*args)

    monkeypatch.setattr(laying, "lay_one", counted)
    memory = LayMemory()
    for change, anew in (
        ({}, [0, 1]),
        ({}, []),
        ({"TURN": "30"}, []),  # laying comes before turning
        ({"GAP": "0.7"}, [0, 1]),
        ({}, []),
        ({"SEED": "2"}, [0, 1]),
        ({"PIECE": "R-SS6-CLEAR"}, [0, 1]),
        ({"more": 'name = "other words"\n'}, [1]),
    ):
        text = JOB
        for key, value in {**PLAIN, **change}.items():
            text = text.replace(key, value)
        opened = open_text(tmp_path / "job.toml", (text + change.get("more", "")).encode())
        laid_anew.clear()
        bedded = lay_job(opened.job, opened.artwork, opened.catalogue, memory=memory)
        assert laid_anew == anew, change
        afresh = lay_job(opened.job, opened.artwork, opened.catalogue)
        assert fingerprint(bedded.layout) == fingerprint(afresh.layout)
        assert bedded.layout.lays == afresh.layout.lays

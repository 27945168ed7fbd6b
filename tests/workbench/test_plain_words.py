"""What the page says names controls, not keys of the file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from embellish.errors import EmbellishError, JobError
from embellish.findings import Finding
from embellish.job.courses import Bounds
from embellish.job.files import open_job
from embellish.job.fitting import budget_of, fitted
from embellish.job.placing import _known, _refuse_strangers, refuse_beside
from embellish.job.starting import start_job
from embellish.workbench.controls import controls
from embellish.workbench.order_controls import order_controls
from embellish.workbench.plain_words import in_plain_words, shown
from tests.workbench.serving import MOTH


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (
            "Take a smaller gap_mm or smaller pieces.",
            "Take a smaller ‘Gap between pieces’ or smaller pieces.",
        ),
        (
            "Let lots mix with one_lot_a_code = false under [materials].",
            "Let lots mix with ‘A code of one lot’: no under ‘Material’ in Order.",
        ),
        (
            "Work from the chart (mark = 'none').",
            "Work from the chart (‘Sewn marks’: no).",
        ),
        (
            "Take a heat-set piece, or set_by = 'sewn' or 'hand'.",
            "Take a heat-set piece, or ‘How they get there’: sewn or by hand.",
        ),
        ("Use at = 'nodes'.", "Use ‘Where’: corners of the line."),
        (
            "Ask for group = 'one' under [template].",
            "Ask for ‘Pieces share a template’: all on one under ‘Templates and press’ in Order.",
        ),
        (
            "Lower edge_mm under [template].",
            "Lower ‘Holes from the sheet's edge’ under ‘Templates and press’ in Order.",
        ),
        # How wide the drawing is and how wide a photo shows the garment have one key.
        (
            "Give width_mm or scale under [artwork] in x.toml.",
            "Give ‘Width of the drawing’ in Where in x.toml.",
        ),
        (
            "both width_mm and scale are given",
            "both ‘Width of the drawing’ in Where and scale are given",
        ),
        (
            "the photo is placed twice, by width_mm and by two points",
            "the photo is placed twice, by ‘The photo shows’ and by two points",
        ),
        ("More under [template].", "More under ‘Templates and press’ in Order."),
        ("Write spool_m under [materials.thread].", "Write spool_m under [materials.thread]."),
        ("The file moth_2.svg is gone.", "The file moth_2.svg is gone."),
        ("", ""),
    ],
)  # fmt: skip
def test_keys_become_what_stands_on_the_control(told: str, said: str):
    assert in_plain_words(told) == said


def test_nothing_tells_to_use_an_option_of_a_command_where_the_page_does_it(tmp_path: Path):
    errors = []
    for do in (
        lambda: refuse_beside(tmp_path, tmp_path / "job.toml"),
        lambda: _known(tmp_path),
        lambda: _refuse_strangers({"a": ""}, {}, tmp_path),
        lambda: start_job(tmp_path / "a.svg", None, "shipped:stones", None),
    ):
        (tmp_path / "made.json").write_text("no list")
        (tmp_path / "a").write_text("a stranger")
        (tmp_path / "a.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path id="p" d="M1 1H8"/>'
            "</svg>"
        )
        with pytest.raises(EmbellishError) as refused:
            do()
        errors.append(str(refused.value))
    opened = open_job(MOTH / "moth.toml")
    with pytest.raises(EmbellishError) as refused:
        fitted(opened, budget_of({"count": 1}), Bounds((), most_mm=0.01))
    errors.append(str(refused.value))
    for told in errors:
        assert "--" in told
        assert "--" not in in_plain_words(told)


@pytest.mark.parametrize(
    "told",
    [
        "Give registration_count = 3 under [template].",
        "Sew it first (order = 'first' under [base]).",
        "Keep it with ground = true under [artwork.picture].",
        "at_mm and width_mm place a picture",
        "Give size_mm, or length_mm and width_mm.",
        # The hole of a piece has an 'at' of its own.
        "Leave it out, or take at = 'end' or 'ends'.",
    ],
)
def test_what_has_no_control_stands_as_the_file_has_it(told: str):
    assert in_plain_words(told) == told


def test_every_control_of_the_page_is_named_by_its_label():
    every = [
        *(control for section in order_controls() for control in section["controls"]),
        *(control for way in controls()["ways"] for control in way["controls"]),
        *controls()["common"],
    ]
    for control in every:
        if "_" in control["key"]:
            told = in_plain_words(f"Raise {control['key']}.")
            assert re.fullmatch(r"Raise ‘[^_]+’\.", told), told


def test_a_finding_keeps_all_else():
    finding = Finding(
        "a-code", "note", "At gap_mm = 0.5 none fits", (1.0, 2.0), "edge", "Lower it."
    )
    assert shown(finding) == {
        **finding.as_json(),
        "message": "At ‘Gap between pieces’: 0.5 none fits",
    }


def test_what_is_wrong_is_told_in_the_same_words():
    wrong = JobError("gap_mm is too small", file="a.toml", mend="Raise gap_mm.")
    assert shown(wrong) == {
        **wrong.as_json(),
        "message": "‘Gap between pieces’ is too small",
        "mend": "Raise ‘Gap between pieces’.",
    }

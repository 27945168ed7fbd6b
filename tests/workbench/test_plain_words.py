"""What the page says names controls, not keys of the file."""

from __future__ import annotations

import re

import pytest

from embellish.findings import Finding
from embellish.workbench.controls import controls
from embellish.workbench.order_controls import order_controls
from embellish.workbench.plain_words import in_plain_words, shown


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
        ("More under [template].", "More under ‘Templates and press’ in Order."),
        ("Write spool_m under [materials.thread].", "Write spool_m under [materials.thread]."),
        ("The file moth_2.svg is gone.", "The file moth_2.svg is gone."),
        ("", ""),
    ],
)  # fmt: skip
def test_keys_become_what_stands_on_the_control(told: str, said: str):
    assert in_plain_words(told) == said


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

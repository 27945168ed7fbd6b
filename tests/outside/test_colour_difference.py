"""CIEDE2000 against the 34 pairs published with it, and sRGB white, black and primaries.

Sharma, Wu & Dalal 2005, Color Research & Application 30(1), 21-30, Table 1: the formula's corners,
hues on both sides of 0 degrees and greys among them. CIELAB of sRGB's primaries (D65): from
IEC 61966-2-1 by hand calculators on the web, from memory, to 0.1.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from embellish.catalogue.colour_difference import delta_e, lab_of_hex

with Path(__file__).with_name("ciede2000_pairs.csv").open(newline="", encoding="utf-8") as file:
    PAIRS = list(csv.DictReader(file))


def labs(row: dict[str, str], which: str) -> np.ndarray:
    return np.array([float(row[f"{axis}{which}"]) for axis in "Lab"])


@pytest.mark.parametrize("row", PAIRS, ids=[row["pair"] for row in PAIRS])
def test_the_published_pairs(row: dict[str, str]):
    one, other = labs(row, "1"), labs(row, "2")
    assert float(delta_e(one, other)) == pytest.approx(float(row["dE00"]), abs=5e-5)
    assert float(delta_e(other, one)) == pytest.approx(float(row["dE00"]), abs=5e-5)


def test_there_are_all_of_them_and_many_are_done_at_once():
    assert len(PAIRS) == 34
    one = np.array([labs(row, "1") for row in PAIRS])
    other = np.array([labs(row, "2") for row in PAIRS])
    assert delta_e(one, other) == pytest.approx([float(row["dE00"]) for row in PAIRS], abs=5e-5)
    assert np.allclose(delta_e(one, one), 0.0)


@pytest.mark.parametrize(
    ("colour", "lab"),
    [
        ("#ffffff", (100.0, 0.0, 0.0)),
        ("#000000", (0.0, 0.0, 0.0)),
        ("#ff0000", (53.2, 80.1, 67.2)),
        ("#00ff00", (87.7, -86.2, 83.2)),
        ("#0000ff", (32.3, 79.2, -107.9)),
    ],
)
def test_screen_colours_in_lab(colour: str, lab: tuple[float, float, float]):
    assert lab_of_hex([colour])[0] == pytest.approx(lab, abs=0.06)

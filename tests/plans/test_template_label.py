"""The words on a template: no line parts a code, or a number from what it numbers."""

from __future__ import annotations

import re

import pytest

from embellish.plans.templates.label import label_lines, wrapped

ORDER = [("R-SS20-CLEAR", 12, 0.4), ("R-SS10-CLEAR", 113, 0.3), ("R-SS6-RED", 7, 0.3)]


@pytest.mark.parametrize("width_mm", range(60, 300, 7))
def test_lines_part_neither_codes_nor_their_numbers(width_mm: int):
    lines = wrapped(label_lines("1 of 1", ORDER, mirrored=False, title=None), width_mm)
    whole = "\n".join(lines)
    for number, (code, count, _) in enumerate(ORDER, 1):
        assert re.search(rf"{number}\. {code},\s{count}\spieces", whole)
    assert not re.search(r"\d\.$|-$", whole, re.MULTILINE)
    assert "\xa0" not in whole

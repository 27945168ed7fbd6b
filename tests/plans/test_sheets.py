from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.plans.sheets import Nesting, Sheetful, nest

things = st.lists(
    st.tuples(st.floats(5.0, 300.0), st.floats(5.0, 300.0), st.integers(1, 4)),
    min_size=0,
    max_size=8,
)


def check(nesting: Nesting, gap: float) -> None:
    """Nothing leaves its sheet, and two things on one sheet keep the gap."""
    width, height = nesting.sheet_mm
    for each in nesting.placed:
        assert -1e-6 <= each.x_mm <= width - each.width_mm + 2e-6
        assert -1e-6 <= each.y_mm <= height - each.height_mm + 2e-6
    for index, a in enumerate(nesting.placed):
        for b in nesting.placed[index + 1 :]:
            if a.sheet != b.sheet:
                continue
            across = max(a.x_mm - b.x_mm - b.width_mm, b.x_mm - a.x_mm - a.width_mm)
            down = max(a.y_mm - b.y_mm - b.height_mm, b.y_mm - a.y_mm - a.height_mm)
            assert max(across, down) >= gap - 2e-6


@given(sizes=things, gap=st.floats(0.0, 10.0), roll=st.booleans())
@settings(max_examples=50, deadline=None)
def test_every_copy_lies_on_a_sheet_or_is_told(sizes, gap, roll):
    asked = [Sheetful(f"t{i}", w, h, n) for i, (w, h, n) in enumerate(sizes)]
    nesting = nest(asked, (305.0, 200.0), gap, roll=roll)
    check(nesting, gap)
    names = [each.name for each in nesting.placed]
    told = " ".join(found.message for found in nesting.findings)
    for each in asked:
        fits = min(each.width_mm, each.height_mm) <= 200.0
        assert names.count(each.name) == (each.copies if fits else 0)
        assert (f"'{each.name}'" in told) != fits
    used = sum(each.width_mm * each.height_mm for each in nesting.placed)
    assert nesting.used_mm2 == pytest.approx(used)
    assert used <= nesting.taken_mm2 + 1e-3
    assert 0.0 <= nesting.waste < 1.0
    assert nest(asked, (305.0, 200.0), gap, roll=roll).placed == nesting.placed


def test_six_fill_a_sheet_without_waste():
    nesting = nest([Sheetful("a", 100.0, 100.0, 12)], (300.0, 200.0), 0.0)
    assert nesting.sheets == 2
    assert nesting.waste == pytest.approx(0.0)


def test_turning_saves_a_sheet():
    nesting = nest([Sheetful("a", 90.0, 190.0, 2), Sheetful("b", 190.0, 95.0, 1)], (300, 200), 3.0)
    assert nesting.sheets == 1
    assert any(each.turned for each in nesting.placed)


def test_of_a_roll_only_the_length_used_counts():
    nesting = nest([Sheetful("a", 100.0, 50.0, 4)], (310.0, 1000.0), 3.0, roll=True)
    # Three upright or two lying abreast: never more than two rows.
    assert nesting.sheets == 1
    assert nesting.taken_mm2 <= 310.0 * 103.0
    assert nesting.waste < 0.4

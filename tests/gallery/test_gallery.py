"""Every case of the gallery is laid without an error, and the pictures are of these cases.

The pictures themselves are drawn by `python -m tests.gallery`, and looked at by people.
"""

from __future__ import annotations

import pytest

from tests.gallery.cases import GALLERY, Case
from tests.gallery.drawing import FOLDER, checked, page

CASES = [(name, case) for name, cases in GALLERY.items() for case in cases]


@pytest.mark.parametrize(("name", "case"), CASES, ids=[f"{n}: {c.words}" for n, c in CASES])
def test_every_case_holds_every_check(name: str, case: Case):
    made = checked(name, case)
    assert [finding for finding in made.findings if finding.severity == "error"] == []
    assert len(made.layout) >= 3
    shapes = {made.layout.shape_ids[index] for index in made.layout.shape.tolist()}
    assert shapes >= {"leaf", "star", "stroke"} or case.settings.get("at") == "centre"


def test_the_page_shows_all_of_it():
    assert (FOLDER / "README.md").read_text(encoding="utf-8") == page()
    assert sorted(path.stem for path in FOLDER.glob("*.png")) == sorted(GALLERY)

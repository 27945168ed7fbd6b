"""Nothing touches a keep-out, whatever the way."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from embellish.errors import ArtworkError
from embellish.job.files import open_job
from embellish.job.laying import Bedded, lay_job

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm"
viewBox="0 0 100 60"><rect id="box" x="5" y="5" width="90" height="50"/>
<path id="zip" d="M50 0 V60" fill="none" stroke="#000"/>
<circle id="pocket" cx="20" cy="30" r="8"/></svg>"""

JOB = """version = 1
title = "Keep out"
catalogues = ["shipped:stones", "shipped:shaped"]
[artwork]
file = "a.svg"
[[lay]]
id = "lay"
shapes = "#box"
way = "{way}"
pieces = ["{piece}"]
gap_mm = 0.8
{keep_out}
"""


def laid(where: Path, way: str, piece: str, keep_out: str) -> Bedded:
    (where / "a.svg").write_text(DRAWING)
    (where / "job.toml").write_text(JOB.format(way=way, piece=piece, keep_out=keep_out))
    opened = open_job(where / "job.toml")
    return lay_job(opened.job, opened.artwork, opened.catalogue)


@pytest.mark.parametrize("piece", ["R-SS10-CLEAR", "NS-8x4-CLEAR"])
@pytest.mark.parametrize(
    "way", ["row", "border", "rings", "grid", "scatter", "centreline", "cluster"]
)
def test_no_piece_touches_a_zip_or_a_pocket(tmp_path: Path, way: str, piece: str):
    zip_out = '[[keep_out]]\nshapes = "#zip"\nmargin_mm = 3\n'
    pocket = '[[keep_out]]\nshapes = "#pocket"\n'
    free = laid(tmp_path, way, piece, "")
    kept = laid(tmp_path, way, piece, zip_out + pocket)
    assert 0 < len(kept.layout) < len(free.layout)
    shortest = min(kept.layout.pieces[0].length_mm.max, kept.layout.pieces[0].width_mm.max) / 2
    away = np.abs(kept.layout.xy[:, 0] - 50)
    assert away.min() >= 3 + shortest - 1e-6
    pocket_away = np.hypot(*(kept.layout.xy - (20, 30)).T)
    assert pocket_away.min() >= 8 + shortest - 0.01


def test_a_row_keeps_its_other_seats_where_they_were(tmp_path: Path):
    free = laid(tmp_path, "row", "R-SS10-CLEAR", "")
    kept = laid(tmp_path, "row", "R-SS10-CLEAR", '[[keep_out]]\nshapes = "#zip"\nmargin_mm = 3\n')
    gone = np.abs(free.layout.xy[:, 0] - 50) < 3 + 1.45 - 1e-6
    assert np.array_equal(free.layout.xy[~gone], kept.layout.xy)
    (finding,) = [each for each in kept.findings if each.code == "kept-out"]
    assert str(int(gone.sum())) in finding.message


def test_a_keep_out_that_finds_nothing_is_refused(tmp_path: Path):
    with pytest.raises(ArtworkError, match=r"keep_out.*#zap"):
        laid(tmp_path, "row", "R-SS10-CLEAR", '[[keep_out]]\nshapes = "#zap"\n')


def test_the_keep_out_is_what_shapely_says(tmp_path: Path):
    from embellish.layout.keep_out import clear_of, keep_out_of

    bedded = laid(tmp_path, "grid", "R-SS10-CLEAR", "")
    shapes = [shape for shape in bedded.shapes if shape.id == "pocket"]
    clear = clear_of(bedded.layout, keep_out_of(shapes, 2.0))
    away = shapely.distance(shapely.points(bedded.layout.xy), shapely.Point(20, 30)) - 10 - 1.45
    assert not clear[away < 0].any()
    assert clear[away > 0.02].all()

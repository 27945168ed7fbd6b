"""Hand edits claim seats nearest first, each once, and are told when their seat is gone."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.errors import JobError
from embellish.job.files import open_job
from embellish.job.laying import Bedded, lay_job
from embellish.layout.edits import Edit, claims, edited
from embellish.layout.ranked import Ranked

LINE = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
<path id="line" fill="none" stroke="#000" d="M5 30 H95"/>
<rect id="box" x="10" y="5" width="80" height="15"/></svg>"""

JOB = """version = 1
title = "Edits"
catalogues = ["shipped:stones", "shipped:pearls"]
[artwork]
file = "a.svg"
WIDTH
[[lay]]
id = "row"
shapes = "#line"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = GAP
[[lay]]
id = "fill"
shapes = "#box"
way = "grid"
pieces = ["R-SS6-CLEAR"]
gap_mm = 1.5
"""


def laid(where: Path, edits: str, gap: float = 1.0, width: str = "", extra: str = "") -> Bedded:
    (where / "a.svg").write_text(LINE)
    text = JOB.replace("GAP", str(gap)).replace("WIDTH", width + extra) + edits
    (where / "job.toml").write_text(text)
    opened = open_job(where / "job.toml")
    return lay_job(opened.job, opened.artwork, opened.catalogue)


def edit(**keys: object) -> str:
    return "[[edit]]\n" + "".join(f"{key} = {json.dumps(value)}\n" for key, value in keys.items())


PLACE = (5 + 90 * 0.37, 30)
ON_ROW = {"lay": "row", "shape": "line", "u": 0.37}


def nearest(bedded: Bedded, x: float, y: float) -> tuple[int, float]:
    away = np.hypot(*(bedded.layout.xy - (x, y)).T)
    return int(away.argmin()), float(away.min())


@pytest.mark.parametrize("gap", [0.6, 1.0, 2.3])
def test_a_move_survives_another_gap(tmp_path: Path, gap: float):
    plain = laid(tmp_path, "", gap)
    seat, _ = nearest(plain, *PLACE)
    moved = laid(tmp_path, edit(**ON_ROW, do="move", along_mm=0.01, across_mm=0.4), gap)
    assert len(moved.layout) == len(plain.layout)
    away = moved.layout.xy[seat] - plain.layout.xy[seat]
    assert away == pytest.approx([0.01, 0.4], abs=1e-6)
    others = np.delete(np.arange(len(plain.layout)), seat)
    assert np.array_equal(moved.layout.xy[others], plain.layout.xy[others])


def test_a_moved_seat_outranks_its_neighbours(tmp_path: Path):
    plain = laid(tmp_path, "")
    moved = laid(tmp_path, edit(**ON_ROW, do="move", along_mm=1.5))
    assert len(moved.layout) == len(plain.layout) - 1
    assert nearest(moved, *(plain.layout.xy[nearest(plain, *PLACE)[0]] + (1.5, 0)))[1] < 2e-6


def test_a_delete_a_swap_and_a_turn(tmp_path: Path):
    plain = laid(tmp_path, "")
    seat, _ = nearest(plain, *PLACE)
    gone = laid(tmp_path, edit(**ON_ROW, do="delete"))
    assert len(gone.layout) == len(plain.layout) - 1
    assert nearest(gone, *plain.layout.xy[seat])[1] > 3
    swapped = laid(tmp_path, edit(**ON_ROW, do="swap", piece="R-SS6-RED"))
    code = swapped.layout.pieces[swapped.layout.piece[seat]].code
    assert code == "R-SS6-RED"


def test_what_is_added_stands_and_the_grid_around_it_gives_way(tmp_path: Path):
    plain = laid(tmp_path, "")
    more = laid(tmp_path, edit(lay="fill", do="add", at=[0.5, 0.125], piece="P-6-CREAM"))
    seat, away = nearest(more, 50, 12.5)
    assert away < 1e-6
    assert more.layout.pieces[more.layout.piece[seat]].code == "P-6-CREAM"
    assert len(more.layout) < len(plain.layout)


def test_an_edit_of_a_fill_scales_with_the_artwork(tmp_path: Path):
    deed = edit(lay="fill", do="delete", at=[0.3, 0.12])
    for width in ("", "width_mm = 150\n"):
        plain, gone = laid(tmp_path, "", width=width), laid(tmp_path, deed, width=width)
        assert len(gone.layout) == len(plain.layout) - 1
        assert not gone.findings


def test_turning_the_artwork_turns_the_edits_alike(tmp_path: Path):
    deed = edit(**ON_ROW, do="move", across_mm=0.8)
    straight, turned = laid(tmp_path, deed), laid(tmp_path, deed, extra="rotate_deg = 90\n")
    expected = np.stack(
        [50 - (straight.layout.xy[:, 1] - 30), 30 + (straight.layout.xy[:, 0] - 50)], axis=1
    )
    assert np.abs(turned.layout.xy - expected).max() < 2e-6


def test_an_edit_whose_seat_is_gone_is_told(tmp_path: Path):
    bedded = laid(tmp_path, edit(lay="fill", do="delete", at=[0.5, 0.55]))
    (finding,) = [each for each in bedded.findings if each.code == "edit-lost"]
    assert finding.lay == "fill"
    assert "delete" in finding.message


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (edit(lay="rwo", do="delete", at=[0.5, 0.5]), "no lay 'rwo'.*'row'"),
        (edit(lay="row", do="delete", shape="lnie", u=0.5), "no shape 'lnie'.*'line'"),
        (edit(lay="row", do="delete", shape="line", row=3, u=0.5), "no row 3"),
        (edit(lay="row", do="delete"), "no place.*at = "),
        (edit(lay="row", do="delete", u=0.5), "no shape is named"),
        (edit(lay="row", do="swap", at=[0.5, 0.5]), "needs a piece"),
        (edit(lay="row", do="swap", at=[0.5, 0.5], piece="NOPE"), "'NOPE'"),
        (edit(lay="row", do="throw", at=[0.5, 0.5]), "do"),
    ],
)
def test_a_wrong_edit_is_one_sentence(tmp_path: Path, text: str, words: str):
    with pytest.raises(JobError, match=words):
        laid(tmp_path, text)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 1), st.floats(-3, 3)), min_size=1, max_size=12))
def test_each_seat_is_claimed_once_and_never_from_afar(
    tmp_path_factory: pytest.TempPathFactory, places: list[tuple[float, float]]
):
    layout = laid(tmp_path_factory.mktemp("claims"), "").layout
    wanted = [Edit(0, 0, 0, 5 + 90 * u, 30 + y, 0.0, u, "delete") for u, y in places]
    found = claims(layout, wanted)
    seats = [seat for seat in found if seat >= 0]
    assert len(seats) == len(set(seats))
    row = layout.xy[layout.rows(0)]
    pitch = np.hypot(*np.diff(row, axis=0).T).min()
    for each, seat in zip(wanted, found, strict=True):
        away = np.hypot(*(row - (each.x_mm, each.y_mm)).T)
        if seat >= 0:
            assert away[seat] <= pitch / 2 + 1e-6
        elif away.min() < pitch / 2 - 1e-6:
            # Lost only to another edit at least as near.
            rivals = [w for w, s in zip(wanted, found, strict=True) if s == int(away.argmin())]
            assert rivals
    after, _ = edited(Ranked.of(layout), wanted)
    assert len(after) == len(layout) - len(seats)

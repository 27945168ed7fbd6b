"""What a hand does to seats of a layout becomes edits that do just that when it is laid again."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from embellish.arrays import Ints
from embellish.errors import JobError
from embellish.job.files import OpenJob, open_job
from embellish.job.laying import Bedded, lay_job
from embellish.job.touching import EditStep, Touch, edit_that_adds, edits_of_touch
from embellish.job.trying import tried

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">
<path id="wave" d="M10 20 C40 0 60 40 110 15" fill="none" stroke="#000"/>
<path id="leaf" d="M20 60 C40 35 80 35 100 60 C80 80 40 80 20 60 Z"/></svg>"""

JOB: dict[str, object] = {
    "version": 1,
    "title": "Touched",
    "catalogues": ["shipped:stones"],
    "artwork": {"file": "a.svg"},
    "lay": [
        {"id": "row", "shapes": "#wave", "way": "row", "pieces": ["R-SS10-CLEAR"], "gap_mm": 1.0},
        {"id": "fill", "shapes": "#leaf", "way": "grid", "pieces": ["R-SS6-CLEAR"], "gap_mm": 2.0},
    ],
}


def opened(where: Path, **more: object) -> OpenJob:
    (where / "a.svg").write_text(SVG)
    (where / "job.toml").write_text(tomli_w.dumps({**JOB, **more}))
    return open_job(where / "job.toml")


def laid(job: OpenJob) -> Bedded:
    return lay_job(job.job, job.artwork, job.catalogue)


def apply(edits: list[dict[str, object]], steps: tuple[EditStep, ...]) -> list[dict[str, object]]:
    edits = [dict(each) for each in edits]
    for step in steps:
        if step.number is None:
            assert step.table is not None
            edits.append(step.table)
        elif step.table is None:
            del edits[step.number]
        else:
            edits[step.number] |= step.table
    return edits


def rows_near(bedded: Bedded, xy: np.ndarray) -> Ints:
    away = np.hypot(*(bedded.layout.xy[None] - np.atleast_2d(xy)[:, None]).transpose(2, 0, 1))
    assert (away.min(axis=1) < 2e-4).all()
    rows: Ints = np.argmin(away, axis=1)
    return rows


TURNED = [
    {"file": "a.svg"},
    {"file": "a.svg", "rotate_deg": 33.0},
    {"file": "a.svg", "mirror": True, "rotate_deg": -70.0},
]


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_seats_go_where_the_hand_takes_them_however_often(tmp_path: Path, data: st.DataObject):
    artwork = data.draw(st.sampled_from(TURNED))
    symmetric = data.draw(st.booleans())
    edits: list[dict[str, object]] = []
    bedded = laid(opened(tmp_path, artwork=artwork, symmetric=symmetric))
    n = len(bedded.layout)
    row = data.draw(st.integers(0, n - 1))
    for _ in range(3):
        job = opened(tmp_path, artwork=artwork, symmetric=symmetric, edit=edits)
        bedded = laid(job)
        dx, dy = data.draw(st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3)))
        wished = bedded.layout.xy[row] + (dx, dy)
        touch = Touch(np.array([row]), "move", dx_mm=dx, dy_mm=dy)
        edits = apply(edits, edits_of_touch(touch, bedded, job.job, job.artwork))
        assert len(edits) == 1  # one seat, one edit, however often it is moved
        seated = bedded.seated
        assert seated is not None
        if symmetric and int(seated.twin[row]) == row:
            return  # a seat on the axis stays there, and that is told
        after = laid(opened(tmp_path, artwork=artwork, symmetric=symmetric, edit=edits))
        row = int(rows_near(after, wished)[0])


def test_a_seat_is_turned_swapped_deleted_and_freed(tmp_path: Path):
    job = opened(tmp_path)
    before = laid(job)
    row = int(before.layout.rows(0)[5])
    at = before.layout.xy[row]
    steps = edits_of_touch(
        Touch(np.array([row]), "swap", piece="R-SS6-CLEAR"), before, job.job, job.artwork
    )
    edits = apply([], steps)
    assert edits[0]["shape"] == "wave"  # named by its place along the line
    job = opened(tmp_path, edit=edits)
    swapped = laid(job)
    row = int(rows_near(swapped, at)[0])
    assert swapped.layout.pieces[swapped.layout.piece[row]].code == "R-SS6-CLEAR"
    turned = edits_of_touch(
        Touch(np.array([row]), "turn", turn_deg=30.0), swapped, job.job, job.artwork
    )
    edits = apply(edits, turned)
    assert [each["do"] for each in edits] == ["swap", "turn"]
    job = opened(tmp_path, edit=edits)
    both = laid(job)
    row = int(rows_near(both, at)[0])
    deleted = apply(
        edits, edits_of_touch(Touch(np.array([row]), "delete"), both, job.job, job.artwork)
    )
    assert [each["do"] for each in deleted] == ["delete"]
    assert len(laid(opened(tmp_path, edit=deleted)).layout) == len(before.layout) - 1
    freed = apply(edits, edits_of_touch(Touch(np.array([row]), "free"), both, job.job, job.artwork))
    assert freed == []


def test_what_was_added_is_moved_and_taken_away_again(tmp_path: Path):
    artwork = TURNED[2]
    job = opened(tmp_path, artwork=artwork)
    before = laid(job)
    spot = before.to_layout(np.array([60.0, 38.0]))
    edits = apply([], (edit_that_adds("row", "R-SS6-CLEAR", (spot[0], spot[1]), 0.0, before),))
    job = opened(tmp_path, artwork=artwork, edit=edits)
    bedded = laid(job)
    row = int(rows_near(bedded, spot)[0])
    touch = Touch(np.array([row]), "move", dx_mm=1.5, dy_mm=-0.5)
    edits = apply(edits, edits_of_touch(touch, bedded, job.job, job.artwork))
    assert [each["do"] for each in edits] == ["add"]
    job = opened(tmp_path, artwork=artwork, edit=edits)
    bedded = laid(job)
    row = int(rows_near(bedded, np.add(spot, (1.5, -0.5)))[0])
    gone = edits_of_touch(Touch(np.array([row]), "delete"), bedded, job.job, job.artwork)
    assert apply(edits, gone) == []


def test_a_twin_is_moved_as_seen_and_its_mate_follows(tmp_path: Path):
    job = opened(tmp_path, symmetric=True)
    bedded = laid(job)
    assert bedded.seated is not None
    twin = bedded.seated.twin
    row = int(np.flatnonzero((twin >= 0) & (twin < np.arange(len(twin))))[0])
    mate = int(twin[row])
    at, mates = bedded.layout.xy[row], bedded.layout.xy[mate]
    edits: list[dict[str, object]] = []
    for _ in range(2):
        job = opened(tmp_path, symmetric=True, edit=edits)
        bedded = laid(job)
        row = int(rows_near(bedded, at)[0])
        touch = Touch(np.array([row]), "move", dx_mm=0.2, dy_mm=0.1)
        edits = apply(edits, edits_of_touch(touch, bedded, job.job, job.artwork))
        at, mates = np.add(at, (0.2, 0.1)), np.add(mates, (-0.2, 0.1))
    after = laid(opened(tmp_path, symmetric=True, edit=edits))
    rows_near(after, np.array([at, mates]))


def test_rows_that_are_not_of_the_layout_are_refused(tmp_path: Path):
    job = opened(tmp_path)
    bedded = laid(job)
    with pytest.raises(JobError, match="not of this layout"):
        edits_of_touch(Touch(np.array([9999]), "pin"), bedded, job.job, job.artwork)


def test_a_place_is_tried_and_snaps_to_line_and_gap(tmp_path: Path):
    bedded = laid(opened(tmp_path))
    rows = bedded.layout.rows(0)
    first, second = int(rows[4]), int(rows[5])
    step = bedded.layout.xy[second] - bedded.layout.xy[first]
    as_laid = tried(bedded, np.array([first]), (0.0, 0.0))
    assert as_laid.fits
    assert as_laid.gap_mm is not None
    too_near = tried(bedded, np.array([first]), tuple(step / np.hypot(*step) * 0.4))
    assert not too_near.fits
    assert too_near.between == (first, second)
    assert too_near.gap_mm == pytest.approx(as_laid.gap_mm - 0.4, abs=0.01)
    pulled = tried(bedded, np.array([first]), tuple(step * 0.1), snap_within_mm=0.5)
    assert pulled.fits
    assert pulled.gap_mm == pytest.approx(1.0, abs=0.01)
    fill = int(bedded.layout.rows(1)[0])
    out = tried(bedded, np.array([fill]), (-50.0, 0.0))
    assert out.outside_mm > 1.0


def test_a_mirror_image_goes_along_where_a_place_is_tried(tmp_path: Path):
    bedded = laid(opened(tmp_path, symmetric=True))
    assert bedded.seated is not None
    twin, xy = bedded.seated.twin, bedded.layout.xy
    rows = bedded.layout.rows(1)
    # Of the seats that face their image, the two nearest to the axis; each half of what they have.
    rows = rows[twin[rows] > rows]
    row = int(rows[np.argmin(np.hypot(*(xy[rows] - xy[twin[rows]]).T))])
    towards = xy[twin[row]] - xy[row]
    apart = float(np.hypot(*towards))
    one = tried(bedded, np.array([row]), tuple(towards * 0.45))
    assert not one.fits
    assert one.gap_mm is not None
    assert one.gap_mm < 0.2 * apart
    both = tried(bedded, np.array([int(twin[row]), row]), tuple(towards * 0.45))
    assert (both.fits, both.gap_mm) == (one.fits, one.gap_mm)
    # Away from the axis both go: what is told is what is between them and the rest there.
    away = -towards / apart * 0.3
    told = tried(bedded, np.array([row]), tuple(away))
    there = xy.copy()
    there[row] += away
    there[twin[row]] -= away
    apart_there = np.hypot(*(there[[row, twin[row]], None] - there[None]).transpose(2, 0, 1))
    reach = bedded.layout.reach_mm
    gaps = apart_there - reach[[row, twin[row]], None] - reach[None]
    assert told.gap_mm == pytest.approx(float(gaps[gaps > -reach[row]].min()), abs=1e-3)


def test_of_a_gap_and_its_mirror_image_the_one_in_the_hand_is_told(tmp_path: Path):
    bedded = laid(opened(tmp_path, symmetric=True))
    assert bedded.seated is not None
    twin = bedded.seated.twin
    for row in bedded.layout.rows(1).tolist():
        if twin[row] < 0 or twin[row] == row:
            continue
        found = tried(bedded, np.array([row]), (0.05, 0.02))
        assert found.between is None or found.between[0] == row

"""A symmetric lay is its own mirror image, in every way, with its gaps, whatever happens to it."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from embellish.catalogue.shapes import turn_symmetry_deg
from embellish.checks.site import Site
from embellish.checks.spacing import gaps_hold, pieces_stay_inside
from embellish.errors import ArtworkError, JobError
from embellish.job.files import open_job
from embellish.job.laying import Bedded, lay_job
from embellish.layout.layout import Layout

HEART = "M50 76 C10 50 4 36 6 20 C9 3 42 1 50 20 C58 1 91 3 94 20 C96 36 90 50 50 76 Z"
WING = "M44 8 C20 2 2 12 6 30 C10 52 30 60 46 50 Z"
WAVE = "M5 40 C20 10 40 10 50 40 C60 10 80 10 95 40"
CATALOGUES = ["shipped:stones", "shipped:pearls", "shipped:shaped", "shipped:beads"]
ROUND, SHAPED = "R-SS10-CLEAR", "NS-8x4-CLEAR"

# A way, its settings, and what a heart or a pair of wings is to it.
WAYS: dict[str, dict[str, object]] = {
    "row": {"way": "row"},
    "row free": {"way": "row", "ends": "free"},
    "border": {"way": "border", "rows": 2, "edge_mm": 0.4},
    "rings": {"way": "rings", "edge_mm": 0.4},
    "grid": {"way": "grid", "edge_mm": 0.4},
    "squares": {"way": "grid", "pattern": "square", "angle_deg": 0.0},
    "scatter": {"way": "scatter", "edge_mm": 0.4},
    "loose": {"way": "scatter", "density": 0.45},
    "centreline": {"way": "centreline"},
    "points": {"way": "points", "at": "nodes"},
}


def svg(*shapes: tuple[str, str], extra: str = "", around: str = "") -> str:
    paths = "".join(f'<path id="{name}" fill="#334" d="{d}"/>' for name, d in shapes)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        f"<g {around}>{paths}</g>{extra}</svg>"
    )


WINGS = (
    f'<path id="left" fill="#334" d="{WING}"/>'
    f'<path id="right" fill="#334" d="{WING}" transform="matrix(-1 0 0 1 100 0)"/>'
)


def job_text(*lays: dict[str, object], head: str = "symmetric = true", tail: str = "") -> str:
    lines = [
        "version = 1",
        'title = "Alike"',
        f"catalogues = {json.dumps(CATALOGUES)}",
        head,
        "[artwork]",
        'file = "a.svg"',
    ]
    for number, lay in enumerate(lays):
        given = {"id": f"lay{number}", "shapes": "*", "pieces": [ROUND], "gap_mm": 0.7, **lay}
        lines += ["[[lay]]", *(f"{key} = {json.dumps(value)}" for key, value in given.items())]
    return "\n".join([*lines, tail])


def laid(where: Path, drawing: str, text: str) -> Bedded:
    (where / "a.svg").write_text(drawing)
    (where / "job.toml").write_text(text)
    opened = open_job(where / "job.toml")
    return lay_job(opened.job, opened.artwork, opened.catalogue)


def unlike(layout: Layout, angle_deg: float = 90.0, x: float = 50.0, y: float = 40.0) -> int:
    """How many seats have no mirror image of their own piece, lay and angle in the layout."""
    twice = np.radians(2.0 * angle_deg)
    mirror = np.array([[np.cos(twice), np.sin(twice)], [np.sin(twice), -np.cos(twice)]])
    images = (layout.xy - (x, y)) @ mirror.T + (x, y)
    away, found = cKDTree(layout.xy).query(images)
    turns = np.array([turn_symmetry_deg(piece) for piece in layout.pieces] + [360.0] * 9)
    turn = turns[layout.footprint]
    off = np.mod(2.0 * angle_deg - layout.angle_deg - layout.angle_deg[found], 360.0)
    off = np.where(turn > 0, np.mod(off + 1e-4, np.where(turn > 0, turn, 1.0)), 0.0)
    same = (layout.footprint == layout.footprint[found]) & (layout.lay == layout.lay[found])
    # A millionth, and what rounding both adds in each direction.
    return int((~same | (away > 1.5e-6) | (off > 2e-4)).sum())


def refuse_faults(bedded: Bedded) -> None:
    site = Site(bedded.layout, bedded.regions, bedded.edges_mm)
    assert [*gaps_hold(site), *pieces_stay_inside(site)] == []


@pytest.mark.parametrize("name", WAYS)
def test_every_way_lays_a_heart_and_two_wings_alike(tmp_path: Path, name: str):
    for drawing in (svg(("heart", HEART)), svg(extra=WINGS)):
        bedded = laid(tmp_path, drawing, job_text(WAYS[name]))
        plain = laid(tmp_path, drawing, job_text(WAYS[name], head=""))
        assert unlike(bedded.layout) == 0
        refuse_faults(bedded)
        assert not [each for each in bedded.findings if each.code == "not-symmetric"]
        # Nothing much is lost by it.
        assert len(bedded.layout) >= 0.93 * len(plain.layout) - 2


@pytest.mark.parametrize("name", ["row", "border", "grid", "squares", "scatter", "points"])
def test_shaped_pieces_and_mixes_are_alike_too(tmp_path: Path, name: str):
    for pieces in ([SHAPED], [ROUND, "R-SS16-RED", "P-4-CREAM"]):
        lay = {**WAYS[name], "pieces": pieces}
        bedded = laid(tmp_path, svg(("heart", HEART)), job_text(lay))
        assert len(bedded.layout) > 2
        assert unlike(bedded.layout) == 0
        refuse_faults(bedded)


@given(
    st.sampled_from(["row", "grid", "scatter", "rings", "border"]),
    st.floats(0, 180),
    st.sampled_from([0.0, 0.3, 1.1]),
    st.integers(0, 50),
)
@settings(max_examples=12, deadline=None)
def test_any_axis_will_do(name: str, turn: float, gap: float, seed: int):
    drawing = svg(
        ("heart", HEART),
        around=f'transform="rotate({turn:.6f} 50 40)"',
        extra=f'<path id="fold" fill="none" stroke="#000" d="M50 0 V80"'
        f' transform="rotate({turn:.6f} 50 40)"/>',
    )
    lay = {**WAYS[name], "shapes": "#heart", "gap_mm": gap}
    head = f'symmetric = true\naxis = "#fold"\nseed = {seed}'
    with tempfile.TemporaryDirectory() as where:
        bedded = laid(Path(where), drawing, job_text(lay, head=head))
    assert len(bedded.layout) > 20
    assert unlike(bedded.layout, 90.0 + round(turn, 6)) == 0
    refuse_faults(bedded)


def test_an_open_line_and_a_line_on_the_axis(tmp_path: Path):
    drawing = svg(
        extra=f'<path id="wave" fill="none" stroke="#000" d="{WAVE}"/>'
        '<path id="spine" fill="none" stroke="#000" d="M50 50 V78"/>'
    )
    row: dict[str, object] = {"way": "row", "pieces": ["P-5-CREAM", "P-3-CREAM"], "gap_mm": 0.5}
    bedded = laid(tmp_path, drawing, job_text(row))
    assert unlike(bedded.layout) == 0
    spine = bedded.layout.taken(np.flatnonzero(np.abs(bedded.layout.xy[:, 0] - 50) < 1e-9))
    down = spine.footprint[np.argsort(spine.xy[:, 1])][1:]
    # Along the axis the sequence runs on from one end; across it, alike from both.
    assert np.all(down[1:] != down[:-1])


def test_pairs_stand_or_fall_together(tmp_path: Path):
    # A bar crosses the left half only: what it drops there goes on the right as well.
    drawing = svg(
        ("heart", HEART), extra='<path id="bar" fill="none" stroke="#000" d="M20 20 L40 50"/>'
    )
    first = {"way": "row", "shapes": "#bar", "symmetric": False}
    for second in ({"way": "row"}, {"way": "grid"}, {"way": "scatter"}, {"way": "border"}):
        bedded = laid(tmp_path, drawing, job_text(first, {**second, "shapes": "#heart"}))
        mine = bedded.layout.taken(bedded.layout.rows(1))
        assert len(mine) > 20
        assert unlike(mine) == 0
        refuse_faults(bedded)


def test_keep_outs_count_on_both_sides(tmp_path: Path):
    zip_ = '<path id="zip" fill="none" stroke="#000" d="M10 30 H45"/>'
    tail = '[[keep_out]]\nshapes = "#zip"\nmargin_mm = 2'
    for lay in ({"way": "row"}, {"way": "rings"}, {"way": "grid"}, {"way": "scatter"}):
        text = job_text({**lay, "shapes": "#heart"}, tail=tail)
        bedded = laid(tmp_path, svg(("heart", HEART), extra=zip_), text)
        assert unlike(bedded.layout) == 0
        x, y = bedded.layout.xy.T
        near = np.hypot(np.maximum(np.maximum(10 - x, x - 45), 0), y - 30)
        assert (near >= 2 + 1.44 - 1e-6).all()


def test_an_axis_for_each_shape_and_one_by_a_share_of_the_page(tmp_path: Path):
    two = svg(("one", "M5 10 H35 L20 40 Z"), ("two", "M60 30 H96 V60 H60 Z"), around='class="both"')
    bedded = laid(tmp_path, two, job_text({"way": "grid"}, head='symmetric = true\naxis = "own"'))
    one, other = (bedded.layout.taken(np.flatnonzero(bedded.layout.shape == k)) for k in (0, 1))
    assert unlike(one, x=20.0) == unlike(other, x=78.0) == 0
    bedded = laid(tmp_path, two, job_text({"way": "grid", "shapes": "#one", "axis": 0.2}))
    assert len(bedded.layout) > 5
    assert unlike(bedded.layout, x=20.0) == 0
    line = [[0.0, 0.45], [1.0, 0.45]]
    across: dict[str, object] = {"way": "grid", "shapes": "#two", "axis": line}
    bedded = laid(tmp_path, two, job_text(across))
    assert unlike(bedded.layout, 0.0, y=45.0) == 0


def test_what_is_not_symmetric_is_told_and_laid_as_drawn(tmp_path: Path):
    name = '<path id="name" fill="none" stroke="#000" d="M10 70 H30"/>'
    bedded = laid(tmp_path, svg(("heart", HEART), extra=name), job_text({"way": "row"}))
    (told,) = [each for each in bedded.findings if each.code == "not-symmetric"]
    assert "'name'" in told.message
    assert told.lay == "lay0"
    stray = bedded.layout.shape == 1
    assert stray.sum() > 3
    assert unlike(bedded.layout.taken(np.flatnonzero(~stray))) == 0


def test_a_drawing_symmetric_but_for_its_rounding_counts_as_symmetric(tmp_path: Path):
    off = HEART.replace("94 20", "94.05 20.02")
    for way in ("row", "grid", "rings", "scatter"):
        bedded = laid(tmp_path, svg(("heart", off)), job_text(WAYS[way]))
        assert not [each for each in bedded.findings if each.code == "not-symmetric"]
        assert unlike(bedded.layout) == 0
        refuse_faults(bedded)


@pytest.mark.parametrize(
    ("axis", "error", "words"),
    [
        ('axis = "#nothing"', ArtworkError, "finds no shape"),
        ('axis = "#heart"', JobError, "not one straight line"),
        ("axis = 99", JobError, "axis"),
    ],
)
def test_a_wrong_axis_is_one_sentence(tmp_path: Path, axis: str, error: type, words: str):
    with pytest.raises(error, match=words):
        laid(tmp_path, svg(("heart", HEART)), job_text(WAYS["row"], head=f"symmetric=true\n{axis}"))


DEEDS = {
    "delete": "",
    "move": "along_mm = 0.2\nacross_mm = -0.1\n",
    "turn": "turn_deg = 30.0\n",
    "swap": 'piece = "R-SS6-RED"\n',
    "pin": "",
    "add": 'piece = "R-SS16-RED"\n',
}


@pytest.fixture(scope="module")
def gridded(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    """A heart in a grid, as it is without edits."""
    where = tmp_path_factory.mktemp("gridded")
    return laid(where, svg(("heart", HEART)), job_text(WAYS["grid"])).layout


@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(DEEDS)), st.integers(0, 200)),
        min_size=1,
        max_size=6,
        unique_by=lambda each: each[1],
    )
)
@settings(max_examples=10, deadline=None)
def test_edits_are_made_on_both_sides(gridded: Layout, deeds: list[tuple[str, int]]):
    left = gridded.xy[gridded.xy[:, 0] < 49.0]
    tail = ""
    for deed, number in deeds:
        x, y = (left[number % len(left)] / 100.0).tolist()
        tail += f'[[edit]]\nlay = "lay0"\ndo = "{deed}"\nat = [{x!r}, {y!r}]\n{DEEDS[deed]}'
    with tempfile.TemporaryDirectory() as where:
        bedded = laid(Path(where), svg(("heart", HEART)), job_text(WAYS["grid"], tail=tail))
    assert unlike(bedded.layout) == 0
    lost = [each for each in bedded.findings if each.code.startswith("edit-")]
    assert len(lost) == 0 or len({number % len(left) for _, number in deeds}) < len(deeds)
    swapped = sum(1 for deed, _ in deeds if deed == "swap")
    codes = [bedded.layout.pieces[k].code for k in bedded.layout.piece.tolist()]
    assert codes.count("R-SS6-RED") <= 2 * swapped
    if deeds[0][0] == "swap" and len(deeds) == 1:
        assert codes.count("R-SS6-RED") == 2


def test_an_edit_off_the_axis_of_a_seat_on_it_is_told(tmp_path: Path):
    drawing = svg(extra='<path id="spine" fill="none" stroke="#000" d="M50 5 V75"/>')
    edit = '[[edit]]\nlay = "lay0"\ndo = "move"\nat = [0.5, 0.4]\nalong_mm = 1.0\nacross_mm = 0.2\n'
    plain = laid(tmp_path, drawing, job_text({"way": "row", "gap_mm": 3.0}))
    bedded = laid(tmp_path, drawing, job_text({"way": "row", "gap_mm": 3.0}, tail=edit))
    assert [each.code for each in bedded.findings] == ["edit-on-axis"]
    moved = bedded.layout.xy - plain.layout.xy
    # Along this edit's own x, across the axis, nothing; along the axis what was asked.
    assert np.abs(moved[:, 0]).max() == 0.0
    assert moved[:, 1].max() == pytest.approx(0.2, abs=1e-6)

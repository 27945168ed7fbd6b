"""The same piece again next year: places kept, sizes kept, prices of the day, changes told."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomli_w

from embellish.errors import EmbellishError, JobError
from embellish.job.files import OpenJob, kept_path, open_job
from embellish.job.freezing import kept_text
from embellish.job.keeping import read_kept
from embellish.job.making import check_job, made_files
from embellish.layout.fingerprint import fingerprint

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm"
viewBox="0 0 100 60"><ellipse id="e" cx="50" cy="30" rx="45" ry="25"/></svg>"""

OWN = """[catalogue]
currency = "EUR"
{rows}
"""

ROW = """[[piece]]
code = "{code}"
name = "stone"
kind = "stone"
fixing = "heat-set"
length_mm = [{size}, {size}, {size}]
width_mm = [{size}, {size}, {size}]
hex = "{hex}"
packs = [{{ pieces = 100, price = "{price}" }}]
"""

JOB = """version = 1
title = "Kept"
quantity = {quantity}
catalogues = ["mine.toml"]
[artwork]
file = "a.svg"
rotate_deg = 30
[[lay]]
id = "edge"
shapes = "#e"
way = "row"
pieces = ["A"]
gap_mm = 0.9
[[lay]]
id = "fill"
shapes = "#e"
way = "scatter"
pieces = {{ A = 0.5, B = 0.5 }}
gap_mm = {gap}
"""


def rows(*, a: float = 2.8, b: float = 2.0, price: str = "1.00", without: str = "") -> str:
    pieces = (
        ("A", a, "#ff0000"),
        ("B", b, "#00ff00"),
        ("C", 2.8, "#ee1111"),
        ("D", 2.0, "#101010"),
    )
    return OWN.format(
        rows="".join(
            ROW.format(code=code, size=size, hex=hexa, price=price)
            for code, size, hexa in pieces
            if code != without
        )
    )


@pytest.fixture
def where(tmp_path: Path) -> Path:
    (tmp_path / "a.svg").write_text(DRAWING)
    (tmp_path / "mine.toml").write_text(rows())
    (tmp_path / "job.toml").write_text(JOB.format(quantity=1, gap=1.2))
    return tmp_path


def freeze(where: Path) -> OpenJob:
    opened = open_job(where / "job.toml", thaw=True)
    kept_path(where / "job.toml").write_bytes(kept_text(check_job(opened)))
    return opened


def codes(opened: OpenJob) -> set[str]:
    return {finding.code for finding in opened.findings}


def test_a_kept_job_gives_the_same_bytes(where: Path):
    before = made_files(open_job(where / "job.toml")).files
    freeze(where)
    opened = open_job(where / "job.toml")
    assert opened.kept is not None
    after = made_files(opened).files
    assert before == after


def test_places_come_from_the_file_and_not_from_laying(where: Path):
    freeze(where)
    path = kept_path(where / "job.toml")
    text = path.read_text()
    kept = read_kept(text.encode(), "k")
    first = repr(kept.seats.x[0])
    assert text.count(first) >= 1
    path.write_text(text.replace(first, "12.345678", 1))
    layout = check_job(open_job(where / "job.toml")).layout
    assert layout.xy[0, 0] == 12.345678
    assert check_job(open_job(where / "job.toml", thaw=True)).layout.xy[0, 0] == kept.seats.x[0]


def test_prices_and_quantity_of_the_day(where: Path):
    freeze(where)
    (where / "mine.toml").write_text(rows(price="9.00"))
    (where / "job.toml").write_text(JOB.format(quantity=3, gap=1.2))
    opened = open_job(where / "job.toml")
    assert opened.kept is not None
    lines = check_job(opened).plans.materials.lines
    assert all(pack.price == 9 for line in lines for pack in line.packs)
    assert all(line.count == 3 * line.per_garment for line in lines)


def test_a_changed_size_is_told_and_the_kept_one_holds(where: Path):
    before = check_job(freeze(where)).layout
    (where / "mine.toml").write_text(rows(a=3.4))
    opened = open_job(where / "job.toml")
    assert "piece-changed" in codes(opened)
    layout = check_job(opened).layout
    assert np.array_equal(layout.xy, before.xy)
    assert layout.pieces[0].length_mm.max == 2.8
    assert open_job(where / "job.toml", thaw=True).catalogue.pieces["A"].length_mm.max == 3.4


def test_a_withdrawn_piece_proposes_the_nearest(where: Path):
    before = check_job(freeze(where)).layout
    (where / "mine.toml").write_text(rows(without="A"))
    opened = open_job(where / "job.toml")
    (finding,) = [each for each in opened.findings if each.code == "piece-withdrawn"]
    assert "C" in finding.mend
    assert "sample card" in finding.mend
    checked = check_job(opened)
    assert np.array_equal(checked.layout.xy, before.xy)
    assert checked.plans.materials.total is None
    with pytest.raises(EmbellishError, match="'A'"):
        check_job(open_job(where / "job.toml", thaw=True))


@pytest.mark.parametrize("change", ["job", "artwork"])
def test_another_job_or_artwork_is_laid_anew_and_told(where: Path, change: str):
    freeze(where)
    if change == "job":
        (where / "job.toml").write_text(JOB.format(quantity=1, gap=2.0))
    else:
        (where / "a.svg").write_text(DRAWING.replace("45", "40"))
    opened = open_job(where / "job.toml")
    assert opened.kept is None
    assert "kept-passed-over" in codes(opened)
    anew = check_job(open_job(where / "job.toml", thaw=True)).layout
    assert np.array_equal(check_job(opened).layout.xy, anew.xy)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("[seats]", "[saets]"),
        ("x = [", "x = [ 1.0,"),
        ("version = 1", "version = 2"),
        ("sorts = [", "sorts = ["),
    ],
)
def test_a_damaged_kept_file_is_one_sentence(where: Path, old: str, new: str):
    freeze(where)
    path = kept_path(where / "job.toml")
    text = path.read_text()
    damaged = text.replace(old, new, 1) if old != new else text[: len(text) // 2]
    path.write_text(damaged)
    with pytest.raises(JobError, match=r"job\.kept\.toml"):
        open_job(where / "job.toml")


def test_what_was_kept_reads_back_whole(where: Path):
    opened = freeze(where)
    layout = check_job(opened).layout
    kept = read_kept(kept_path(where / "job.toml").read_bytes(), "k")
    assert kept.holds_for(opened.job, opened.artwork_sha256)
    assert not kept.holds_for(opened.job, "0" * 64)
    assert np.array_equal(np.column_stack([kept.seats.x, kept.seats.y]), layout.xy)
    assert list(kept.seats.u) == layout.u.tolist()
    again = check_job(replace(opened, kept=kept)).layout
    assert fingerprint(again) == kept.head.fingerprint == fingerprint(layout)


KEPT: dict[str, Any] = {
    "kept": {
        "version": 1,
        "job": "a",
        "artwork": "b",
        "fingerprint": "c",
        "made_with": {"embellish": "0"},
        "gaps_mm": {"edge": 0.9},
    },
    "sorts": ["A"],
    "shapes": ["wing"],
    "seats": {key: [0] for key in ("x", "y", "angle_deg", "sort", "lay", "shape", "row", "u")},
    "rows": {"piece": [{"code": "A", "kind": "stone", "fixing": "glue", "size_mm": [1, 2, 3]}]},
}


@pytest.mark.parametrize("wrong", [True, "x", -2, 1.5, float("nan"), [[1]], [{"a": 1}], {"a": "x"}])
@pytest.mark.parametrize(
    "place", ["kept", "sorts", "shapes", "seats", "rows", "kept.gaps_mm", "seats.x", "rows.piece"]
)
def test_a_kept_file_changed_by_hand_says_what_to_do(place: str, wrong: Any):
    read_kept(tomli_w.dumps(KEPT).encode(), "k.toml")
    tables = deepcopy(KEPT)
    *outer, last = place.split(".")
    inner = tables
    for key in outer:
        inner = inner[key]
    inner[last] = wrong
    with pytest.raises(JobError, match="Freeze the job again") as told:
        read_kept(tomli_w.dumps(tables).encode(), "k.toml")
    assert str(told.value).startswith("k.toml")

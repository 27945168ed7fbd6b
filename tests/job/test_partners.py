"""A pair: the drawing and its exact mirror image, lettering readable on both, counted together."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry
from typer.testing import CliRunner

from embellish.arrays import Floats
from embellish.catalogue.shapes import turn_symmetry_deg
from embellish.cli.app import app
from embellish.errors import EmbellishError
from embellish.geometry.outline_forms import own
from embellish.geometry.outlines import bounds, placed, sampled
from embellish.job.files import OpenJob, open_job
from embellish.job.freezing import kept_jobs, kept_text
from embellish.job.laying import Bedded, lay_job
from embellish.job.making import check_job
from embellish.job.partners import MadePair, check_pair, in_pair, made_job
from embellish.job.placing import place
from embellish.job.sizes import made_sizes
from embellish.layout.layout import Layout
from tests.laws import check_garment
from tests.laws import check_pair as check_laws_of_pair

SLEEVE = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="100mm"
viewBox="0 0 120 100">
<path id="leaf" fill="#456" d="M20 95 C2 60 10 20 70 8 C110 30 90 80 20 95 Z"/>
<path id="vein" fill="none" stroke="#000" d="M22 92 C40 60 55 40 70 14"/>
<g id="name"><path id="F" fill="none" stroke="#000" d="M90 90 V70 H102 M93 80 H100"/>
<path id="L" fill="none" stroke="#000" d="M108 70 V90 H117"/></g></svg>"""

OWN = """[[piece]]
code = "HEART"
kind = "sequin"
shape = "outline"
fixing = "glue"
length_mm = {{ min = {length}, nominal = {length}, max = {length} }}
width_mm = {{ min = {width}, nominal = {width}, max = {width} }}
outline_mm = {rows}
"""
Rows = list[tuple[float, float, float]]
HEART: Rows = [(0, -1, 0), (2, -2, 0.5), (3, 0, 0), (0, 4, 0), (-3, 0, 0.5), (-2, -2, 0)]
FLAG: Rows = [(0, 0, 0), (3, 0, 0), (3, 1, 0), (1, 1, 0), (1, 5, 0), (0, 5, 0)]

JOB = """version = 1
title = "Sleeves"
quantity = 3
catalogues = ["shipped:stones", "shipped:pearls", "shipped:shaped"]
[artwork]
file = "a.svg"
rotate_deg = {turn}
[partner]
drawn = "LEFT"
{partner}
[[lay]]
id = "vein"
shapes = "#vein"
way = "row"
pieces = ["NS-8x4-CLEAR"]
gap_mm = 0.8
[[lay]]
id = "name"
shapes = "#name"
way = "row"
pieces = ["R-SS10-RED"]
gap_mm = 0.9
[[lay]]
id = "fill"
shapes = "#leaf"
way = "{way}"
pieces = ["R-SS10-TOPAZ", "R-SS6-CLEAR"]
gap_mm = 1.2
edge_mm = 1.0
[[edit]]
lay = "fill"
do = "add"
at = [0.45, 0.2]
piece = "P-4-CREAM"
[[edit]]
lay = "name"
do = "delete"
shape = "L"
u = 1.0
"""


def opened(where: Path, way: str = "grid", partner: str = "", turn: float = 0.0) -> OpenJob:
    (where / "a.svg").write_text(SLEEVE)
    (where / "job.toml").write_text(JOB.format(way=way, partner=partner, turn=turn))
    return open_job(where / "job.toml")


def both(job: OpenJob) -> tuple[Layout, Layout]:
    left, right = (
        lay_job(each.job, each.artwork, each.catalogue, partner=each.mirrored).layout
        for each in in_pair(job)
    )
    return left, right


def matched(one: Layout, other: Layout, xy: Floats, angle_deg: Floats) -> bool:
    """Tell whether seats at places and angles are those of another layout, piece by piece."""
    away, found = (np.asarray(each) for each in cKDTree(other.xy).query(xy))
    turns = np.array([turn_symmetry_deg(piece) for piece in one.pieces])[one.footprint]
    turn = np.where(turns > 0, turns, 1.0)
    off = np.where(turns > 0, np.mod(angle_deg - other.angle_deg[found] + 1e-5, turn), 0.0)
    alike = np.array_equal(one.footprint, other.footprint[found])
    return bool(
        alike
        and len(set(found.tolist())) == len(one)
        and (away < 1.5e-6).all()
        and (off < 2e-5).all()
    )


@pytest.mark.parametrize("turn", [0.0, 90.0, 28.0])
@pytest.mark.parametrize("way", ["grid", "scatter", "rings"])
def test_the_partner_is_the_exact_mirror_image(tmp_path: Path, way: str, turn: float):
    left, right = both(opened(tmp_path, way, turn=turn))
    mirrored = left.xy * (-1, 1) + (120, 0)
    assert len(left) == len(right) > 100
    assert matched(left, right, mirrored, 180.0 - left.angle_deg)


def split(layout: Layout) -> tuple[Layout, Layout]:
    """The words, and the rest."""
    is_word = layout.lay == 1
    return layout.taken(np.flatnonzero(is_word)), layout.taken(np.flatnonzero(~is_word))


@pytest.mark.parametrize("turn", [0.0, 180.0, -31.0])
def test_lettering_reads_right_on_both_at_the_mirrored_place(tmp_path: Path, turn: float):
    left, right = both(opened(tmp_path, partner='reads_right = "#name"', turn=turn))
    words, rest = split(left)
    other_words, other_rest = split(right)
    assert matched(rest, other_rest, rest.xy * (-1, 1) + (120, 0), 180.0 - rest.angle_deg)
    moved = other_words.xy - words.xy
    assert len(words) == len(other_words) > 8
    assert np.ptp(moved, axis=0).max() < 2.1e-6
    assert np.abs(moved[:, 1]).max() < 2e-6
    if turn == 0.0:
        # The name reaches from 90 to 117: its middle, 103.5, is mirrored to 16.5.
        assert moved[0, 0] == pytest.approx(16.5 - 103.5, abs=2e-6)


def test_what_surrounds_lettering_is_laid_around_it_on_both(tmp_path: Path):
    job = opened(tmp_path, partner='reads_right = "#name"')
    inside = SLEEVE.replace('id="name"', 'id="name" transform="translate(-50 -20)"')
    (tmp_path / "a.svg").write_text(inside)
    job = open_job(job.path)
    for layout in both(job):
        words, rest = split(layout)
        assert len(words) > 8
        assert np.min(cKDTree(rest.xy).query(words.xy)[0]) >= 1.45 + 1.05 + 0.9 - 1e-6
    pair = check_pair(job)
    assert not pair.stopped


def test_each_selector_of_a_list_is_a_group_of_its_own(tmp_path: Path):
    left, right = both(opened(tmp_path, partner='reads_right = ["#F", "#L"]'))
    ids = left.shape_ids
    for name, middle in (("F", 96.0), ("L", 112.5)):
        (one, other) = (layout.xy[layout.shape == ids.index(name)] for layout in (left, right))
        assert other - one == pytest.approx(np.tile([120 - 2 * middle, 0], (len(one), 1)), abs=3e-6)


def own_job(where: Path, rows: Rows, head: str) -> Bedded:
    length, width = bounds_of(rows)
    (where / "own.toml").write_text(
        OWN.format(length=length, width=width, rows=[list(row) for row in rows])
    )
    (where / "a.svg").write_text(SLEEVE)
    (where / "job.toml").write_text(
        'version = 1\ntitle = "Own"\ncatalogues = ["own.toml"]\n' + head + "\n[[lay]]\n"
        'id = "vein"\nshapes = "#vein"\nway = "row"\npieces = ["HEART"]\ngap_mm = 0.5\n'
    )
    job = open_job(where / "job.toml")
    return lay_job(job.job, job.artwork, job.catalogue, partner=in_pair(job)[-1].mirrored)


def bounds_of(rows: Rows) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(own(rows)[0])
    return round(x1 - x0, 4), round(y1 - y0, 4)


def covered(layout: Layout) -> BaseGeometry:
    """What all pieces cover together."""
    return shapely.union_all(
        [
            shapely.Polygon(
                sampled(placed(layout.footprints[k].parts[0].outline, x, y, angle), 1e-3)
            )
            for k, (x, y), angle in zip(
                layout.footprint.tolist(),
                layout.xy.tolist(),
                layout.angle_deg.tolist(),
                strict=True,
            )
        ]
    )


HEADS = {
    "mirrored artwork": '[artwork]\nfile = "a.svg"\nmirror = true',
    "partner": '[artwork]\nfile = "a.svg"\n[partner]',
}


@pytest.mark.parametrize("head", HEADS)
def test_a_heart_hangs_as_it_should_in_the_mirror(tmp_path: Path, head: str):
    plain = own_job(tmp_path, HEART, '[artwork]\nfile = "a.svg"').layout
    bedded = own_job(tmp_path, HEART, HEADS[head])
    mirrored = shapely.affinity.affine_transform(covered(plain), [-1, 0, 0, 1, 120, 0])
    assert covered(bedded.layout).symmetric_difference(mirrored).area < 1e-3
    assert not [each for each in bedded.findings if each.code == "no-mirror-image"]


@pytest.mark.parametrize("head", HEADS)
def test_a_piece_without_a_mirror_image_is_told(tmp_path: Path, head: str):
    bedded = own_job(tmp_path, FLAG, HEADS[head])
    (told,) = [each for each in bedded.findings if each.code == "no-mirror-image"]
    assert "HEART" in told.message
    assert told.lay == "vein"
    plain = own_job(tmp_path, FLAG, '[artwork]\nfile = "a.svg"')
    assert not [each for each in plain.findings if each.code == "no-mirror-image"]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pair with templates and marks, made once."""
    where = tmp_path_factory.mktemp("pair")
    job = opened(where, partner='reads_right = "#name"')
    text = job.path.read_text().replace("gap_mm = 0.9", 'gap_mm = 0.9\nset_by = "hand"')
    job.path.write_text(text)
    result = made_job(open_job(job.path))
    assert isinstance(result, MadePair)
    place(result.files, where / "out")
    return where


def test_each_side_keeps_every_law_and_both_are_counted_together(made: Path):
    sides = check_laws_of_pair(made / "out")
    assert set(sides) == {"LEFT", "RIGHT"}
    quote = json.loads((made / "out" / "quote-all.json").read_text())
    assert quote["quantity"] == 3
    shown = (made / "out" / "quote-all.html").read_text()
    assert shown.count("<img ") == 2
    for words in ("one pair", "3 pairs", "LEFT, layout", "RIGHT, layout", quote["total"]):
        assert words in shown
    assert quote["cost"] not in shown
    assert quote["cost"] in (made / "out" / "costing-all.html").read_text()
    assert (made / "out" / "quote-all.pdf").read_bytes().startswith(b"%PDF")


def test_every_label_says_which_side_it_is(made: Path):
    for side, other in (("LEFT", "RIGHT"), ("RIGHT", "LEFT")):
        folder = made / "out" / side
        words = [*folder.rglob("*.svg"), folder / "worksheet.html", folder / "quote.json"]
        assert len(words) > 4
        for path in words:
            text = path.read_text()
            assert re.search(rf"\b{side}\b", text), path
            assert not re.search(rf"\b{other}\b", text), path
        assert json.loads((folder / "layout.json").read_text())["side"] == side
        # A machine shows the name of a file alone, and stops tell the file.
        (machine,) = (folder / "marks").glob("*.dst")
        assert side.lower() in machine.stem
        with (folder / "marks" / "stops.csv").open(newline="") as file:
            assert all(side.lower() in row["file"] for row in csv.DictReader(file))


def test_every_command_knows_the_pair(made: Path):
    job = str(made / "job.toml")
    run = CliRunner().invoke
    counted = json.loads(run(app, ["count", job, "--json"]).stdout)
    together = json.loads((made / "out" / "materials-all.json").read_text())
    materials = counted["materials"]
    assert (materials["quantity"], materials["lines"]) == (3, together["lines"])
    checked = json.loads(run(app, ["check", job, "--json"]).stdout)
    assert [each["side"] for each in checked["sides"]] == ["LEFT", "RIGHT"]
    drawn = run(app, ["proof", job, "--picture", str(made / "p.svg")])
    assert drawn.exit_code == 0
    for side in ("LEFT", "RIGHT"):
        assert side in (made / f"p-{side}.svg").read_text()
    assert not (made / "p.svg").exists()


def test_both_sides_are_kept_and_made_again(tmp_path: Path):
    job = opened(tmp_path, partner='reads_right = "#name"')
    first = check_pair(job)
    kept = kept_jobs(job)
    assert [path.name for path, _ in kept] == ["job.kept.toml", "job.RIGHT.kept.toml"]
    for path, each in kept:
        path.write_bytes(kept_text(check_job(each)))
    again = check_pair(open_job(job.path))
    for one, other in zip(first.sides, again.sides, strict=True):
        assert other.opened.kept is not None
        assert one.layout.xy.tobytes() == other.layout.xy.tobytes()


def test_sizes_of_a_pair_have_both_sides_each(tmp_path: Path):
    job = opened(tmp_path)
    job.path.write_text(job.path.read_text() + '[[size]]\nname = "S"\npercent = 60\nquantity = 2\n')
    sizes = made_sizes(open_job(job.path))
    place(sizes.files, tmp_path / "out")
    facts = json.loads((tmp_path / "out" / "sizes.json").read_text())
    assert [row["folder"] for row in facts["sizes"]] == ["S/LEFT", "S/RIGHT"]
    assert [row["quantity"] for row in facts["sizes"]] == [2, 2]
    for row in facts["sizes"]:
        assert check_garment(tmp_path / "out" / row["folder"])["side"] in row["size"]


@pytest.mark.parametrize(
    ("partner", "words"),
    [
        ('reads_right = "#nmae"', "finds no shape|nmae"),
        ('side = "LEFT"', "side"),
    ],
)
def test_a_wrong_partner_is_one_sentence(tmp_path: Path, partner: str, words: str):
    with pytest.raises(EmbellishError, match=words) as told:
        check_pair(opened(tmp_path, partner=partner))
    assert "partner" in str(told.value)

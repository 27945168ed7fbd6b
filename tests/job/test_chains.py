"""Goods sold by the length in a job: laid, cut, marked, counted, bought; and what is refused."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from embellish.errors import EmbellishError
from embellish.job.files import open_job
from embellish.job.laying import lay_job
from embellish.job.making import check_job
from embellish.layout.runs import runs_of
from embellish.layout.spacing import near_pairs
from embellish.plans.lengths import cuts_of, lengths_of
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import plan_materials
from tests.cli.running import embellish
from tests.laws import check_made

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">'
    '<rect id="r" x="10" y="10" width="60" height="60" fill="none" stroke="black"/>'
    '<path id="l" d="M80 10 V70" fill="none" stroke="black"/>'
    '<path id="cross" d="M76 40 H110" fill="none" stroke="black"/></svg>'
)
JOB = """version = 1
title = "A chain (invented)"
quantity = 3
catalogues = ["shipped:strung", "shipped:stones", "shipped:sequins"]
[artwork]
file = "a.svg"
[[lay]]
id = "c"
shapes = "SHAPES"
way = "WAY"
pieces = [PIECES]
gap_mm = 0.6
MORE
"""


def written(
    where: Path,
    shapes: str = "#r",
    way: str = "chain",
    pieces: str = '"H-SS12-CLEAR"',
    more: str = "",
) -> Path:
    (where / "a.svg").write_text(SVG)
    text = JOB.replace("SHAPES", shapes).replace("WAY", way).replace("PIECES", pieces)
    (where / "job.toml").write_text(text.replace("MORE", more))
    return where / "job.toml"


def laid(path: Path):
    opened = open_job(path)
    return lay_job(opened.job, opened.artwork, opened.catalogue), opened


def test_each_side_of_a_square_is_a_length_of_its_own(tmp_path: Path):
    bedded, opened = laid(written(tmp_path))
    layout = bedded.layout
    assert sorted(np.bincount(runs_of(layout)).tolist()) == [15, 15, 15, 15]
    assert cuts_of(layout, 0)[0].length_mm == pytest.approx(14 * 3.8 + 3.1)
    lengths = lengths_of([(layout, 1)])["H-SS12-CLEAR"]
    assert (lengths.times, lengths.lost) == ({15: 4}, 4)
    assert lengths_of([(layout, 2), (layout, 3)])["H-SS12-CLEAR"].lost == 20
    none = MaterialSettings(spare_share=Decimal(0), spare_least=0)
    (line,) = plan_materials(layout, 3, opened.catalogue, none).lines
    assert (line.count, line.needed) == (180, 180 + 12)


def test_the_made_folder_keeps_every_law_and_says_what_to_cut(tmp_path: Path):
    written(tmp_path)
    said = embellish("make", "job.toml", "--out", "out", cwd=tmp_path)
    assert said.returncode == 0, said.stderr
    layout = check_made(tmp_path / "out")
    assert layout["lays"][0]["pitch_mm"] == 3.8
    assert "4 × 15 links (56.3 mm)" in (tmp_path / "out" / "worksheet.html").read_text()
    marks = json.loads((tmp_path / "out" / "marks" / "marks.json").read_text())
    sewn = [mark for hooping in marks["hoopings"] for mark in hooping["marks"]]
    assert [mark["kind"] for mark in sewn if mark["kind"] != "cross"] == ["line"] * 4


def test_a_link_that_is_deleted_cuts_the_chain_in_two(tmp_path: Path):
    edit = '[[edit]]\nlay = "c"\ndo = "delete"\nat = [0.6667, 0.3333]'
    whole = laid(written(tmp_path, "#l"))[0].layout
    parted = laid(written(tmp_path, "#l", more=edit))[0].layout
    assert len(parted) == len(whole) - 1
    assert len(np.unique(runs_of(parted))) == 2


def test_where_it_crosses_another_the_earlier_stays_whole(tmp_path: Path):
    more = (
        '[[lay]]\nid = "d"\nshapes = "#cross"\nway = "chain"\npieces = ["H-SS12-CLEAR"]\n'
        "gap_mm = 0.6"
    )
    layout = laid(written(tmp_path, "#l", more=more))[0].layout
    runs = runs_of(layout)
    assert len(np.unique(runs[layout.lay == 0])) == 1
    mine = layout.xy[layout.lay == 1]
    # Behind the other chain at x = 80 it fills what is left, alike far from both ends of it.
    before, behind = mine[:, 0].min() - (80.0 + 3.8), 110.0 - 1.6 - mine[:, 0].max()
    assert before == pytest.approx(behind, abs=0.35)
    assert (np.bincount(runs[layout.lay == 1])[np.unique(runs[layout.lay == 1])] >= 3).all()


def test_a_keep_out_parts_a_chain_and_both_lengths_stand_alike(tmp_path: Path):
    more = '[[keep_out]]\nshapes = "#cross"\nmargin_mm = 2.0'
    bedded, _ = laid(written(tmp_path, "#l", more=more))
    y = bedded.layout.xy[:, 1]
    assert len(np.unique(runs_of(bedded.layout))) == 2
    assert {each.code for each in bedded.findings} == {"laid-around"}
    above, below = y[y < 40.0], y[y > 40.0]
    assert above.min() - 11.6 == pytest.approx(38.0 - 1.6 - above.max(), abs=0.01)
    assert below.min() - 43.6 == pytest.approx(68.4 - below.max(), abs=0.01)
    assert min(38.0 - above.max(), below.min() - 42.0) >= 1.6


STONE = """[[edit]]
lay = "s"
do = "add"
at = [0.6667, 0.3333]
piece = "R-SS10-RED"
[[lay]]
id = "s"
shapes = "#cross"
way = "points"
at = "ends"
pieces = ["R-SS10-RED"]
gap_mm = GAP
"""


@pytest.mark.parametrize("gap", [0.6, 3.0, 5.0, 9.0])
def test_a_stone_in_mid_run_parts_it_and_every_gap_holds(gap: float, tmp_path: Path):
    path = written(tmp_path, "#l", more=STONE.replace("GAP", f"{gap}"))
    path.write_text(path.read_text().replace("gap_mm = 0.6", f"gap_mm = {gap}", 1))
    bedded, _ = laid(path)
    layout = bedded.layout
    pairs = near_pairs(layout)
    assert (pairs.gap_mm >= pairs.asked_mm).all()
    runs = runs_of(layout)[layout.lay == 0]
    assert (np.bincount(runs)[np.unique(runs)] >= 3).all()
    whole = 15
    gone = whole - int(np.count_nonzero(layout.lay == 0))
    told = [
        int(each.message.split()[0])
        for each in bedded.findings
        if each.lay == "c" and each.code in ("clash-dropped", "string-too-short")
    ]
    assert gone == sum(told)


def test_a_parted_chain_has_a_line_for_each_length(tmp_path: Path):
    edit = '[[edit]]\nlay = "c"\ndo = "delete"\nat = [0.6667, 0.3333]'
    checked = check_job(open_job(written(tmp_path, "#l", more=edit)))
    lines = [m for h in checked.plans.stitches.hoopings for m in h.marks if m.kind == "line"]
    cuts = cuts_of(checked.layout, 0)
    assert len(lines) == sum(cut.times for cut in cuts) == 2


BOARD = '[cloth]\nset = "board"\nboard_along_percent = 25\nboard_across_percent = ACROSS'


@pytest.mark.parametrize("across", [0, -10, 80])
@pytest.mark.parametrize("turn", [0.0, 30.0])
def test_on_a_board_a_chain_keeps_its_own_pitch(across: int, turn: float, tmp_path: Path):
    path = written(tmp_path, "*", more=BOARD.replace("ACROSS", f"{across}"))
    path.write_text(
        path.read_text().replace('file = "a.svg"', f'file = "a.svg"\nrotate_deg = {turn}')
    )
    checked = check_job(open_job(path))
    as_set, run = checked.plans.as_set, runs_of(checked.layout)
    same = run[1:] == run[:-1]
    steps = np.hypot(*np.diff(as_set.xy, axis=0).T)[same]
    assert steps == pytest.approx(3.8, abs=1e-5)
    # Cut at the same places on the board and off it.
    assert (runs_of(as_set) == run).all()
    assert (np.bincount(run) >= 3).all()
    pairs = near_pairs(checked.layout)
    assert (pairs.gap_mm >= pairs.asked_mm).all()
    assert not [each for each in checked.findings if each.severity == "error"]
    told = next(each for each in checked.findings if each.code == "string-on-board")
    assert "3.8 mm from link to link on the board" in told.message


def test_what_is_made_for_a_board_keeps_every_law(tmp_path: Path):
    written(tmp_path, "*", more=BOARD.replace("ACROSS", "5"))
    said = embellish("make", "job.toml", "--out", "out", cwd=tmp_path)
    assert said.returncode == 0, said.stderr
    check_made(tmp_path / "out")


def test_a_line_along_the_stretch_takes_as_many_links_as_it_is_long_on_the_board(tmp_path: Path):
    path = written(tmp_path, "#l", more=BOARD.replace("ACROSS", "0"))
    layout = laid(path)[0].layout
    # 60 mm are 75 on the board, less half a link at both ends.
    assert len(layout) == int((75.0 - 3.2) / 3.8) + 1
    assert cuts_of(layout, 0)[0].length_mm == pytest.approx((len(layout) - 1) * 3.8 + 3.1)


REFUSED = {
    "single pieces by the length": ("#r", "chain", '"R-SS10-RED"', "", "not sold by the length"),
    "a chain in a row": ("#r", "row", '"H-SS6-RED"', "", 'Write way = "chain"'),
    "two pieces": ("#r", "chain", '"H-SS6-RED", "H-SS6-CLEAR"', "", "of one piece alone"),
    "symmetric": ("#r", "chain", '"H-SS6-RED"', "symmetric = true", "symmetric = false"),
    "a template": ("#r", "chain", '"H-SS6-RED"', 'set_by = "template"', "not set by template"),
    "moved links": (
        "#l",
        "chain",
        '"H-SS6-RED"',
        '[[edit]]\nlay = "c"\ndo = "move"\nat = [0.6, 0.3]\nalong_mm = 1.0',
        "not moved one by one",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_a_sentence(name: str, tmp_path: Path):
    shapes, way, pieces, more, words = REFUSED[name]
    with pytest.raises(EmbellishError) as told:
        laid(written(tmp_path, shapes, way, pieces, more))
    assert words in str(told.value)


def test_a_pack_by_its_length_holds_the_links_of_it():
    from embellish.catalogue.catalogue import shipped

    chain = shipped("strung").piece("H-SS12-CLEAR")
    assert [pack.pieces for pack in chain.packs] == [263, 2631]
    assert [pack.length_m for pack in chain.packs] == [1, 10]


def test_reels_that_cannot_be_cut_so_are_told(tmp_path: Path):
    path = written(tmp_path, "#l")
    (tmp_path / "short.toml").write_text(
        '[catalogue]\ncurrency = "EUR"\n[[piece]]\ncode = "H-SS12-CLEAR"\nkind = "chain"\n'
        'fixing = "sew-on"\nsize_mm = [3.0, 3.1, 3.2]\n'
        "strung = { pitch_mm = 3.8, least_bend_mm = 8 }\n"
        'packs = [{ length_m = 0.05, price = "1.00" }]\n'
    )
    path.write_text(path.read_text().replace('"shipped:stones"', '"short.toml"'))
    bedded, opened = laid(path)
    plan = plan_materials(bedded.layout, 1, opened.catalogue)
    assert "is on no reel in one piece" in next(
        each.message for each in plan.findings if each.code == "reels-too-short"
    )


def reels_of(tmp_path: Path, packs: str) -> Path:
    path = written(tmp_path, "#r")
    (tmp_path / "short.toml").write_text(
        '[catalogue]\ncurrency = "EUR"\n[[piece]]\ncode = "H-SS12-CLEAR"\nkind = "chain"\n'
        'fixing = "sew-on"\nsize_mm = [3.0, 3.1, 3.2]\n'
        f"strung = {{ pitch_mm = 3.8, least_bend_mm = 8 }}\npacks = [{packs}]\n"
    )
    path.write_text(path.read_text().replace('"shipped:stones"', '"short.toml"'))
    return path


def test_what_is_bought_is_enough_to_cut_every_length_in_one_piece(tmp_path: Path):
    # Three garments take 12 lengths of 15 links and one lost: a reel of 31 holds one, not two.
    opened = open_job(reels_of(tmp_path, '{ length_m = 0.1178, price = "1.00" }'))
    layout = lay_job(opened.job, opened.artwork, opened.catalogue).layout
    plan = plan_materials(layout, 3, opened.catalogue)
    (line,) = plan.lines
    assert [(pack.pieces, pack.quantity) for pack in line.packs] == [(31, 12)]
    assert line.cutting is not None
    assert (line.cutting.plan.used, line.cutting.plan.proven) == (12, True)
    told = next(each for each in plan.findings if each.code == "reels-for-cutting")
    assert f"{12 * 31 - line.needed} links more" in told.message


def test_the_work_sheet_says_from_which_reel_to_cut_what(tmp_path: Path):
    path = reels_of(tmp_path, '{ length_m = 0.32, price = "1.00" }')
    said = embellish("make", str(path), "--out", "out", cwd=tmp_path)
    assert said.returncode == 0, said.stderr
    check_made(tmp_path / "out")
    sheet = (tmp_path / "out" / "worksheet.html").read_text()
    assert "Cut H-SS12-CLEAR to length: 3 reels" in sheet
    assert "Reels 1 to 2, each of 84 links: cut 5 × 16 links; 4 links left." in sheet
    assert "Reel 3 of 84 links: cut 2 × 16 links; 52 links left." in sheet
    (line,) = json.loads((tmp_path / "out" / "materials.json").read_text())["lines"]
    assert line["cutting"]["reels"][0] == {
        "reels": 2,
        "holds": 84,
        "cut": [{"links": 16, "times": 5}],
        "left": 4,
    }

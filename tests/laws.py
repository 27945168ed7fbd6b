"""The laws of a made folder, read from its files alone, as another program would read them."""

from __future__ import annotations

import csv
import hashlib
import json
import math
import re
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
from lxml import etree
from scipy.spatial import cKDTree

from tests.decoders import Decoded, decode_dst, decode_exp
from tests.laws_alignment import check_alignment
from tests.laws_paper import check_card, check_paper

SVG = "{http://www.w3.org/2000/svg}"
Facts = dict[str, Any]


def check_made(out: Path) -> Facts:
    """Check every law that the files of one folder can show; return layout.json."""
    check_hashes(out)
    return check_garment(out)


def check_pair(out: Path) -> dict[str, Facts]:
    """Check the laws of a pair's folder, and of each side; return layout.json of both."""
    check_hashes(out)
    pair = json.loads((out / "pair.json").read_text(encoding="utf-8"))
    assert (pair["format"], pair["version"]) == ("embellish-pair", 1)
    assert [side["side"] for side in pair["sides"]] == ["LEFT", "RIGHT"]
    sides = {}
    counted: Counter[str] = Counter()
    for told in pair["sides"]:
        layout = check_garment(out / told["folder"])
        assert layout["side"] == told["side"]
        assert layout["quantity"] == pair["pairs"]
        assert layout["summary"]["count"] == told["seats"]
        counted.update(code for codes in pieces_of(layout) for code in codes)
        sides[told["side"]] = layout
    together = json.loads((out / "materials-all.json").read_text(encoding="utf-8"))
    assert together["quantity"] == pair["pairs"]
    assert {line["code"]: line["per_garment"] for line in together["lines"]} == counted
    assert {line["code"]: line["count"] for line in together["lines"]} == {
        code: number * pair["pairs"] for code, number in counted.items()
    }
    return sides


def check_garment(out: Path) -> Facts:
    """Check every law of one garment's files, but for their hashes; return layout.json."""
    layout = json.loads((out / "layout.json").read_text(encoding="utf-8"))
    check_layout(layout)
    check_round_gaps(layout)
    check_materials(out, layout)
    if (out / "templates" / "templates.json").exists():
        check_templates(out / "templates", layout)
    else:
        assert not any(lay["set_by"] == "template" and lay["count"] for lay in layout["lays"])
    if (out / "marks" / "marks.json").exists():
        check_marks(out / "marks", layout)
    if (out / "paper" / "paper.json").exists():
        facts = json.loads((out / "paper" / "paper.json").read_text(encoding="utf-8"))
        check_paper(out / "paper", as_set(layout, facts))
    return dict(layout)


def check_trial(out: Path) -> Facts:
    """Check the laws of a folder of what is tried first; return its layout.json."""
    layout = json.loads((out / "layout.json").read_text(encoding="utf-8"))
    check_hashes(out)
    check_layout(layout)
    check_round_gaps(layout)
    if (out / "templates" / "templates.json").exists():
        check_templates(out / "templates", layout)
        check_card(out, layout)
    if (out / "marks" / "marks.json").exists():
        check_marks(out / "marks", layout)
    return dict(layout)


def check_hashes(out: Path) -> None:
    """made.json names every file, and each is as it says."""
    made = json.loads((out / "made.json").read_text(encoding="utf-8"))
    named = {entry["name"]: entry["sha256"] for entry in made["files"]}
    there = {
        path.relative_to(out).as_posix()
        for path in out.rglob("*")
        if path.is_file() and not path.relative_to(out).as_posix().startswith(".")
    }
    assert there == {*named, "made.json"}
    for name, sha256 in named.items():
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == sha256, name


def check_layout(layout: Facts) -> None:
    """The columns fit together; counts and bounds are those of the seats."""
    assert (layout["format"], layout["version"], layout["units"]) == ("embellish-layout", 1, "mm")
    seats = layout["seats"]
    count = layout["summary"]["count"]
    assert {len(column) for column in seats.values()} == {count}
    for piece, unit in zip(seats["piece"], seats["unit"], strict=True):
        assert (piece == -1) != (unit == -1)
    counts = Counter(seats["lay"])
    assert [lay["count"] for lay in layout["lays"]] == [
        counts[i] for i in range(len(layout["lays"]))
    ]
    assert all(0 <= angle < 360 for angle in seats["angle_deg"])
    assert seats["lay"] == sorted(seats["lay"])


def check_round_gaps(layout: Facts) -> None:
    """No gap between two round pieces is below the larger of their lays', without tolerance."""
    seats = layout["seats"]
    is_round = np.array([piece["shape"] == "round" for piece in layout["pieces"]], dtype=bool)
    piece = np.array(seats["piece"], dtype=int)
    keep = (piece >= 0) & np.append(is_round, False)[piece]
    if keep.sum() < 2:
        return
    xy = np.column_stack([seats["x"], seats["y"]])[keep]
    radius = np.array([p["max_length_mm"] for p in layout["pieces"]])[piece[keep]] / 2
    lay = np.array(seats["lay"])[keep]
    gap = np.array([each["gap_mm"] for each in layout["lays"]])[lay]
    lapped = np.array([each["lapped"] for each in layout["lays"]])[lay]
    reach = 2 * radius.max() + gap.max()
    pairs = cKDTree(xy).query_pairs(reach + 1e-3, output_type="ndarray")
    i, j = pairs[:, 0], pairs[:, 1]
    free = np.hypot(*(xy[i] - xy[j]).T) - radius[i] - radius[j]
    bound = ~((lay[i] == lay[j]) & lapped[i])
    # Links of one string: one pitch after the other, in the order of the table.
    pitch = np.array([each.get("pitch_mm", 0.0) for each in layout["lays"]])[lay]
    on = (np.hypot(*np.diff(xy, axis=0).T) <= 1.25 * pitch[1:]) & (lay[1:] == lay[:-1])
    run = np.concatenate([[0], np.cumsum(~on)])
    bound &= ~((pitch[i] > 0) & (run[i] == run[j]) & (np.abs(i - j) <= 3))
    asked = np.maximum(gap[i], gap[j])
    # Floating sums of the radii alone may differ in the last bit.
    assert (free[bound] >= asked[bound] - 1e-12).all(), (free - asked)[bound].min()
    if keep.all() and bound.all() and len(free):
        told = layout["summary"]["min_gap_mm"]
        assert told <= free.min() + 1e-9


def pieces_of(layout: Facts) -> list[list[str]]:
    """The codes of what stands on each seat, units in full."""
    units = [[m["piece"] for m in unit["members"]] for unit in layout["units_of_pieces"]]
    codes = [piece["code"] for piece in layout["pieces"]]
    return [
        [codes[piece]] if piece >= 0 else units[unit]
        for piece, unit in zip(layout["seats"]["piece"], layout["seats"]["unit"], strict=True)
    ]


def check_goods(out: Path, materials: Facts) -> None:
    """Sheets are as many as are drawn, and cost in the quote what they cost in the list."""
    quoted = json.loads((out / "quote.json").read_text(encoding="utf-8"))["lines"]
    amounts = {line["name"]: Decimal(line["amount"]) for line in quoted if line["amount"]}
    drawn = out / "templates" / "templates.json"
    for good in materials.get("goods", []):
        assert amounts[good["name"]] == Decimal(good["cost"] or 0)
        if good["name"].startswith("template sheet") and drawn.exists():
            facts = json.loads(drawn.read_text(encoding="utf-8"))
            assert good["count"] == facts["sheets"]["count"]


def check_materials(out: Path, layout: Facts) -> None:
    """Counts are the seats with units in full × quantity; packs are never short."""
    materials = json.loads((out / "materials.json").read_text(encoding="utf-8"))
    counted = Counter(code for codes in pieces_of(layout) for code in codes)
    lines = {line["code"]: line for line in materials["lines"]}
    assert len(lines) == len(materials["lines"])
    assert {code: line["per_garment"] for code, line in lines.items() if line["count"]} == counted
    for line in lines.values():
        assert line["count"] == line["per_garment"] * layout["quantity"]
        assert line["needed"] == line["count"] + line["spare"]
        bought = sum(pack["pieces"] * pack["quantity"] for pack in line["packs"])
        if line["packs"]:
            assert bought + line["from_stock"] >= line["needed"]
            cost = sum(Decimal(p["price"]) * p["quantity"] for p in line["packs"])
            assert Decimal(line["cost"]) == cost
    check_goods(out, materials)
    with (out / "materials.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert {row["code"] for row in rows} >= set(lines)


def mapped(affine: list[float], x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = affine
    return a * x + c * y + e, b * x + d * y + f


def check_rigid(affine: list[float], *, mirrored: bool) -> None:
    a, b, c, d, _, _ = affine
    assert abs(a * a + b * b - 1) <= 1e-9
    assert abs(c * c + d * d - 1) <= 1e-9
    assert abs(a * c + b * d) <= 1e-9
    assert (a * d - b * c < 0) == mirrored


def as_set(layout: Facts, facts: Facts) -> Facts:
    """The layout in the state of the cloth that templates or marks are for: places alone move."""
    if "state" not in facts:
        return layout
    seats, state = layout["seats"], facts["state"]
    a, b, c, d, _, _ = state["map"]
    # A pure stretch, along the grain and across it: symmetric, of these two lengths.
    assert abs(b - c) <= 1e-9
    lengths = sorted((1 + state["along_percent"] / 100, 1 + state["across_percent"] / 100))
    assert np.allclose(np.linalg.eigvalsh([[a, c], [b, d]]), lengths, atol=1e-9)
    places = [mapped(state["map"], x, y) for x, y in zip(seats["x"], seats["y"], strict=True)]
    moved = {"x": [x for x, _ in places], "y": [y for _, y in places]}
    return {**layout, "seats": {**seats, **moved}}


def check_templates(folder: Path, layout: Facts) -> None:
    """Holes over all templates are the seats set by template, each in its place and size."""
    facts = json.loads((folder / "templates.json").read_text(encoding="utf-8"))
    assert (facts["format"], facts["version"]) == ("embellish-templates", 1)
    layout = as_set(layout, facts)
    seats = layout["seats"]
    set_by = [lay["set_by"] for lay in layout["lays"]]
    wanted = [row for row, lay in enumerate(seats["lay"]) if set_by[lay] == "template"]
    held: list[int] = []
    for template in facts["templates"]:
        codes = {code for part in template["parts"] for row in part["seats"]
                 for code in pieces_of(layout)[row]}  # fmt: skip
        assert codes <= set(template["order"])
        copies: Counter[int] = Counter(row for part in template["parts"] for row in part["seats"])
        # Every copy of a template is whole.
        assert len(set(copies.values())) <= 1
        held.extend(copies)
        for part in [*template["parts"], *template.get("alone", [])]:
            check_rigid(part["to_template"], mirrored=part["mirrored"])
            check_holes(folder / part["file"], part, layout)
    assert sorted(held) == wanted
    if "sheets" in facts:
        check_sheets(folder, facts)
    check_alignment(folder.parent, facts)


def check_sheets(folder: Path, facts: Facts) -> None:
    """What lies on one sheet lies apart and inside it, and the sheets are as many as told."""
    sheets = facts["sheets"]
    files = sorted((folder / "sheets").glob("*.svg"))
    assert len(files) == sheets["count"]
    for path in files:
        root = etree.parse(path).getroot()
        _, _, width, height = map(float, str(root.get("viewBox")).split())
        assert width == sheets["width_mm"]
        assert height == sheets["height_mm"] or (sheets["roll"] and height <= sheets["height_mm"])
        (trim,) = [g for g in root.iter(f"{SVG}g") if g.get("id") == "trim"]
        boxes = []
        for line in trim:
            numbers = re.findall(r"-?[0-9.]+", str(line.get("points") or line.get("d")))
            ring = np.array(numbers, dtype=float).reshape(-1, 2)
            boxes.append([*ring.min(axis=0), *ring.max(axis=0)])
        for index, (x0, y0, x1, y1) in enumerate(boxes):
            assert 0 <= x0 < x1 <= width
            assert 0 <= y0 < y1 <= height
            for a0, b0, a1, b1 in boxes[:index]:
                assert x1 <= a0 or a1 <= x0 or y1 <= b0 or b1 <= y0
    assert abs(sheets["waste_share"] - (1 - sheets["used_mm2"] / sheets["taken_mm2"])) < 1e-5


def check_holes(path: Path, part: Facts, layout: Facts) -> None:
    root = etree.parse(path).getroot()
    box = re.fullmatch(r"0 0 (\S+) (\S+)", str(root.get("viewBox")))
    assert box
    assert (root.get("width"), root.get("height")) == (f"{box[1]}mm", f"{box[2]}mm")
    (layer,) = [g for g in root.iter(f"{SVG}g") if g.get("id") == part["layer"]]
    assert layer.getparent() is root
    assert layer.get("transform") is None
    holes = [child for child in layer if isinstance(child.tag, str)]
    assert len(holes) == len(part["seats"])
    seats, pieces = layout["seats"], layout["pieces"]
    for hole, row in zip(holes, part["seats"], strict=True):
        assert hole.get("transform") is None
        if hole.tag != f"{SVG}circle":
            assert hole.tag == f"{SVG}path"
            assert re.fullmatch(r"M[^a-zL-Z]*([LA][^a-zB-Z]*)+Z\s*", str(hole.get("d"))), hole.get(
                "d"
            )
            continue
        x, y = mapped(part["to_template"], seats["x"][row], seats["y"][row])
        cx, cy, r = (float(str(hole.get(key))) for key in ("cx", "cy", "r"))
        assert math.hypot(cx - x, cy - y) < 1e-5
        assert r >= pieces[seats["piece"][row]]["max_length_mm"] / 2 - 1e-6
        assert r <= cx <= float(box[1]) - r
        assert r <= cy <= float(box[2]) - r


def decoded(path: Path) -> Decoded:
    """Read a stitch file by a decoder of its own: stitches alone, absolute, y down, in mm."""
    read = {".dst": decode_dst, ".exp": decode_exp}[path.suffix]
    return read(path.read_bytes())


def check_base_records(hooping: Facts, found: Decoded) -> None:
    """Marks lie between what a base design sews before them and what it sews after, block by block.

    The blocks of a base are its own: no mark shares one.
    """
    before, after = hooping["base_records"], hooping["base_records_after"]
    count = len(found.stitches_mm)
    assert before >= 0
    assert after >= 0
    assert before == 0 or after == 0
    assert before + after <= count
    last = before - 1
    theirs = {*found.stitch_blocks[:before], *found.stitch_blocks[count - after :]}
    for mark in hooping["marks"]:
        assert last < mark["first"] <= mark["last"] < count - after
        last = mark["last"]
        blocks = set(found.stitch_blocks[mark["first"] : mark["last"] + 1])
        assert blocks == {mark["block"]}, mark
        assert not blocks & theirs
    if hooping["mirrored"]:
        assert before == after == 0


def check_base(out: Path, base: Path, *, first: bool) -> None:
    """One file sews a base design stitch for stitch: every needle point, colour by colour."""
    facts = json.loads((out / "marks" / "marks.json").read_text(encoding="utf-8"))
    own = decoded(base)
    key = "base_records" if first else "base_records_after"
    (hooping,) = [each for each in facts["hoopings"] if each[key]]
    found = decoded(out / "marks" / hooping["file"])
    assert hooping[key] == len(own.stitches_mm)
    part = slice(0, len(own.stitches_mm)) if first else slice(-len(own.stitches_mm), None)
    assert found.stitches_mm[part] == own.stitches_mm
    blocks = np.array(found.stitch_blocks[part])
    assert (blocks - blocks[0]).tolist() == [n - own.stitch_blocks[0] for n in own.stitch_blocks]


def check_sides(hooping: Facts, layout: Facts) -> None:
    """One file sews from one side of the cloth."""
    sides = {
        layout["lays"][layout["seats"]["lay"][seat]].get("worked_from", "front")
        for mark in hooping["marks"]
        for seat in mark["seats"]
    }
    assert len(sides) <= 1


def check_marks(folder: Path, layout: Facts) -> None:
    """Every seat of an `each` lay has one mark, and the file sews it in its place."""
    facts = json.loads((folder / "marks.json").read_text(encoding="utf-8"))
    assert (facts["format"], facts["version"]) == ("embellish-marks", 1)
    layout = as_set(layout, facts)
    each: Counter[int] = Counter()
    seats = layout["seats"]
    for hooping in facts["hoopings"]:
        check_rigid(hooping["to_stitch"], mirrored=hooping["mirrored"])
        name = hooping["file"].split("/")[-1]
        found = decoded(folder / name)
        stitches = found.stitches_mm
        check_base_records(hooping, found)
        check_sides(hooping, layout)
        for mark in hooping["marks"]:
            assert mark["kind"] in ("each", "line", "ends", "outline", "cross")
            own = np.array(stitches[mark["first"] : mark["last"] + 1])
            assert len(own), mark
            # Longer stitches snag: no setting allows more than 7 mm, and the grid adds a unit.
            assert max(found.lengths_mm[mark["first"] + 1 : mark["last"] + 1], default=0) <= 7.1
            if mark["kind"] != "each":
                continue
            each.update(mark["seats"])
            assert len(mark["seats"]) == 1 or len(set(mark["seats"])) == 1
            centre = (own.min(axis=0) + own.max(axis=0)) / 2
            assert np.abs(centre - mark["centre"]).max() <= 0.1 + 1e-9, mark
            row = mark["seats"][0]
            x, y = mapped(hooping["to_stitch"], seats["x"][row], seats["y"][row])
            piece = layout["pieces"][seats["piece"][row]] if seats["piece"][row] >= 0 else None
            if piece is not None and piece["fixing"] != "sew-on":
                assert math.hypot(mark["centre"][0] - x, mark["centre"][1] - y) <= 2e-6
    marks = [lay["mark"] for lay in layout["lays"]]
    for row, lay in enumerate(seats["lay"]):
        if marks[lay] == "each":
            assert each[row] >= 1, row

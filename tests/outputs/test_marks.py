"""The files of a stitch plan: names, places, pictures, what a spreadsheet may open."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from lxml import etree

from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.formats.stitches import FORMATS
from embellish.layout.layout import Layout
from embellish.outputs.marks import marks_files
from embellish.plans.stitching.stitch import StitchPlan, StitchSettings, plan_stitches
from tests.decoders import decode_dst
from tests.formats.test_stitches import read_back
from tests.outputs.cast import TITLE
from tests.plans.stitch_cases import SMALL, grid, layout_of

CROSSES = np.array([[-9.0, -9.0], [60.0, 12.0]])


def made(
    formats: tuple[str, ...] = ("dst",), hoop: Hoop | None = None, **changes: Any
) -> tuple[Layout, StitchPlan, dict[str, bytes], tuple[Finding, ...]]:
    layout = layout_of([*grid(5, 3, 9.0), *[(50.0 + 4.0 * i, 3.0, 0.0, 0) for i in range(4)]])
    plan = plan_stitches(
        layout, StitchSettings(formats=formats, **changes), hoop, crosses_mm=CROSSES
    )
    files, findings = marks_files(plan, layout, TITLE)
    return layout, plan, files, findings


def test_names_of_files():
    _, _, files, findings = made(("dst", "exp", "pes"))
    assert sorted(files) == [
        "marks/marks.dst",
        "marks/marks.exp",
        "marks/marks.json",
        "marks/marks.pes",
        "marks/marks.svg",
        "marks/plan.json",
        "marks/stops.csv",
    ]
    assert {finding.code for finding in findings} == {"dst-loses", "exp-loses"}


@pytest.mark.parametrize("mirrored", [False, True])
def test_marks_json_finds_each_mark_in_the_file(mirrored):
    layout, _, files, _ = made(mirrored=mirrored, hoop=Hoop(name="h", field_mm=(50.0, 60.0)))
    facts = json.loads(files["marks/marks.json"])
    assert (facts["format"], facts["version"]) == ("embellish-marks", 1)
    assert len(facts["hoopings"]) > 1
    seen = []
    for hooping in facts["hoopings"]:
        found = decode_dst(files[f"marks/{hooping['file']}"])
        a, b, c, d, e, f = hooping["to_stitch"]
        assert max(abs(a * a + b * b - 1), abs(c * c + d * d - 1), abs(a * c + b * d)) <= 1e-9
        assert hooping["mirrored"] is mirrored
        assert (a * d - b * c) == pytest.approx(-1.0 if mirrored else 1.0)
        last = -1
        for mark in hooping["marks"]:
            points = np.array(found.stitches_mm[mark["first"] : mark["last"] + 1])
            middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
            assert np.abs(middle - mark["centre"]).max() <= 0.1
            assert mark["first"] > last
            last = mark["last"]
            if mark["kind"] == "each":
                (seat,) = mark["seats"]
                x, y = layout.xy[seat]
                wanted = (a * x + c * y + e, b * x + d * y + f)
                assert np.abs(np.array(wanted) - mark["centre"]).max() <= 1e-5
                seen.append(seat)
    assert sorted(seen) == list(range(len(layout)))


def test_stops_say_what_to_do_and_match_the_file():
    _, _, files, _ = made()
    rows = list(csv.DictReader(io.StringIO(files["marks/stops.csv"].decode())))
    assert list(rows[0]) == ["block", "colour", "code", "count", "what to do", "file", "when"]
    assert [row["when"] for row in rows] == ["later", "after all sewing", "after all sewing"]
    assert [row["what to do"] for row in rows[1:]] == ["sew on 15 LARGE", "sew on 4 SS10 clear"]
    assert decode_dst(files["marks/marks.dst"]).colour_changes == len(rows) - 1


def test_no_cell_is_a_formula():
    piece = SMALL.model_copy(update={"code": "=SUM(A1)", "size": ""})
    layout = layout_of([(0.0, 0.0, 0.0, 0)], pieces=(piece,))
    files, _ = marks_files(plan_stitches(layout, StitchSettings()), layout, TITLE)
    rows = list(csv.reader(io.StringIO(files["marks/stops.csv"].decode())))
    assert rows[1][2] == "'=SUM(A1)"


def test_plan_json_counts_what_the_file_holds():
    _, plan, files, _ = made()
    facts = json.loads(files["marks/plan.json"])
    assert facts["as_planned"]["stitches"] == len(plan.hoopings[0].design.stitches)
    assert facts["as_planned"]["minutes"] < facts["before_joining"]["minutes"]
    assert facts["as_planned"]["stops"] == 2
    assert facts["as_planned"]["trims"] < facts["before_joining"]["trims"]


def test_the_picture_is_true_to_size_titled_and_stamped():
    layout, plan, files, _ = made(hoop=Hoop(name="invented", field_mm=(130.0, 180.0)))
    root = etree.fromstring(files["marks/marks.svg"])
    width = float(str(root.attrib["width"]).removesuffix("mm"))
    assert str(root.attrib["viewBox"]).split()[2] == f"{width:g}"
    text = " ".join(str(part) for part in root.itertext())
    for words in (TITLE.words, "sew on 15 LARGE", "field 130 x 180 mm", "can break"):
        assert words in text
    assert "NOT TO BE SEWN" not in text
    stopped, _ = marks_files(plan, layout, replace(TITLE, stop="NOT TO BE SEWN"))
    assert b"NOT TO BE SEWN" in stopped["marks/marks.svg"]
    assert stopped["marks/marks.dst"] == files["marks/marks.dst"]


def test_same_bytes_twice():
    formats = ("dst", "exp", "jef", "pec", "pes", "tbf", "u01", "vp3", "xxx")
    assert made(formats)[2] == made(formats)[2]


def test_nothing_sewn_makes_no_file():
    layout = layout_of([(0.0, 0.0, 0.0, 0)], mark="none")
    assert marks_files(plan_stitches(layout, StitchSettings()), layout, TITLE) == ({}, ())


@pytest.mark.parametrize("extension", sorted(FORMATS))
def test_every_format_sews_each_mark_about_its_centre(extension):
    layout, plan, files, _ = made((extension,))
    (hooping,) = plan.hoopings
    points, _ = read_back(files[f"marks/marks.{extension}"], extension)
    wanted = hooping.design.stitches
    slack = 0.15 if extension == "vp3" else 0.1
    each = [mark for mark in hooping.marks if mark.kind == "each"]
    assert len(each) == len(layout)
    for mark in each:
        path = wanted[mark.first : mark.last + 1]
        # Each needle point of the mark as the file has it: the nearest one there.
        away = np.abs(points[None] - path[:, None]).max(axis=2)
        own = points[np.argmin(away, axis=1)]
        middle = (own.min(axis=0) + own.max(axis=0)) / 2.0
        assert away.min(axis=1).max() <= 0.1 + 1e-9
        place = hooping.to_stitch(layout.xy[mark.seats[0]])
        assert np.abs(middle - place).max() <= slack
        steps = np.hypot(*np.diff(own, axis=0).T)
        assert steps.max() <= plan.settings.longest_mm + 0.15

"""``embellish names``: a list of names, as a maker runs it."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.artwork.own_font import own_font
from tests.cli.running import embellish

JOB = """version = 1
title = "Team"
catalogues = ["shipped:stones"]
[[lettering]]
text = "H"
font = "boxes.ttf"
cap_height_mm = 30
most_width_mm = 150
[[lay]]
id = "fill"
shapes = "#name"
way = "grid"
pieces = ["R-SS10-CLEAR"]
gap_mm = 1.0
[template]
clearance_mm = 0.2
"""

LIST = """name,quantity,lay.fill.pieces,note
HH,2,,captain
HTHTHTHT,1,R-SS16-RED,
../H,1,,
HH,1,,
"""


@pytest.fixture
def team(tmp_path: Path) -> Path:
    (tmp_path / "boxes.ttf").write_bytes(own_font())
    (tmp_path / "team.toml").write_text(JOB)
    (tmp_path / "team.csv").write_text(LIST.replace("../H", "../X"))
    return tmp_path


def test_every_name_has_its_folder_and_all_are_bought_once(team: Path):
    (team / "team.csv").write_text(LIST.replace("../H", "X/../X").replace("X/../X", "HX"))
    done = embellish("names", "team.toml", "team.csv", "--out", "made", "--json", cwd=team)
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert [each["folder"] for each in facts["names"]] == ["HH", "HTHTHTHT", "HX", "HH-2"]
    assert [each["quantity"] for each in facts["names"]] == [2, 1, 1, 1]
    for each in facts["names"]:
        folder = team / "made" / each["folder"]
        layout = json.loads((folder / "layout.json").read_text())
        assert layout["summary"]["count"] == each["seats"] > 10
        assert (folder / "templates" / "template-1.svg").exists()
    assert facts["names"][1]["width_mm"] <= 150.0
    assert set(facts["names"][1]["pieces"]) == {"R-SS16-RED"}
    bought = json.loads((team / "made" / "materials-all.json").read_text())
    counts = {line["code"]: line["count"] for line in bought["lines"]}
    wanted = {"R-SS10-CLEAR": 0, "R-SS16-RED": 0}
    for each in facts["names"]:
        for code, count in each["pieces"].items():
            wanted[code] += count * each["quantity"]
    assert counts == wanted
    with (team / "made" / "names.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [each["note"] for each in rows] == ["captain", "", "", ""]
    page = (team / "made" / "names.html").read_text()
    assert page.count("data:image/png") == 4


def test_some_names_are_made_again_with_just_their_buying(team: Path):
    (team / "team.csv").write_text(LIST.replace("../H", "HX"))
    assert embellish("names", "team.toml", "team.csv", "--out", "made", cwd=team).returncode == 0
    again = embellish(
        "names", "team.toml", "team.csv", "--only", "5", "--out", "again", "--json", cwd=team
    )
    assert again.returncode == 0, again.stderr
    (one,) = json.loads(again.stdout)["names"]
    assert one["folder"] == "HH-2"  # as in the whole list
    first = (team / "made/HH-2/layout.json").read_bytes()
    assert (team / "again/HH-2/layout.json").read_bytes() == first
    bought = json.loads((team / "again/materials-all.json").read_text())
    assert bought["lines"][0]["count"] == one["seats"]
    into = embellish("names", "team.toml", "team.csv", "--only", "5", "--out", "made", cwd=team)
    assert into.returncode == 2
    assert "only some would be left" in into.stderr
    assert (team / "made/HTHTHTHT/layout.json").exists()


def test_a_name_that_leads_out_of_the_folder_stays_in_it(team: Path):
    (team / "boxes.ttf").write_bytes(own_font())
    (team / "team.csv").write_text("name\n../../H\nH/H\n")
    done = embellish("names", "team.toml", "team.csv", "--out", "made", "--anyway", cwd=team)
    assert done.returncode == 1, done.stderr  # dots are missing in this font, which is an error
    folders = sorted(each.name for each in (team / "made").iterdir() if each.is_dir())
    assert folders == ["H", "H-H"]


def test_the_row_that_cannot_be_made_is_named_and_nothing_is_written(team: Path):
    (team / "team.csv").write_text("name,lay.fill.gap_mm\nHH,1.0\nTT,wide\n")
    done = embellish("names", "team.toml", "team.csv", "--out", "made", cwd=team)
    assert done.returncode == 2
    assert "team.csv, line 3, 'TT'" in done.stderr
    assert "gap_mm" in done.stderr
    assert not (team / "made").exists()


def test_a_first_job_for_words_runs_as_it_stands(team: Path):
    done = embellish("new", "--text", "HTX", "--font", "boxes.ttf", "--job", "words.toml", cwd=team)
    assert done.returncode == 0, done.stderr
    looked = embellish("look", "words.toml", "--json", cwd=team)
    shapes = json.loads(looked.stdout)["shapes"]
    assert [shape["id"] for shape in shapes] == ["name-1", "name-2", "name-3"]
    assert shapes[0]["bounds_mm"][3] - shapes[0]["bounds_mm"][1] == pytest.approx(30.0)
    assert embellish("check", "words.toml", cwd=team).returncode == 0
    both = embellish("new", "a.svg", "--text", "H", cwd=team)
    assert both.returncode == 2
    assert "begins with one thing" in both.stderr

"""Every command, end to end, as a person runs it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.running import embellish, embellish_apart
from tests.laws import check_made

ROOT = Path(__file__).parent.parent.parent
MOTH = ROOT / "demos" / "moth"

HEART = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="70mm" viewBox="0 0 80 70">
<path id="heart" d="M40 66 C10 44 4 30 6 18 C9 3 32 1 40 18 C48 1 71 3 74 18 C76 30 70 44 40 66 Z"/>
</svg>"""

JOB = """version = 1
title = "Heart"
catalogues = ["shipped:stones"]
[artwork]
file = "heart.svg"
[[lay]]
id = "edge"
shapes = "#heart"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
"""


@pytest.fixture
def heart(tmp_path: Path) -> Path:
    (tmp_path / "heart.svg").write_text(HEART)
    (tmp_path / "heart.toml").write_text(JOB)
    return tmp_path


def test_make_keeps_every_law_and_the_same_bytes_twice(heart: Path):
    first = embellish_apart("make", "heart.toml", "--out", "one", cwd=heart)
    assert first.returncode == 0, first.stderr
    second = embellish_apart("make", "heart.toml", "--out", "two", cwd=heart)
    assert second.returncode == 0, second.stderr
    layout = check_made(heart / "one")
    assert layout["summary"]["count"] > 40
    assert (heart / "one" / "made.json").read_bytes() == (heart / "two" / "made.json").read_bytes()


def test_make_again_over_its_own_folder(heart: Path):
    assert embellish("make", "heart.toml", "--out", "one", cwd=heart).returncode == 0
    (heart / "heart.toml").write_text(JOB.replace("SS10", "SS6"))
    assert embellish("make", "heart.toml", "--out", "one", cwd=heart).returncode == 0
    assert check_made(heart / "one")["pieces"][0]["code"] == "R-SS6-CLEAR"


def test_an_error_finding_withholds_the_machine_files_unless_anyway(heart: Path):
    # A gap below clearance and wall: the template would tear.
    (heart / "heart.toml").write_text(JOB.replace("0.9", "0.1"))
    made = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert made.returncode == 1
    assert "withheld" in made.stdout
    assert not (heart / "one" / "templates").exists()
    assert not (heart / "one" / "marks").exists()
    findings = json.loads((heart / "one" / "findings.json").read_text(encoding="utf-8"))
    assert any(finding["severity"] == "error" for finding in findings)
    assert "NOT TO BE CUT" in (heart / "one" / "proof.svg").read_text(encoding="utf-8")

    anyway = embellish("make", "heart.toml", "--out", "two", "--anyway", cwd=heart)
    assert anyway.returncode == 1
    (template,) = (heart / "two" / "templates").glob("*.svg")
    assert "NOT TO BE CUT" in template.read_text(encoding="utf-8")
    check_made(heart / "two")


def test_json_says_what_was_made(heart: Path):
    made = embellish("make", "heart.toml", "--out", "one", "--json", cwd=heart)
    facts = json.loads(made.stdout)
    assert facts["seats"] == check_made(heart / "one")["summary"]["count"]
    assert facts["stopped"] is False
    assert "layout.json" in facts["files"]


BAD_JOBS = {
    "no such job": (None, ["nowhere.toml", "no such job file"]),
    "no such artwork": (
        JOB.replace("heart.svg", "heartt.svg"),
        ["heartt.svg", "no such artwork"],
    ),
    "no such catalogue": (JOB.replace("shipped:stones", "mine.toml"), ["mine.toml"]),
    "no such shipped catalogue": (JOB.replace("shipped:stones", "shipped:rocks"), ["rocks"]),
    "unknown piece": (
        JOB.replace("R-SS10-CLEAR", "R-SS10-CLAER"),
        ["heart.toml", "lay 'edge'", "R-SS10-CLEAR"],
    ),
    "nothing selected": (JOB.replace("#heart", "#hart"), ["heart.toml", "#hart", "heart"]),
    "bad selector": (JOB.replace("#heart", "heart > path"), ["heart.toml", "lay 'edge'"]),
    "broken TOML": (JOB + "x = [", ["heart.toml", "line"]),
}


@pytest.mark.parametrize("name", BAD_JOBS)
def test_bad_input_is_one_sentence_exit_2_and_nothing_written(heart: Path, name: str):
    text, words = BAD_JOBS[name]
    job = "nowhere.toml" if text is None else "heart.toml"
    if text is not None:
        (heart / job).write_text(text)
    made = embellish("make", job, "--out", "one", cwd=heart)
    assert made.returncode == 2, made.stderr
    assert len(made.stderr.strip().splitlines()) == 1, made.stderr
    for word in words:
        assert word in made.stderr
    assert not (heart / "one").exists()


def test_broken_artwork_names_file_and_line(heart: Path):
    (heart / "heart.svg").write_text(HEART.replace("</svg>", ""))
    made = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert made.returncode == 2
    assert "heart.svg" in made.stderr
    assert "line" in made.stderr
    assert not (heart / "one").exists()


def test_an_unsized_drawing_asks_for_its_size(heart: Path):
    (heart / "heart.svg").write_text(HEART.replace('width="80mm" height="70mm"', ""))
    made = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert made.returncode == 2
    assert "width_mm" in made.stderr
    (heart / "heart.toml").write_text(JOB.replace("[[lay]]", "width_mm = 160\n[[lay]]"))
    assert embellish("make", "heart.toml", "--out", "one", cwd=heart).returncode == 0
    x0, _, x1, _ = check_made(heart / "one")["summary"]["bounds_mm"]
    assert 130 < x1 - x0 < 142


def test_somebody_elses_file_in_the_way(heart: Path):
    (heart / "one").mkdir()
    (heart / "one" / "layout.json").write_text("mine")
    made = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert made.returncode == 2
    assert "layout.json" in made.stderr
    assert {path.name for path in (heart / "one").iterdir() if path.name[0] != "."} == {
        "layout.json"
    }


def test_look_tells_shapes_and_size(heart: Path):
    seen = embellish("look", "heart.svg", "--json", cwd=heart)
    facts = json.loads(seen.stdout)
    assert (facts["width_mm"], facts["height_mm"]) == (80, 70)
    (shape,) = facts["shapes"]
    assert shape["id"] == "heart"
    assert shape["kind"] == "region"
    assert "heart" in embellish("look", "heart.svg", cwd=heart).stdout
    wide = json.loads(embellish("look", "heart.svg", "--width-mm", 160, "--json", cwd=heart).stdout)
    assert wide["shapes"][0]["area_mm2"] == pytest.approx(4 * shape["area_mm2"], rel=1e-3)


@pytest.mark.parametrize("width", ["0", "-3", "nan", "inf"])
def test_look_refuses_a_width_that_is_none(heart: Path, width: str):
    seen = embellish("look", "heart.svg", "--width-mm", width, cwd=heart)
    assert seen.returncode == 2
    assert "Traceback" not in seen.stderr


def test_look_draws_the_shapes_with_their_ids(heart: Path):
    seen = embellish("look", "heart.svg", "--picture", "shapes.svg", cwd=heart)
    assert seen.returncode == 0, seen.stderr
    assert "Wrote shapes.svg." in seen.stdout
    assert ">#heart</text>" in (heart / "shapes.svg").read_text()
    again = embellish("look", "heart.svg", "--picture", "shapes.svg", cwd=heart)
    assert again.returncode == 2
    assert "--over" in again.stderr
    job = embellish("look", "heart.toml", "--picture", "shapes.svg", "--over", "--json", cwd=heart)
    assert json.loads(job.stdout)["picture"] == "shapes.svg"
    assert json.loads(job.stdout)["without_room"] == []


@pytest.mark.parametrize("source", ["heart.svg", "heart.toml"])
def test_look_never_draws_over_what_it_looks_at(heart: Path, source: str):
    before = (heart / "heart.svg").read_bytes()
    seen = embellish("look", source, "--picture", "heart.svg", "--over", cwd=heart)
    assert seen.returncode == 2
    assert "heart.svg" in seen.stderr
    assert (heart / "heart.svg").read_bytes() == before
    other = embellish("look", source, "--picture", "shapes.gif", cwd=heart)
    assert other.returncode == 2
    assert ".svg or .png" in other.stderr


def test_new_writes_a_job_that_runs_at_once(heart: Path):
    (heart / "heart.toml").unlink()
    new = embellish("new", "heart.svg", cwd=heart)
    assert new.returncode == 0, new.stderr
    made = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert made.returncode == 0, made.stdout + made.stderr
    layout = check_made(heart / "one")
    assert layout["summary"]["count"] > 20
    again = embellish("new", "heart.svg", cwd=heart)
    assert again.returncode == 2
    assert "heart.toml" in again.stderr


def test_new_asks_for_a_size_where_there_is_none(heart: Path):
    (heart / "bare.svg").write_text(HEART.replace('width="80mm" height="70mm"', ""))
    asked = embellish("new", "bare.svg", cwd=heart)
    assert asked.returncode == 2
    assert "--width-mm" in asked.stderr
    assert embellish("new", "bare.svg", "--width-mm", 90, cwd=heart).returncode == 0
    assert embellish("make", "bare.toml", "--out", "one", cwd=heart).returncode == 0


def test_check_and_count_write_nothing(heart: Path):
    before = {path.name for path in heart.iterdir()}
    assert embellish("check", "heart.toml", cwd=heart).returncode == 0
    counted = json.loads(embellish("count", "heart.toml", "--json", cwd=heart).stdout)
    assert counted["materials"]["lines"][0]["code"] == "R-SS10-CLEAR"
    assert "pieces to buy" in embellish("count", "heart.toml", cwd=heart).stdout
    assert {path.name for path in heart.iterdir()} == before


def test_the_catalogue_is_listed():
    facts = json.loads(embellish("catalogue", "list", "--json").stdout)
    (piece,) = [each for each in facts if each["code"] == "R-SS10-CLEAR"]
    assert piece["length_mm"]["max"] == 2.9
    assert piece["source"]
    assert "R-SS10-CLEAR" in embellish("catalogue", "list").stdout


def test_the_moth_is_made_whole_and_lawful(tmp_path: Path):
    shutil.copytree(MOTH, tmp_path / "moth", ignore=shutil.ignore_patterns("out"))
    made = embellish("make", "moth.toml", "--out", "out", cwd=tmp_path / "moth")
    assert made.returncode == 0, made.stdout + made.stderr
    layout = check_made(tmp_path / "moth" / "out")
    assert layout["summary"]["count"] >= 300
    assert {lay["set_by"] for lay in layout["lays"]} == {"template", "hand"}
    for name in ("proof.svg", "proof.png", "marks/marks.json", "templates/templates.json"):
        assert (tmp_path / "moth" / "out" / name).stat().st_size > 500, name


@pytest.mark.parametrize("turn", [37.0, 90.0])
@pytest.mark.parametrize("mirror", [False, True])
def test_turning_the_artwork_turns_the_layout_alike(heart: Path, turn: float, mirror: bool):
    """Seats of the turned job are the plain job's seats, mirrored then turned about the page."""
    import numpy as np

    def seats(name: str) -> np.ndarray:
        made = embellish("make", "heart.toml", "--out", name, cwd=heart)
        assert made.returncode == 0, made.stderr
        seats = json.loads((heart / name / "layout.json").read_text())["seats"]
        return np.column_stack([seats["x"], seats["y"]])

    plain = seats("plain")
    text = f"rotate_deg = {turn}\nmirror = {str(mirror).lower()}\n[[lay]]"
    (heart / "heart.toml").write_text(JOB.replace("[[lay]]", text))
    turned = seats("turned")
    centre = np.array([40.0, 35.0])
    away = (plain - centre) * ([-1, 1] if mirror else [1, 1])
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    expected = centre + away @ np.array([[c, s], [-s, c]])
    assert np.abs(turned - expected).max() < 2e-6


@pytest.mark.parametrize("gap", ["1.86", "1.95", "2.05"])
def test_a_gap_asked_about_keeps_the_whole_row(heart: Path, gap: str):
    text = JOB.replace("gap_mm = 0.9", f'gap_mm = {gap}\nfit = "about"')
    (heart / "heart.toml").write_text(text)
    assert embellish("make", "heart.toml", "--out", "one", cwd=heart).returncode == 0
    layout = check_made(heart / "one")
    assert layout["summary"]["count"] in (42, 44)
    assert abs(layout["summary"]["min_gap_mm"] - float(gap)) < 0.12


def test_proof_writes_the_picture_alone(heart: Path):
    before = {path.name for path in heart.iterdir()}
    for name in ("p.svg", "p.png"):
        assert embellish("proof", "heart.toml", "--picture", name, cwd=heart).returncode == 0
    assert {path.name for path in heart.iterdir()} - before == {"p.svg", "p.png"}
    assert (heart / "p.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    again = embellish("proof", "heart.toml", "--picture", "p.svg", cwd=heart)
    assert again.returncode == 2
    assert "--over" in again.stderr
    assert (
        embellish("proof", "heart.toml", "--picture", "p.svg", "--over", cwd=heart).returncode == 0
    )
    for words in (["heart.svg"], ["heart.svg", "--over"]):
        lost = embellish("proof", "heart.toml", "--picture", *words, cwd=heart)
        assert lost.returncode == 2
        assert (heart / "heart.svg").read_text() == HEART
    wrong = embellish("proof", "heart.toml", "--picture", "p.gif", cwd=heart)
    assert wrong.returncode == 2
    assert "p.gif" in wrong.stderr


def test_a_piece_is_found_and_shown():
    facts = json.loads(embellish("catalogue", "list", "--find", "SS10 blue", "--json").stdout)
    assert facts
    assert all("SS10" in each["code"] and "blue" in each["colour"] for each in facts)
    assert "2.8 mm, from 2.7 to 2.9 mm" in embellish("catalogue", "show", "R-SS10-CLEAR").stdout
    for asked in (("find", "SS10 bleu"), ("list", "--find", "SS10 bleu")):
        assert "No piece has 'bleu'. Did you mean 'blue'?" in embellish("catalogue", *asked).stdout
    assert "ask for less" in embellish("catalogue", "find", "blue", "--from-mm", "900").stdout
    wrong = embellish("catalogue", "show", "R-SS10-CLAER")
    assert wrong.returncode == 2
    assert "R-SS10-CLEAR" in wrong.stderr


def test_a_catalogue_is_checked(tmp_path: Path):
    checked = embellish("catalogue", "check", "shipped:stones", "--json")
    assert checked.returncode == 0
    assert json.loads(checked.stdout)["pieces"] > 100
    (tmp_path / "mine.toml").write_text('[[piece]]\ncode = "A"\nkind = "stoen"\n')
    wrong = embellish("catalogue", "check", "mine.toml", cwd=tmp_path)
    assert wrong.returncode == 2
    for word in ("mine.toml", "A", "kind", "stone"):
        assert word in wrong.stderr


def test_sizes_makes_a_folder_each(heart: Path):
    sizes = '\n[[size]]\nname = "S"\npercent = 80\n[[size]]\nname = "M"\nwidth_mm = 90\n'
    (heart / "heart.toml").write_text(JOB + sizes)
    made = embellish("sizes", "heart.toml", "--out", "all", cwd=heart)
    assert made.returncode == 0, made.stderr
    assert {path.name for path in (heart / "all").iterdir() if path.is_dir()} == {"S", "M"}
    facts = json.loads(embellish("sizes", "heart.toml", "--out", "all", "--json", cwd=heart).stdout)
    assert facts["sizes"][0]["seats"] < facts["sizes"][1]["seats"]
    bare = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert bare.returncode == 0


def test_freeze_keeps_and_thaw_lays_anew(heart: Path):
    kept = embellish("freeze", "heart.toml", "--json", cwd=heart)
    assert kept.returncode == 0, kept.stderr
    assert (heart / "heart.kept.toml").exists()
    facts = json.loads(kept.stdout)
    made = embellish("make", "heart.toml", "--out", "one", "--json", cwd=heart)
    assert json.loads(made.stdout)["fingerprint"] == facts["fingerprint"]
    assert check_made(heart / "one")["summary"]["count"] == facts["seats"]
    assert embellish("make", "heart.toml", "--out", "two", "--thaw", cwd=heart).returncode == 0


def test_look_at_a_job_says_what_is_in_force_and_where_it_came_from(heart: Path):
    seen = embellish("look", "heart.toml", "--json", cwd=heart)
    assert seen.returncode == 0, seen.stderr
    found = {each["key"]: each for each in json.loads(seen.stdout)["settings"]}
    assert (found["lay.edge.gap_mm"]["value"], found["lay.edge.gap_mm"]["from"]) == (0.9, "job")
    assert found["lay.edge.corner_deg"]["from"] == "built-in"
    assert found["lay.edge.set_by"] == {
        "key": "lay.edge.set_by",
        "value": "template",
        "from": "from the pieces",
    }
    assert found["template.wall_mm"]["from"] == "built-in"
    assert found["quantity"] == {"key": "quantity", "value": 1, "from": "built-in"}
    assert "lay.edge.gap_mm" in embellish("look", "heart.toml", cwd=heart).stdout
    (heart / "heart.toml").write_text(JOB.replace("R-SS10-CLEAR", "NOPE"))
    wrong = embellish("look", "heart.toml", cwd=heart)
    assert wrong.returncode == 2
    assert "heart.toml" in wrong.stderr


def test_a_job_that_lays_nothing_is_an_error(heart: Path):
    (heart / "heart.toml").write_text(
        JOB.replace("gap_mm = 0.9", "gap_mm = 0.9\nedge_mm = 500").replace('"row"', '"grid"')
    )
    made = embellish("make", "heart.toml", "--out", "one", cwd=heart)
    assert made.returncode == 1
    assert "no piece is laid" in made.stdout
    assert not (heart / "one" / "templates").exists()


@pytest.mark.parametrize("out", [".", ""])
def test_nothing_is_made_in_the_jobs_own_folder(heart: Path, out: str):
    before = {path.name for path in heart.iterdir()}
    made = embellish("make", "heart.toml", "--out", out, cwd=heart)
    assert made.returncode == 2
    assert "own folder" in made.stderr
    assert {path.name for path in heart.iterdir()} == before


def test_what_could_stand_in_for_a_piece_is_proposed(heart: Path):
    facts = json.loads(embellish("catalogue", "instead", "R-SS10-RED", "--json").stdout)
    assert len(facts) == 5
    assert all(each["for"] == "R-SS10-RED" and "SS10" in each["take"] for each in facts)
    shown = embellish("catalogue", "instead", "heart.toml", "--most", "1", cwd=heart).stdout
    assert "a sample card decides" in shown


def test_what_no_list_says_is_kept_in_a_map_beside_it(tmp_path: Path):
    (tmp_path / "mine.toml").write_text(
        '[catalogue]\nname = "Harbour (invented)"\ncurrency = "EUR"\n'
        '[suppliers.Harbour]\nshipping = "4.90"\n'
        '[[piece]]\ncode = "A"\nkind = "stone"\nfixing = "glue"\n'
        "size_mm = [2.7, 2.8, 2.9]\n"
    )
    asked = ("catalogue", "export", "mine.toml", "--out", "list.csv")
    said = embellish(*asked, cwd=tmp_path)
    assert "--write-map" in said.stdout
    same = embellish(*asked, "--write-map", "list.csv", "--over", cwd=tmp_path)
    assert (same.returncode, "one file" in same.stderr) == (2, True)
    assert embellish(*asked, "--write-map", "map.toml", cwd=tmp_path).returncode == 2  # no --over
    assert not (tmp_path / "map.toml").exists()
    assert embellish(*asked, "--write-map", "map.toml", "--over", cwd=tmp_path).returncode == 0
    made = embellish(
        "catalogue", "import", "list.csv", "--map", "map.toml", "--out", "back.toml", cwd=tmp_path
    )
    assert made.returncode == 0, made.stderr
    back = (tmp_path / "back.toml").read_text()
    assert 'name = "Harbour (invented)"' in back
    assert 'shipping = "4.90"' in back


def test_a_list_becomes_a_catalogue_and_is_put_into_it_again(tmp_path: Path):
    said = embellish("catalogue", "export", "shipped:studs", "--out", "list.xlsx", cwd=tmp_path)
    assert said.returncode == 0, said.stderr
    made = embellish("catalogue", "import", "list.xlsx", "--out", "mine.toml", cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    before = (tmp_path / "mine.toml").read_bytes()
    again = embellish(
        "catalogue", "import", "list.xlsx", "--into", "mine.toml", "--json", cwd=tmp_path
    )
    assert json.loads(again.stdout)["changed"] == []
    assert (tmp_path / "mine.toml").read_bytes() == before
    there = embellish("catalogue", "import", "list.xlsx", "--out", "mine.toml", cwd=tmp_path)
    assert there.returncode == 2
    assert "--over" in there.stderr

"""``embellish rough``: near what the work comes to when it is laid."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import embellish

JOB = """version = 1
title = "Laid"
catalogues = ["shipped:stones"]
{art}
[[lay]]
id = "a"
shapes = "*"
way = "{way}"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
"""

SHAPES = {
    "a square": ('<rect width="90" height="90"/>', "90x90", 1.0),
    "a disc": ('<circle cx="45" cy="45" r="45"/>', "90x90", 0.785),
    "a triangle": ('<path d="M0 90 L45 0 L90 90 Z"/>', "90x90", 0.5),
}


def rough(*words: str) -> dict[str, object]:
    done = embellish("rough", "R-SS10-CLEAR", *words, "--json")
    assert done.returncode == 0, done.stderr
    return dict(json.loads(done.stdout))


def laid(folder: Path, art: str, way: str) -> int:
    (folder / "job.toml").write_text(JOB.format(art=art, way=way))
    done = embellish("check", "job.toml", "--json", cwd=folder)
    return int(json.loads(done.stdout)["seats"])


@pytest.mark.parametrize("name", SHAPES)
def test_a_filled_shape_is_counted_within_a_tenth(tmp_path: Path, name: str):
    drawn, size, coverage = SHAPES[name]
    (tmp_path / "a.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
        f"{drawn}</svg>"
    )
    about = rough("--size", size, "--coverage", str(coverage))["about"]
    assert about == pytest.approx(laid(tmp_path, '[artwork]\nfile = "a.svg"', "grid"), rel=0.1)


def test_words_are_counted_within_a_tenth(tmp_path: Path):
    about = rough("--text", "MARIA", "--cap-height-mm", "60")["about"]
    art = '[[lettering]]\ntext = "MARIA"\nfont = "single-line:futural"\ncap_height_mm = 60'
    assert about == pytest.approx(laid(tmp_path, art, "row"), rel=0.1)


@pytest.mark.parametrize(
    ("code", "catalogue"),
    [("B-11-RED", "beads"), ("U-2-GOLD", "beads"), ("NS-8x4-CLEAR", "shaped")],
)
def test_pieces_that_are_not_round_are_counted_within_a_tenth(
    tmp_path: Path, code: str, catalogue: str
):
    for way, art, words in (
        ("grid", '[artwork]\nfile = "a.svg"', ["--size", "120x80"]),
        (
            "row",
            '[[lettering]]\ntext = "MIA"\nfont = "single-line:futural"\ncap_height_mm = 90',
            ["--text", "MIA", "--cap-height-mm", "90"],
        ),
    ):
        (tmp_path / "a.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm"'
            ' viewBox="0 0 120 80"><rect width="120" height="80"/></svg>'
        )
        text = JOB.format(art=art, way=way).replace("R-SS10-CLEAR", code)
        (tmp_path / "job.toml").write_text(text.replace("shipped:stones", f"shipped:{catalogue}"))
        done = embellish("check", "job.toml", "--json", cwd=tmp_path)
        about = json.loads(embellish("rough", code, *words, "--json").stdout)["about"]
        assert about == pytest.approx(json.loads(done.stdout)["seats"], rel=0.1)


def test_it_is_priced_as_a_quote_is(tmp_path: Path):
    (tmp_path / "rates.toml").write_text(
        JOB.format(art='[[lettering]]\ntext = "A"\nfont = "single-line:futural"\ncap_height_mm = 9',
                   way="row") + '[price]\nlabour_rate_per_hour = "60"\n'
    )  # fmt: skip
    words = ["--size", "60x60", "--quantity", "10"]
    usual, dear = rough(*words), rough(*words, "--rates", str(tmp_path / "rates.toml"))
    assert float(str(dear["price_per_garment"])) > float(str(usual["price_per_garment"]))
    assert dear["materials"] == usual["materials"]
    assert dear["quantity"] == 10


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["R-SS10-CLEAR"], "of one thing"),
        (["R-SS10-CLEAR", "--size", "9x9", "--text", "A"], "of one thing"),
        (["R-SS10-CLEAR", "--size", "9by9"], "'9by9' is no size"),
        (["R-SS10-CLEAR", "--size", "-9x9"], "is no size"),
        (["R-SS10-CLEER", "--size", "9x9"], "Did you mean 'R-SS10-CLEAR'?"),
        (["R-SS10-CLEAR", "--text", "ÄÖ"], "none of these letters"),
    ],
)
def test_what_cannot_be_priced_is_told(words: list[str], told: str):
    done = embellish("rough", *words)
    assert done.returncode == 2
    assert told in done.stderr

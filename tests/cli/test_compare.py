"""``embellish compare``: figures are those of each job, differences those between them."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from PIL import Image

from tests.cli.running import embellish

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
<path id="a" d="M5 5 H85 V55 H5 Z"/></svg>"""

JOB = """version = 1
title = "Frame"
quantity = 2
catalogues = ["shipped:stones"]
[artwork]
file = "a.svg"
[[lay]]
id = "row"
shapes = "*"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 1.0
"""


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    (tmp_path / "a.svg").write_text(SVG)
    (tmp_path / "one.toml").write_text(JOB)
    (tmp_path / "two.toml").write_text(JOB.replace("= 1.0", "= 3.0").replace("CLEAR", "RED"))
    return tmp_path


def test_figures_are_those_that_make_writes(jobs: Path):
    done = embellish("compare", "one.toml", "two.toml", "--json", cwd=jobs)
    assert done.returncode == 0, done.stderr
    figures = json.loads(done.stdout)["jobs"]
    for each in figures:
        out = each["file"].removesuffix(".toml")
        assert embellish("make", each["file"], "--out", out, cwd=jobs).returncode == 0
        layout = json.loads((jobs / out / "layout.json").read_text())
        quote = json.loads((jobs / out / "quote.json").read_text())
        bought = json.loads((jobs / out / "materials.json").read_text())
        assert each["seats"] == layout["summary"]["count"]
        assert each["price_per_garment"] == quote["price_per_garment"]
        assert each["materials_of_all"] == bought["total"]
        assert each["pieces"] == {line["code"]: line["per_garment"] for line in bought["lines"]}
    assert figures[0]["seats"] > figures[1]["seats"]


def test_the_table_tells_how_far_it_is_from_the_first(jobs: Path):
    done = embellish("compare", "one.toml", "two.toml", cwd=jobs)
    lines = {line.split("  ")[0]: line for line in done.stdout.splitlines()}
    first, second = lines["pieces set"].split()[2:4]
    assert lines["pieces set"].endswith(f"({int(second) - int(first):+d})")
    assert lines["R-SS10-RED"].split()[1] == "0"


def test_the_picture_shows_them_side_by_side(jobs: Path):
    words = ["compare", "one.toml", "two.toml", "one.toml", "--picture", "p.png"]
    assert embellish(*words, cwd=jobs).returncode == 0
    image = Image.open(io.BytesIO((jobs / "p.png").read_bytes()))
    assert image.width > 2.5 * image.height
    again = embellish(*words, cwd=jobs)
    assert again.returncode == 2
    assert "--over" in again.stderr


def test_of_a_pair_both_sides_are_counted_and_shown(jobs: Path):
    (jobs / "pair.toml").write_text(JOB + '[partner]\ndrawn = "LEFT"\n')
    words = ["compare", "one.toml", "pair.toml", "--picture", "p.png", "--json"]
    one, pair = json.loads(embellish(*words, cwd=jobs).stdout)["jobs"]
    assert pair["seats"] == 2 * one["seats"]
    assert pair["pieces"] == {code: 2 * count for code, count in one["pieces"].items()}
    assert pair["weight_g"] == pytest.approx(2 * one["weight_g"])
    assert embellish("make", "pair.toml", "--out", "pair", cwd=jobs).returncode == 0
    quote = json.loads((jobs / "pair" / "quote-all.json").read_text())
    assert pair["price_per_garment"] == quote["price_per_garment"]
    image = Image.open(io.BytesIO((jobs / "p.png").read_bytes()))
    assert image.width > 2.5 * image.height, "one garment, and both sides of the other"


def test_sizes_are_variants_of_one_job(jobs: Path):
    sizes = '[[size]]\nname = "S"\npercent = 60\n[[size]]\nname = "L"\npercent = 120\n'
    (jobs / "sizes.toml").write_text(JOB + sizes)
    small, large = json.loads(embellish("compare", "sizes.toml", "--json", cwd=jobs).stdout)["jobs"]
    assert (small["size"], large["size"]) == ("S", "L")
    assert small["seats"] < large["seats"]
    told = embellish("compare", "sizes.toml", cwd=jobs).stdout
    assert "sizes.toml, S" in told.splitlines()[0]
    assert embellish("sizes", "sizes.toml", "--out", "made", cwd=jobs).returncode == 0
    layout = json.loads((jobs / "made" / "L" / "layout.json").read_text())
    assert layout["summary"]["count"] == large["seats"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["one.toml"], "Name two or more"),
        (["one.toml", "two.toml", "--picture", "p.svg"], "is a PNG"),
        (["one.toml", "two.toml", "--picture", "one.toml"], "is a PNG"),
        (["one.toml", "three.toml"], "three.toml"),
    ],
)
def test_what_cannot_be_compared_is_told(jobs: Path, words: list[str], told: str):
    done = embellish("compare", *words, cwd=jobs)
    assert done.returncode == 2
    assert told in done.stderr

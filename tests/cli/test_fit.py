"""``embellish fit``: the budget is never exceeded, the change is the least, and nothing is lost."""

from __future__ import annotations

import json
import re
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from embellish.job.courses import Bounds, course
from embellish.job.files import open_job
from embellish.job.fitting import Budget, fitted
from embellish.job.laying import lay_job
from embellish.job.making import Checked
from tests.cli.running import embellish
from tests.cli.test_compare import JOB, SVG

BOTH = (
    JOB.replace("quantity = 2", "quantity = 2   # for the twins")
    + """
[[lay]]
id = "fill"
shapes = "#a"
way = "grid"
pieces = ["R-SS6-RED"]
gap_mm = 2.0 # loose
edge_mm = 3.0
"""
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "a.svg").write_text(SVG)
    (tmp_path / "job.toml").write_text(BOTH)
    return tmp_path


def fit(job: Path, *words: str):
    return embellish("fit", "job.toml", *words, cwd=job)


def count(job: Path, text: str) -> int:
    (job / "try.toml").write_text(text)
    done = embellish("check", "try.toml", "--json", cwd=job)
    return int(json.loads(done.stdout)["seats"])


def test_the_least_widening_that_keeps_to_a_count(job: Path):
    done = fit(job, "--count", "250", "--only", "fill", "--json")
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert facts["before"]["seats"] > 250 >= facts["after"]["seats"]
    assert set(facts["gaps_mm"]) == {"fill"}
    gap = facts["gaps_mm"]["fill"]
    # Every closer step of the last bracket is over: the one just below is tried here.
    assert count(job, BOTH.replace("2.0 # loose", f"{gap - 0.01:.2f}")) > 250
    assert count(job, BOTH.replace("2.0 # loose", f"{gap:.2f}")) == facts["after"]["seats"]
    assert (job / "job.toml").read_text() == BOTH


def test_a_new_job_is_the_old_one_but_for_its_gaps(job: Path):
    done = fit(job, "--count", "300", "--write", "new.toml", "--picture", "p.png")
    assert done.returncode == 0, done.stderr
    text = (job / "new.toml").read_text()
    assert "# for the twins" in text
    assert "# loose" in text
    gaps = [lay["gap_mm"] for lay in tomllib.loads(text)["lay"]]
    assert gaps[0] - 1.0 == pytest.approx(gaps[1] - 2.0)
    assert count(job, text) <= 300
    assert (job / "p.png").stat().st_size > 1000


# Minutes of set-up and of garments cannot be fitted: they are no part of this.
SEWN = (
    JOB.replace('"R-SS10-CLEAR"', '"DEAR"').replace("shipped:stones", "mine.toml")
    + 'set_by = "hand"\n[price]\nsetup_minutes = 0\ngarment_minutes = 0\n'
)
ALL_OF = {
    "count": ("seats",),
    "cost": ("materials_of_all",),
    "minutes": ("labour_minutes_of_all", "machine_minutes", "machine_minutes"),
    "stitches": ("stitches",),
}
"""What each budget is of, as the facts tell it: two garments take the machine twice."""


def sewn(job: Path) -> None:
    """Make the job one whose pieces are bought one by one and set by hand over sewn marks."""
    (job / "job.toml").write_text(SEWN)
    (job / "mine.toml").write_text(CHEAP + PIECE.format(code="DEAR", hex="#d01020", price="0.10"))


def spent(facts: dict[str, Any], what: str) -> Decimal:
    return sum((Decimal(str(facts[key])) for key in ALL_OF[what]), Decimal(0))


@pytest.mark.parametrize("what", ALL_OF)
def test_no_budget_is_ever_exceeded_and_the_step_before_would(job: Path, what: str):
    sewn(job)
    before = json.loads(fit(job, f"--{what}", "1000000", "--json").stdout)["before"]
    most = int(spent(before, what) * Decimal("0.95"))
    done = fit(job, f"--{what}", f"{most}", "--write", "new.toml", "--json")
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert spent(facts["before"], what) > most >= spent(facts["after"], what)
    # The new job, opened by itself, is the one that was told.
    again = json.loads(embellish("fit", "new.toml", f"--{what}", most, "--json", cwd=job).stdout)
    assert again["gaps_mm"] == {}
    assert spent(again["before"], what) == spent(facts["after"], what)
    closer = (job / "new.toml").read_text()
    gap = facts["gaps_mm"]["row"]
    assert closer.count(f"gap_mm = {gap}\n") == 1
    (job / "new.toml").write_text(
        closer.replace(f"gap_mm = {gap}\n", f"gap_mm = {gap - 0.01:.2f}\n")
    )
    over = json.loads(embellish("fit", "new.toml", f"--{what}", most, "--json", cwd=job).stdout)
    assert spent(over["before"], what) > most


def test_of_several_sizes_one_is_fitted_and_named(job: Path):
    sizes = '[[size]]\nname = "S"\npercent = 60\n[[size]]\nname = "L"\npercent = 120\n'
    (job / "job.toml").write_text(JOB + sizes)
    done = fit(job, "--count", "60")
    assert done.returncode == 2
    assert "Add --size with one of S, L" in done.stderr
    small = json.loads(fit(job, "--count", "60", "--size", "S", "--json").stdout)
    large = json.loads(fit(job, "--count", "60", "--size", "L", "--json").stdout)
    assert small["before"]["seats"] < large["before"]["seats"]
    assert large["after"]["seats"] <= 60
    assert "size L that keeps to this" in large["notes"][0]


def test_what_sending_takes_beside_a_cost_is_told(job: Path):
    sewn(job)
    own = (
        (job / "mine.toml").read_text().replace('price = "0.10"', 'price = "0.10", supplier = "N"')
    )
    (job / "mine.toml").write_text(own + '[suppliers.N]\nshipping = "4.90"\n')
    told = json.loads(fit(job, "--cost", "10", "--json").stdout)
    assert Decimal(told["after"]["materials_of_all"]) <= 10
    assert told["notes"] == ["Sending is not in this cost: it takes 4.90 EUR more"]
    assert json.loads(fit(job, "--count", "50", "--json").stdout)["notes"] == []


PAIR = """[partner]
drawn = "LEFT"
reads_right = "#b"
"""


def pair(job: Path) -> None:
    """Make the job one of pairs, with something that reads right on both sides."""
    (job / "a.svg").write_text(
        SVG.replace("</svg>", '<path id="b" d="M60 20 L75 25 L62 45"/></svg>')
    )
    (job / "job.toml").write_text(SEWN + PAIR)
    (job / "mine.toml").write_text(CHEAP + PIECE.format(code="DEAR", hex="#d01020", price="0.10"))


@pytest.mark.parametrize("what", ALL_OF)
def test_of_a_pair_both_sides_together_keep_to_a_budget(job: Path, what: str):
    pair(job)
    before = json.loads(fit(job, f"--{what}", "1000000", "--json").stdout)["before"]
    most = int(spent(before, what) * Decimal("0.9"))
    done = fit(job, f"--{what}", f"{most}", "--write", "new.toml", "--json")
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert spent(facts["before"], what) > most >= spent(facts["after"], what)
    assert facts["notes"] == ["Both sides of the pair together keep to this"]
    assert embellish("make", "new.toml", "--out", "made", cwd=job).returncode in (0, 1)
    bought = json.loads((job / "made" / "materials-all.json").read_text())
    sides = json.loads((job / "made" / "pair.json").read_text())["sides"]
    assert [side["side"] for side in sides] == ["LEFT", "RIGHT"]
    assert sum(side["seats"] for side in sides) == facts["after"]["seats"]
    assert bought["total"] == facts["after"]["materials_of_all"]
    closer = (job / "new.toml").read_text()
    gap = facts["gaps_mm"]["row"]
    (job / "new.toml").write_text(
        closer.replace(f"gap_mm = {gap}\n", f"gap_mm = {gap - 0.01:.2f}\n")
    )
    over = json.loads(embellish("fit", "new.toml", f"--{what}", most, "--json", cwd=job).stdout)
    assert spent(over["before"], what) > most


def test_of_a_pair_both_sides_are_shown_before_and_after(job: Path):
    pair(job)
    done = fit(job, "--count", "100", "--picture", "both.png")
    assert done.returncode == 0, done.stderr
    assert "Both sides of the pair together keep to this." in done.stdout
    with Image.open(job / "both.png") as picture:
        assert picture.width > 4 * picture.height


def test_before_and_after_stand_side_by_side(job: Path):
    sewn(job)
    done = fit(job, "--count", "50", "--picture", "both.png")
    assert done.returncode == 0, done.stderr
    assert re.search(r"^ +before +after$", done.stdout, re.MULTILINE)
    assert re.search(r"^row: gap_mm = 2\.1$", done.stdout, re.MULTILINE)
    with Image.open(job / "both.png") as picture:
        seen = np.asarray(picture.convert("RGB"), dtype=int)
    reddish = seen[:, :, 0] - seen[:, :, 1:].max(axis=2) > 60
    left, right = (half.sum() for half in np.array_split(reddish, 2, axis=1))
    # The same pieces at the same size, 64 and 48 of them.
    assert right / left == pytest.approx(48 / 64, rel=0.05)
    assert sorted(path.name for path in job.iterdir()) == [
        *("a.svg", "both.png", "job.toml", "mine.toml")
    ]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "no budget is given"),
        (["--count", "9", "--cost", "3"], "more than one budget"),
        (["--cost", "much"], "'much' is no amount"),
        (["--cost", "-1"], "is no amount"),
        (["--count", "2"], "wider gaps the job still takes"),
        (["--count", "200", "--only", "fil"], "Did you mean 'fill'?"),
        (["--count", "200", "--most", "fill"], "Write it such as --most edge=0.4"),
        (["--count", "200", "--most", "fil=1"], "Did you mean 'fill'?"),
        (["--cost", "1", "--by", "cheaper"], "nothing for a cheaper like piece"),
        (["--count", "200", "--write", "job.toml"], "there is a file of this name"),
        (["--count", "200", "--write", "../x.toml"], "beside the old one"),
        (["--count", "200", "--picture", "p.jpg"], "is a PNG"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(job: Path, words: list[str], told: str):
    before = sorted(path.name for path in job.iterdir())
    done = fit(job, *words)
    assert done.returncode == 2
    assert told in done.stderr
    assert sorted(path.name for path in job.iterdir()) == before


@pytest.mark.parametrize("words", [["--only", "fill"], ["--only", "fill", "--only", "row"]])
def test_no_closer_step_keeps_to_the_budget(job: Path, words: list[str]):
    opened = open_job(job / "job.toml")
    lays = tuple(words[1::2])
    bounds = Bounds(lays, in_turn=True, own_mm={"fill": 0.2})
    steps = course("gap", opened.job, opened.catalogue, bounds)

    def laid(step: int) -> int:
        return len(lay_job(steps.at(opened.job, step), opened.artwork, opened.catalogue).layout)

    counts = [laid(step) for step in range(min(steps.length, 45) + 1)]
    for most in sorted(set(counts[1:]))[-6:]:
        if most >= counts[0]:
            continue
        found = fitted(opened, Budget("count", Decimal(most)), bounds)
        least = next(step for step, each in enumerate(counts) if each <= most)
        assert found.all_closer
        assert isinstance(found.after, Checked)
        assert len(found.after.layout) == counts[least] <= most
        assert found.after.opened.job.lay == steps.at(opened.job, least).lay


def test_a_lay_in_turn_goes_to_its_own_bound_first(job: Path):
    words = ["--only", "fill", "--only", "row", "--in-turn", "--most", "fill=0.1"]
    done = fit(job, "--count", "250", *words, "--json")
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert facts["gaps_mm"]["fill"] == pytest.approx(2.1)
    assert facts["gaps_mm"]["row"] > 1.0
    assert facts["after"]["seats"] <= 250


def test_other_sizes_and_cheaper_pieces_where_they_are_asked(job: Path):
    done = fit(job, "--count", "270", "--by", "size", "--write", "new.toml", "--json")
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert facts["gaps_mm"] == {}
    assert facts["after"]["seats"] <= 270
    text = (job / "new.toml").read_text()
    lays = {lay["id"]: lay["pieces"] for lay in tomllib.loads(text)["lay"]}
    assert lays == {"row": lays["row"], "fill": lays["fill"], **facts["pieces"]}
    assert lays["fill"] != ["R-SS6-RED"]
    assert all(code.endswith("-RED") for code in lays["fill"])
    assert "# loose" in text
    assert count(job, text) == facts["after"]["seats"]


CHEAP = """
[catalogue]
name = "mine"
currency = "EUR"
"""
PIECE = """
[[piece]]
code = "{code}"
kind = "stone"
length_mm = [2.7, 2.8, 2.9]
width_mm = [2.7, 2.8, 2.9]
hex = "{hex}"
finish = "foiled"
fixing = "heat-set"
packs = [{{ pieces = 1, price = "{price}" }}]
"""


def test_the_least_share_of_a_cheaper_piece(job: Path):
    (job / "mine.toml").write_text(
        CHEAP
        + PIECE.format(code="DEAR", hex="#d01020", price="0.10")
        + PIECE.format(code="CHEAP", hex="#d21222", price="0.04")
        + PIECE.format(code="GREEN", hex="#10d020", price="0.01")
    )
    text = BOTH.replace("shipped:stones", "mine.toml")
    text = text.replace("R-SS10-CLEAR", "DEAR").replace("R-SS6-RED", "DEAR")
    (job / "job.toml").write_text(text.replace('way = "grid"', 'way = "scatter"'))
    before = json.loads(fit(job, "--cost", "100000", "--json").stdout)["before"]
    most = float(before["materials_of_all"]) * 0.8
    words = ["--cost", f"{most:.2f}", "--only", "fill", "--by", "cheaper", "--json"]
    done = fit(job, *words)
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    assert set(facts["pieces"]["fill"]) <= {"DEAR", "CHEAP"}
    assert float(facts["after"]["materials_of_all"]) <= most
    assert "sample card" in facts["notes"][0]
    assert "GREEN" not in json.dumps(facts)

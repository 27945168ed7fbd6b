"""``embellish fit``: the budget is never exceeded, the change is the least, and nothing is lost."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

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


@pytest.mark.parametrize(("what", "key"), [("cost", "materials_of_all"), ("stitches", "stitches")])
def test_other_budgets_are_kept_too(job: Path, what: str, key: str):
    if what == "stitches":
        text = BOTH.replace('"R-SS10-CLEAR"', '"P-3-CREAM"').replace(
            "shipped:stones", "shipped:pearls"
        )
        (job / "job.toml").write_text(text.partition('\n[[lay]]\nid = "fill"')[0])
    before = json.loads(fit(job, f"--{what}", "1000000", "--json").stdout)
    assert before["gaps_mm"] == {}
    most = int(float(before["before"][key]) * 0.9)
    assert most > 1
    done = fit(job, f"--{what}", f"{most}", "--json")
    assert done.returncode == 0, done.stderr
    assert float(json.loads(done.stdout)["after"][key]) <= most


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "no budget is given"),
        (["--count", "9", "--cost", "3"], "more than one budget"),
        (["--cost", "much"], "'much' is no amount"),
        (["--cost", "-1"], "is no amount"),
        (["--count", "2"], "wider the job still takes"),
        (["--count", "200", "--only", "fil"], "Did you mean 'fill'?"),
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

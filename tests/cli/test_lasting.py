"""A job that lasts, as a person keeps it: kept, delivered, bundled, made again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from embellish.cli.app import app
from embellish.errors import EmbellishError
from tests.job.test_bundling import written
from tests.laws import check_made


def run(*words: object, code: int = 0) -> Result:
    """Run a command in this process; what the user must mend stays an exception of ours."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    if isinstance(result.exception, EmbellishError):
        assert code == 2, result.exception
    else:
        assert result.exit_code == code, result.output
    return result


def facts(*words: object, code: int = 0) -> Any:
    return json.loads(run(*words, "--json", code=code).stdout)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = written(tmp_path)
    path.write_text(path.read_text().split("[[size]]")[0])
    return path


def test_from_freezing_to_a_garment_that_matches(job: Path, tmp_path: Path):
    shop = job.parent
    kept = facts("freeze", job)
    assert Path(kept["kept"]) == shop / "job.kept.toml"
    said = run("deliver", job, "--date", "2026-11-20", "--lot", "A=L1", "--to", "A. Customer")
    assert f"layout {kept['fingerprint']}" in said.stdout
    assert "A lot L1" in said.stdout
    assert "2026-11-20: 1 garment" in run("look", job).stdout
    assert facts("look", job)["delivered"][0]["lots"] == {"A": ["L1"]}

    zipped = tmp_path / "job.zip"
    assert facts("bundle", job, "--out", zipped)["bytes"] == zipped.stat().st_size
    again = run("bundle", job, "--out", zipped, code=2)
    assert "--over" in str(again.exception)
    opened = facts("unbundle", zipped, "--out", tmp_path / "later")
    assert opened["files"] == [
        "art/ring.svg",
        "job.delivered.toml",
        "job.kept.toml",
        "job.toml",
        "mine.toml",
    ]
    there = Path(opened["job"])

    made = facts("again", there, "--garments", 3, "--out", tmp_path / "three")
    assert check_made(tmp_path / "three")["quantity"] == 3
    assert made["fingerprint"] == kept["fingerprint"]
    assert not [each for each in made["findings"] if each["code"] == "not-as-delivered"]

    part = facts("again", there, "--template", "template-1", "--out", tmp_path / "part")
    assert {"templates/template-1.svg", "templates/templates.json"} <= set(part["files"])
    assert "worksheet.html" not in part["files"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["again", "JOB", "--out", "OUT"], "--garments N, or --template"),
        (["again", "JOB", "--out", "OUT", "--garments", "1", "--template", "x"], "one of them"),
        (["again", "JOB", "--out", "OUT", "--template", "nowhere"], "no template 'nowhere'"),
        (["again", "JOB", "--out", "OUT", "--garments", "1", "--size", "L"], "no size 'L'"),
        (["deliver", "JOB", "--date", "yesterday"], "no date"),
        (["unbundle", "JOB", "--out", "OUT"], "not a zip"),
        (["unbundle", "nowhere.zip", "--out", "OUT"], "no such bundle"),
        (["make", "x.zip", "--out", "OUT"], "embellish unbundle"),
    ],
)
def test_what_cannot_be_is_one_sentence_and_writes_nothing(
    job: Path, tmp_path: Path, words: list[str], sentence: str
):
    before = sorted(job.parent.rglob("*"))
    named = {"JOB": str(job), "OUT": str(tmp_path / "out")}
    result = run(*(named.get(word, word) for word in words), code=2)
    assert sentence in str(result.exception)
    assert not (tmp_path / "out").exists()
    assert sorted(job.parent.rglob("*")) == before


def test_a_job_with_an_error_was_not_what_was_delivered(job: Path):
    job.write_text(job.read_text().replace("gap_mm = 0.9", "gap_mm = 0.1"))  # the walls tear
    refused = run("deliver", job, "--date", "2026-11-20", code=2)
    assert "has an error" in str(refused.exception)
    assert "--anyway" in str(refused.exception)
    assert not job.with_name("job.delivered.toml").exists()
    run("deliver", job, "--date", "2026-11-20", "--anyway")
    assert job.with_name("job.delivered.toml").exists()

"""``embellish log``: what jobs took goes in, rates come out, and into a job when told."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import ROOT, embellish
from tests.cli.test_count import JOB, MINE, STAR
from tests.cli.test_stock import KILLED


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "star.svg").write_text(STAR)
    (tmp_path / "mine.toml").write_text(MINE)
    (tmp_path / "plain.toml").write_text(JOB)
    return tmp_path


def log(shop: Path, *words: object, code: int = 0) -> Any:
    done = embellish("log", *words, "--json", cwd=shop)
    assert done.returncode == code, done.stderr
    return json.loads(done.stdout)


def add(shop: Path, *words: object, code: int = 0) -> Any:
    return log(shop, "add", "work.csv", "plain.toml", *words, code=code)


def pieces(shop: Path) -> dict[str, int]:
    found = json.loads(embellish("count", "plain.toml", "--json", cwd=shop).stdout)
    return {line["code"]: line["count"] for line in found["materials"]["lines"]}


def test_what_was_done_is_counted_from_the_job(shop: Path):
    rows = add(shop, "--setting-minutes", "1:30", "--broken", "A=3", "--garments", 2)["entries"]
    one = pieces(shop)
    by_code = {row["code"]: row for row in rows if row["what"] == "broken"}
    assert {code: sum(row["did"].values()) for code, row in by_code.items()} == {
        code: 2 * number for code, number in one.items()
    }
    assert {code: row["broken"] for code, row in by_code.items()} == {"A": 3, "S": 0}
    (setting,) = (row for row in rows if row["what"] == "setting")
    assert setting["minutes"] == "90"
    assert sum(setting["did"].values()) == 2 * sum(one.values())


def test_from_the_log_to_the_price(shop: Path):
    add(
        shop,
        "--setting-minutes",
        "sewn=30",
        "--setting-minutes",
        "template=4",
        "--setup-minutes",
        45,
    )
    found = log(shop, "rates", "work.csv")
    values = {".".join(each["at"]): each["value"] for each in found["rates"]}
    sewn = pieces(shop)["S"]
    assert values["price.minutes_per_piece.sewn"] == pytest.approx(30 / sewn, rel=0.005)
    assert values["price.setup_minutes"] == 45
    before = (shop / "plain.toml").read_text()
    assert found["written"] is None
    assert (
        log(shop, "rates", "work.csv", "--job", "plain.toml", "--write")["written"] == "plain.toml"
    )
    after = (shop / "plain.toml").read_text()
    assert after.startswith(before.rstrip("\n"))
    assert tomllib.loads(after)["price"]["setup_minutes"] == 45
    quote = json.loads(embellish("count", "plain.toml", "--json", cwd=shop).stdout)
    assert "45 min" in json.dumps(quote, ensure_ascii=False)
    # Worked out once more beside the rates it gave, the log says the same.
    again = log(shop, "rates", "work.csv", "--job", "plain.toml")
    assert {".".join(each["at"]): each["value"] for each in again["rates"]} == values


def test_the_remarks_of_a_job_are_kept(shop: Path):
    text = JOB + "[price]\nsetup_minutes = 30 # guessed\nterms = 'cash'  # theirs\n"
    (shop / "plain.toml").write_text(text)
    add(shop, "--setup-minutes", 50)
    log(shop, "rates", "work.csv", "--job", "plain.toml", "--write")
    assert (shop / "plain.toml").read_text() == text.replace("= 30", "= 50")


ORDER = """title = "Choir"   # invented
[[row]]
job = "plain.toml"
quantity = 3
"""


def test_rates_go_into_an_order_with_prices_of_its_own(shop: Path):
    add(shop, "--setting-minutes", "sewn=30", "--machine-minutes", "12", "--broken", "A=9")
    price = '[price]\nlabour_rate_per_hour = "31"   # with all it costs\n'
    (shop / "choir.toml").write_text(ORDER + price)
    words = ("rates", "work.csv", "--job", "choir.toml", "--write")
    facts = log(shop, *words)
    text = (shop / "choir.toml").read_text()
    assert "# invented" in text
    assert "# with all it costs" in text
    own = tomllib.loads(text)["price"]
    assert own["labour_rate_per_hour"] == "31"
    rates = {tuple(rate["at"]): rate["value"] for rate in facts["rates"]}
    left = {tuple(each) for each in facts["left"]}
    assert {at[0] for at in left} == {"marks", "materials"}
    for at, value in rates.items():
        if at not in left:
            assert own[at[1]] == value if len(at) == 2 else own[at[1]][at[2]] == value
    told = json.loads(embellish("count", "choir.toml", "--json", cwd=shop).stdout)
    assert told["price"] is not None
    assert (shop / "plain.toml").read_text() == JOB
    said = embellish("log", *words, cwd=shop).stdout
    assert "But not marks." in said


def test_an_order_without_prices_of_its_own_names_the_job_that_has_them(shop: Path):
    add(shop, "--setting-minutes", "sewn=30")
    (shop / "choir.toml").write_text(ORDER)
    refused = embellish("log", "rates", "work.csv", "--job", "choir.toml", "--write", cwd=shop)
    assert refused.returncode == 2
    assert "no [price] of its own" in refused.stderr
    assert "--job plain.toml" in refused.stderr
    assert (shop / "choir.toml").read_text() == ORDER
    beside = log(shop, "rates", "work.csv", "--job", "choir.toml")["rates"]
    assert beside == log(shop, "rates", "work.csv", "--job", "plain.toml")["rates"]


def test_the_lines_printed_are_those_to_enter(shop: Path):
    add(shop, "--setting-minutes", "62.5", "--none-broken")
    printed = embellish("log", "rates", "work.csv", cwd=shop).stdout
    lines, _, held = printed.partition("\n\n")
    table = tomllib.loads(lines)
    assert set(table) == {"price", "materials"}
    assert set(table["materials"]["by_kind"]["stone"]) == {"share", "least"}
    assert "62.5" in held


def test_the_same_is_not_logged_twice_unasked(shop: Path):
    add(shop, "--setup-minutes", 40)
    told = add(shop, "--setup-minutes", 20, code=2)["error"]
    assert "logged already, as entry 1" in told["message"]
    add(shop, "--setup-minutes", 20, "--more")
    found = log(shop, "rates", "work.csv")
    assert found["rates"][0]["value"] == 60
    add(shop, "--setup-minutes", 30, "--again")
    assert log(shop, "rates", "work.csv")["rates"][0]["value"] == 45
    assert log(shop, "undo", "work.csv")["entries"][0]["what"] == "undo"
    assert log(shop, "rates", "work.csv")["rates"][0]["value"] == 60
    undone = [row["entry"] for row in log(shop, "show", "work.csv")["entries"] if row["undone"]]
    assert undone == [3]


def test_an_entry_that_another_adds_to_is_not_undone_before_it(shop: Path):
    add(shop, "--setup-minutes", 40)
    add(shop, "--setup-minutes", 20, "--more")
    before = (shop / "work.csv").read_bytes()
    told = log(shop, "undo", "work.csv", 1, code=2)["error"]
    assert "stands before it" in told["message"]
    assert (shop / "work.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ([], "nothing that it took is given"),
        (["--setting-minutes", "soon"], "--setting-minutes must be above 0, not 'soon'"),
        (["--setup-minutes", "0"], "--setup-minutes must be above 0"),
        (["--setting-minutes", "sown=4"], "nothing of this job is 'sown'. Did you mean 'sewn'?"),
        (["--setting-minutes", "4", "--setting-minutes", "sewn=2"], "among others that are given"),
        (["--setting-minutes", "4", "--setting-minutes", "5"], "given twice"),
        (["--broken", "A"], "'A' is not a code and how many broke"),
        (["--broken", "A=few"], "is not a code and how many"),
        (["--broken", "AA=1"], "this job sets no 'AA'. Did you mean 'A'?"),
        (["--broken", "A=1", "--broken", "A=2"], "given twice"),
        (["--broken", "A=1", "--none-broken"], "Keep one of them"),
        (["--setup-minutes", "5", "--more", "--again"], "Keep one of them"),
        (["--setup-minutes", "5", "--more"], "nothing of this setup stands before it"),
    ],
)
def test_what_cannot_be_is_one_sentence(shop: Path, words: list[str], sentence: str):
    done = embellish("log", "add", "work.csv", "plain.toml", *words, cwd=shop)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert sentence in done.stderr
    assert not (shop / "work.csv").exists()


def test_work_a_job_does_not_have_is_refused(shop: Path):
    (shop / "plain.toml").write_text(JOB.replace('id = "sewn"', 'id = "sewn"\nmark = "none"'))
    told = add(shop, "--machine-minutes", 9, code=2)["error"]
    assert "no marks to sew" in told["message"]


def test_what_is_no_log_is_told(shop: Path):
    for words in (["show", "none.csv"], ["undo", "none.csv"], ["rates", "plain.toml"]):
        done = embellish("log", *words, cwd=shop)
        assert done.returncode == 2
        assert words[1] in done.stderr
    add(shop, "--setup-minutes", 9)
    log(shop, "undo", "work.csv")
    assert "nothing holds" in embellish("log", "rates", "work.csv", cwd=shop).stderr
    assert "Name it with --job" in embellish("log", "rates", "work.csv", "--write", cwd=shop).stderr


@pytest.mark.parametrize("at", range(1, 16, 3))
def test_a_run_that_is_killed_leaves_the_old_log_or_the_new(shop: Path, at: int):
    add(shop, "--setup-minutes", 9)
    old = (shop / "work.csv").read_bytes()
    subprocess.run(
        [sys.executable, "-c", KILLED, str(at), "log", "undo", "work.csv"],
        cwd=shop,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        check=False,
    )
    assert (shop / "work.csv").read_bytes() in (old, old + b"2,undo,,,,,1,\r\n")
    # Nothing that the killed run left is in the way of the next.
    assert add(shop, "--pressing-minutes", 1)["entries"][0]["what"] == "pressing"


def test_two_runs_at_once_log_one_after_the_other(shop: Path):
    for k in range(4):
        text = JOB.replace('"Star"', f'"Star {k}"').replace("gap_mm = 1.2", f"gap_mm = 1.{k}")
        (shop / f"job{k}.toml").write_text(text)
    runs = [
        subprocess.Popen(
            [sys.executable, "-m", "embellish", "log", "add", "work.csv", f"job{k}.toml",
             "--setup-minutes", str(k + 1)],
            cwd=shop,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.DEVNULL,
        )
        for k in range(4)
    ]  # fmt: skip
    assert [run.wait() for run in runs] == [0] * 4
    rows = log(shop, "show", "work.csv")["entries"]
    assert sorted(row["entry"] for row in rows) == [1, 2, 3, 4]
    assert sorted(row["minutes"] for row in rows) == ["1", "2", "3", "4"]

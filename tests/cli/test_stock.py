"""``embellish stock``: booked in and out, as a shop does."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import ROOT, embellish
from tests.cli.test_count import JOB, MINE, STAR


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "star.svg").write_text(STAR)
    (tmp_path / "mine.toml").write_text(MINE)
    (tmp_path / "plain.toml").write_text(JOB + '[materials]\nstock = "stock.csv"\n')
    return tmp_path


def stock(shop: Path, *words: object, code: int = 0) -> Any:
    done = embellish("stock", *words, "--json", cwd=shop)
    assert done.returncode == code, done.stderr
    return json.loads(done.stdout)


def needed(shop: Path) -> dict[str, int]:
    found = json.loads(embellish("count", "plain.toml", "--json", cwd=shop).stdout)
    return {line["code"]: line["needed"] for line in found["materials"]["lines"]}


def test_from_buying_to_an_empty_drawer(shop: Path):
    first = json.loads(embellish("count", "plain.toml", "--json", cwd=shop).stdout)
    lines = {line["code"]: line for line in first["materials"]["lines"]}
    assert lines["A"]["from_stock"] == 0
    added = stock(shop, "add", "stock.csv", "--bought", "plain.toml")
    packs = {code: sum(p["pieces"] * p["quantity"] for p in line["packs"])
             for code, line in lines.items()}  # fmt: skip
    assert {code: sum(lots.values()) for code, lots in added["held"].items()} == packs
    after = json.loads(embellish("count", "plain.toml", "--json", cwd=shop).stdout)
    assert all(not line["packs"] for line in after["materials"]["lines"])
    used = stock(shop, "use", "plain.toml")
    need = {code: line["needed"] for code, line in lines.items()}
    assert {row["code"]: row["pieces"] for row in used["rows"]} == need
    assert sum(used["held"]["A"].values()) == packs["A"] - need["A"]
    twice = stock(shop, "use", "plain.toml", code=2)
    assert "booked out already, as entry 2" in twice["error"]["message"]
    assert stock(shop, "undo", "stock.csv")["entry"] == 3
    assert stock(shop, "show", "stock.csv")["held"] == added["held"]
    assert stock(shop, "use", "plain.toml")["entry"] == 4
    log = stock(shop, "log", "stock.csv")["entries"]
    assert [each["what"] for each in log if each["undone"]] == ["use", "use"]


def test_lots_are_kept_apart(shop: Path):
    need = needed(shop)["A"]
    stock(shop, "add", "stock.csv", "A", need - 1, "--lot", "L1")
    stock(shop, "add", "stock.csv", "A", need + 5, "--lot", "L2")
    stock(shop, "add", "stock.csv", "S", 1000)
    used = stock(shop, "use", "plain.toml")
    assert [(row["code"], row["lot"]) for row in used["rows"]] == [("A", "L2"), ("S", "")]
    assert used["held"]["A"] == {"L1": need - 1, "L2": 5}


def test_what_does_not_suffice_is_told_and_part_is_taken_when_asked(shop: Path):
    stock(shop, "add", "stock.csv", "A", 10)
    before = (shop / "stock.csv").read_bytes()
    told = stock(shop, "use", "plain.toml", code=2)["error"]
    assert "of A are needed" in told["message"]
    assert "--part" in told["mend"]
    assert (shop / "stock.csv").read_bytes() == before
    used = stock(shop, "use", "plain.toml", "--part")
    assert used["rows"] == [{"what": "use", "code": "A", "lot": "", "pieces": 10}]
    assert used["to_buy"]["A"] == needed(shop)["A"] - 10
    assert used["held"]["A"] == {}


def test_a_count_by_hand_holds_from_then_on(shop: Path):
    stock(shop, "add", "stock.csv", "A", 100)
    assert stock(shop, "count", "stock.csv", "A", 93)["held"] == {"A": {"": 93}}
    assert "93" in embellish("stock", "show", "stock.csv", cwd=shop).stdout


def test_two_jobs_at_once_never_take_the_same(shop: Path):
    need = needed(shop)
    stock(shop, "add", "stock.csv", "A", 2 * need["A"] + 1)
    stock(shop, "add", "stock.csv", "S", 5 * need["S"])
    for k in range(4):
        text = (shop / "plain.toml").read_text().replace('"Star"', f'"Star {k}"')
        (shop / f"job{k}.toml").write_text(text)
    runs = [
        subprocess.Popen(
            [sys.executable, "-m", "embellish", "stock", "use", f"job{k}.toml"],
            cwd=shop,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
        )
        for k in range(4)
    ]
    codes = [run.wait() for run in runs]
    for run in runs:
        run.communicate()
    assert sorted(codes) == [0, 0, 2, 2]
    assert stock(shop, "show", "stock.csv")["held"]["A"] == {"": 1}


def test_the_same_layout_under_another_name_or_number_is_noticed(shop: Path):
    need = needed(shop)
    for code, number in need.items():
        stock(shop, "add", "stock.csv", code, 9 * number)
    first = stock(shop, "use", "plain.toml")
    assert first["notes"] == []
    (shop / "plain.toml").rename(shop / "renamed.toml")
    again = stock(shop, "use", "renamed.toml")
    (note,) = again["notes"]
    assert f"as entry {first['entry']} for plain" in note
    assert f"embellish stock undo stock.csv {first['entry']}" in note
    text = (shop / "renamed.toml").read_text()
    (shop / "renamed.toml").write_text(text.replace("gap_mm = ", "gap_mm = 1"))
    assert stock(shop, "use", "renamed.toml", "--part")["notes"] == [], "another layout"
    stock(shop, "undo", "stock.csv", first["entry"])
    stock(shop, "undo", "stock.csv", again["entry"])
    (shop / "more.toml").write_text(text)
    told = embellish("stock", "use", "more.toml", cwd=shop)
    assert "note:" not in told.stdout, "what was taken back does not count"


KILLED = """
import os, sys
from embellish.job import disk, placing
at, n = int(sys.argv.pop(1)), [0]
def dying(name):
    real = getattr(os, name)
    def call(*words, **more):
        n[0] += 1
        if n[0] == at:
            os.kill(os.getpid(), 9)
        return real(*words, **more)
    setattr(os, name, call)
for name in ("replace", "fsync", "write", "open", "rename", "unlink"):
    dying(name)
from embellish.__main__ import main
main()
"""


@pytest.mark.parametrize("at", range(1, 40, 3))
def test_a_run_that_is_killed_leaves_the_old_stock_or_the_new(shop: Path, at: int):
    stock(shop, "add", "stock.csv", "A", 100)
    old = (shop / "stock.csv").read_bytes()
    subprocess.run(
        [sys.executable, "-c", KILLED, str(at), "stock", "add", "stock.csv", "A", "7"],
        cwd=shop,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        check=False,
    )
    new = (shop / "stock.csv").read_bytes()
    assert new in (old, old + b"2,add,A,,7,,\r\n")
    # Nothing that the killed run left is in the way of the next.
    assert stock(shop, "add", "stock.csv", "A", 1)["held"]["A"][""] in (101, 108)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["add", "stock.csv", "A"], "a code and how many"),
        (["add", "stock.csv", "A", "5", "--bought", "plain.toml"], "Keep one of them"),
        (["add", ".", "A", "5"], "this is a folder"),
        (["undo", "stock.csv"], "no such stock file"),
        (["show", "stock.csv"], "stock.csv"),
        (["show", "plain.toml"], "plain.toml"),
        (["use", "plain.toml"], "no such stock file"),
    ],
)
def test_what_cannot_be_is_one_sentence(shop: Path, words: list[str], sentence: str):
    done = embellish("stock", *words, cwd=shop)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert sentence in done.stderr
    assert not (shop / "stock.csv").exists()

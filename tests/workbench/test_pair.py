"""A job with a partner on the page: both sides are counted, priced and made."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from embellish.job.files import open_job
from embellish.job.partners import check_pair
from tests.workbench.serving import Started, bench
from tests.workbench.showing import IN_A_BROWSER, laid, opened, step

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
    '<path id="wing" d="M10 30 C20 5 60 5 80 20 C60 50 30 55 10 30 Z"/></svg>'
)
JOB = """version = 1
title = "A pair of cuffs, invented"
catalogues = ["shipped:stones"]
[artwork]
file = "cuff.svg"
[partner]
drawn = "LEFT"
[[lay]]
id = "edge"
shapes = "#wing"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 1.0
"""


@pytest.fixture
def cuffs(tmp_path: Path) -> Iterator[Started]:
    (tmp_path / "cuff.svg").write_text(SVG)
    (tmp_path / "cuff.toml").write_text(JOB)
    with bench(tmp_path, "cuff.toml") as started:
        started.checked()
        yield started


def test_both_sides_are_counted_and_priced(cuffs: Started, tmp_path: Path):
    facts, layout = cuffs.get("/api/facts"), cuffs.drawing()[0]
    pair = check_pair(open_job(tmp_path / "cuff.toml"))
    assert facts["pair"] is True
    assert facts["figures"]["count"] == 2 * layout["count"]
    (line,) = facts["materials"]["lines"]
    assert line["count"] == 2 * layout["count"]
    assert facts["quote"]["price"] == str(pair.quote.price)
    assert len(facts["findings"]) == len(pair.findings)
    told = cuffs.change({"do": "set", "at": ["partner"], "value": None}, words="alone")
    assert told["number"] == 2
    cuffs.checked()
    alone = cuffs.get("/api/facts")
    assert alone["pair"] is False
    assert alone["figures"]["count"] == layout["count"]


def test_both_sides_are_made(cuffs: Started, tmp_path: Path):
    names = {
        each["name"] for each in cuffs.post("/api/make", {"anyway": False, "folder": True})["files"]
    }
    assert {"LEFT/proof.svg", "RIGHT/proof.svg", "pair.json", "quote-all.html"} <= names
    counts = [
        json.loads((tmp_path / "cuff-made" / side / "materials.json").read_text())["lines"][0]
        for side in ("LEFT", "RIGHT")
    ]
    assert counts[0]["count"] == counts[1]["count"] > 0
    assert cuffs.client.get("/api/made/RIGHT/worksheet.html").status_code == 200


class TestOnThePage:
    pytestmark = IN_A_BROWSER

    def test_the_sums_and_the_work_sheets_are_of_both(self, browser: Any, cuffs: Started):
        with opened(browser, cuffs) as page:
            one = laid(page)
            page.get_by_text(f"a pair, with {2 * one} on both sides").wait_for()
            step(page, "Make")
            page.get_by_role("button", name="Make a zip").click()
            for side in ("LEFT", "RIGHT"):
                page.get_by_role("link", name=f"Open the work sheet ({side}), to print").wait_for()

    def test_a_fit_says_what_it_holds_for(self, browser: Any, cuffs: Started):
        with opened(browser, cuffs) as page:
            one = laid(page)
            step(page, "Check")
            page.locator("#budget").fill(str(2 * one - 6))
            page.get_by_role("button", name="Try it").click()
            section = page.get_by_role("region", name="Fit to a budget")
            section.get_by_text("Both sides of the pair together keep to this.").wait_for()
            section.get_by_text("The picture shows this as a draft.").wait_for()

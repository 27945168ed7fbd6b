"""The tray in a real browser: found among ten thousand, at true size, used without a pointer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.catalogues import PIECES, trade_scale
from tests.workbench.serving import Started, bench
from tests.workbench.showing import IN_A_BROWSER, laid, opened, step

pytestmark = IN_A_BROWSER

JOB = """version = 1
title = "Box"
catalogues = ["large.toml"]

[artwork]
file = "box.svg"

[[lay]]
id = "edge"
shapes = "#box"
way = "row"
pieces = ["R00005"]
gap_mm = 1.0
"""
BOX = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
    b'<rect id="box" x="5" y="5" width="50" height="50"/></svg>'
)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Started]:
    shelf: Path = tmp_path_factory.mktemp("large")
    (shelf / "large.toml").write_bytes(trade_scale())
    (shelf / "box.svg").write_bytes(BOX)
    (shelf / "box.toml").write_text(JOB)
    with bench(shelf, "box.toml") as started:
        started.checked()
        yield started


@pytest.fixture
def page(browser: Any, large: Started) -> Iterator[Any]:
    with opened(browser, large) as shown:
        laid(shown)
        step(shown, "Pieces")
        shown.get_by_text(f"{PIECES} pieces, 60 shown").wait_for()
        yield shown


def codes(page: Any) -> list[str]:
    return list(page.locator(".tray li b").all_inner_texts())


def test_ten_thousand_are_narrowed_by_plain_controls(page: Any):
    page.get_by_label("From (mm)").fill("2.5")
    page.get_by_label("to (mm)", exact=True).fill("2.6")
    page.wait_for_function("() => document.querySelector('.tray').innerText.includes('R00007')")
    page.get_by_label("Only what is in stock").check()
    page.get_by_label("Fixing", exact=True).select_option("glue")
    page.wait_for_function(
        "() => { const found = [...document.querySelectorAll('.tray li small')];"
        " return found.length && found.every((e) => /glue.*in stock/.test(e.innerText)); }"
    )
    page.get_by_label("One costs at most").fill("0.001")
    page.get_by_text("No piece is like this").wait_for()
    assert codes(page) == []


def test_the_nearest_in_colour_come_first(page: Any):
    page.get_by_label("Nearest to").check()
    page.locator("#nearcolour").fill("#e64040")
    page.get_by_text("ΔE").first.wait_for()
    away = [
        float(words.removeprefix("ΔE "))
        for words in page.locator(".tray button > small").all_inner_texts()
    ]
    assert away == sorted(away)
    assert len(away) == 60


def test_more_are_shown_by_keys_and_one_is_used(page: Any):
    more = page.get_by_role("button", name="Show more")
    more.focus()
    page.keyboard.press("Enter")
    page.get_by_text(f"{PIECES} pieces, 120 shown").wait_for()
    found = codes(page)
    assert len(set(found)) == 120
    # the first of the new ones has the focus
    assert page.evaluate("() => document.activeElement.innerText").startswith(found[60])
    page.get_by_role("button", name="Add it to what is there").press("Enter")
    page.get_by_label("Search pieces").fill("R00123")
    page.wait_for_function("() => document.querySelectorAll('.tray li').length === 1")
    page.locator(".tray button").press("Enter")
    page.wait_for_function("() => bench.store.state.job.lay[0].pieces.join() === 'R00005,R00123'")
    laid(page)
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("() => bench.store.state.job.lay[0].pieces.join() === 'R00005'")


@pytest.mark.parametrize("ratio", [1, 2])
def test_swatches_are_of_true_size_once_a_ruler_was_held_to_the_screen(
    browser: Any, large: Started, ratio: int
):
    with opened(browser, large, device_scale_factor=ratio) as page:
        laid(page)
        step(page, "Pieces")
        page.get_by_text("True size on this screen", exact=True).click()
        page.get_by_label("Length of the line").fill("5.5")
        page.get_by_text("shown at true size").wait_for()
        for _ in range(2):
            line = page.locator(".line").bounding_box()["width"]
            assert line == pytest.approx(50 * 5.5, abs=0.5)
            swatch = page.locator(".tray img").first
            half = float(swatch.evaluate("(e) => e.style.getPropertyValue('--half')"))
            assert swatch.bounding_box()["width"] == pytest.approx(2 * half * 5.5, abs=0.1)
            page.reload()
            page.wait_for_function("() => bench.store.state")
            laid(page)
            step(page, "Pieces")
            page.get_by_text("True size on this screen", exact=True).click()

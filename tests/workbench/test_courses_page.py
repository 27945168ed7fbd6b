"""A lay that thins out, changes its mix or shows a picture, and groups of one's own, by forms."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.workbench.showing import IN_A_BROWSER, laid, step

pytestmark = IN_A_BROWSER


@pytest.fixture
def page(page: Any) -> Any:
    laid(page)
    step(page, "Pieces")
    return page


def lay(page: Any, name: str) -> Any:
    return page.evaluate("(id) => bench.store.state.job.lay.find((each) => each.id === id)", name)


def until(page: Any, name: str, holds: str) -> Any:
    page.wait_for_function(
        "(id) => { const lay = bench.store.state.job.lay.find((each) => each.id === id);"
        f" return {holds}; }}",
        arg=name,
    )
    laid(page)
    assert page.locator(".note.wrong").count() == 0
    return lay(page, name)


def choose(page: Any, name: str) -> None:
    page.locator(".card > button.name", has_text=name).click()
    page.locator("#panel h2", has_text=name).wait_for()


def halves() -> bytes:
    picture = Image.new("RGB", (40, 20), "#b5651d")
    picture.paste("#f0d878", (20, 0, 40, 20))
    file = io.BytesIO()
    picture.save(file, format="PNG")
    return file.getvalue()


def test_a_lay_thins_out_along_a_line_and_from_the_edge(page: Any):
    choose(page, "forewings, strewn")
    full = page.evaluate("() => bench.store.layout.lays[2].count")
    page.locator("summary", has_text="Thins out").click()
    page.locator("#fade-kind").select_option(label="from the edge inward")
    held = until(page, "fill", "lay.fade?.kind === 'edge'")
    assert "density" not in held  # thinning out says how dense
    page.get_by_label("Left at the end (%)").fill("20")
    until(page, "fill", "lay.fade?.least === 0.2")
    assert 0 < page.evaluate("() => bench.store.layout.lays[2].count") < full
    page.locator("#fade-kind").select_option(label="along a line")
    until(page, "fill", "lay.fade?.kind === 'line' && lay.fade?.least === 0.2")
    page.get_by_label("Ends at: across").fill("90")
    page.get_by_label("Ends at: across").blur()
    until(page, "fill", "lay.fade.to_mm[0] === 90")
    page.locator("#fade-kind").select_option(label="no")
    until(page, "fill", "!lay.fade")


def test_a_mix_changes_and_is_one_step_to_undo(page: Any, shelf: Path):
    before = (shelf / "moth.toml").read_text()
    choose(page, "forewings, strewn")
    page.locator("summary", has_text="The mix changes").click()
    page.locator("#blend-kind").select_option(label="about a point")
    held = until(page, "fill", "lay.blend && Array.isArray(lay.pieces)")
    assert held["blend"]["mixes"] == [{"R-SS6-TOPAZ": 1}, {"R-SS6-HONEY": 1}]
    page.get_by_label("Share of R-SS6-HONEY, at the beginning").fill("2")
    page.get_by_label("Share of R-SS6-HONEY, at the beginning").blur()
    until(page, "fill", "lay.blend.mixes[0]['R-SS6-HONEY'] === 2")
    page.get_by_role("button", name="One more between").click()
    until(page, "fill", "lay.blend.mixes.length === 3")
    for _ in range(3):
        with page.expect_response("**/api/undo"):
            page.get_by_role("button", name="Undo").click()
        laid(page)
    assert (shelf / "moth.toml").read_text() == before


def test_a_picture_is_shown_by_the_pieces_and_put_beside_the_job(page: Any, shelf: Path):
    choose(page, "forewings, strewn")
    page.locator("summary", has_text="Shows a picture").click()
    page.locator("#picture-mosaic").set_input_files(
        {"name": "../two halves.png", "mimeType": "image/png", "buffer": halves()}
    )
    held = until(page, "fill", "lay.mosaic")
    assert (shelf / held["mosaic"]["picture"]).read_bytes() == halves()
    assert held["symmetric"] is False
    sides = page.evaluate(
        """() => { const { seats, layout } = bench.store, sides = [new Set(), new Set()];
        for (let k = 0; k < seats.m; k += 1) if (seats.lay[seats.seat[k]] === 2)
          sides[Number(seats.xy[2 * k] > layout.page_mm[0] / 2)].add(
            layout.kit[seats.piece[k]].code);
        return sides.map((each) => [...each]); }"""
    )
    assert sides == [["R-SS6-TOPAZ"], ["R-SS6-HONEY"]]
    page.get_by_label("Colours at most").fill("1")
    until(page, "fill", "lay.mosaic?.colours === 1")
    page.get_by_role("button", name="Without the picture").click()
    until(page, "fill", "!lay.mosaic")


def test_thinning_by_a_picture_waits_for_one(page: Any):
    choose(page, "forewings, strewn")
    page.locator("summary", has_text="Thins out").click()
    page.locator("#fade-kind").select_option(label="by a picture, dark to light")
    assert "fade" not in lay(page, "fill")
    page.locator("#picture-fade").set_input_files(
        {"name": "grey.png", "mimeType": "image/png", "buffer": halves()}
    )
    held = until(page, "fill", "lay.fade")
    assert held["fade"] == {"kind": "picture", "picture": "grey.png"}
    page.get_by_label("From the left").fill("0")
    page.get_by_label("From the left").blur()
    page.get_by_text("All three, or none.").wait_for()


def test_a_group_of_ones_own(page: Any):
    choose(page, "pearls along the feelers")
    page.get_by_label("How they go").select_option(label="In little groups")
    until(page, "feeler", "lay.way === 'cluster'")
    page.locator("summary", has_text="A group of your own").click()
    page.get_by_role("button", name="One piece more").click()
    until(page, "feeler", "lay.members?.length === 1")
    page.get_by_role("button", name="One piece more").click()
    held = until(page, "feeler", "lay.members?.length === 2")
    assert held["members"][1]["dx_mm"] == 6
    page.get_by_role("button", name="Without piece 2 of the group").click()
    until(page, "feeler", "lay.members?.length === 1")

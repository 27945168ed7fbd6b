"""The page in a real browser: from a drawing to a template, by hand, by keys, after a reload.

Needs a Chromium of the system (Debian: apt install chromium); skipped with a word where none is.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.real_artwork import icons, script
from tests.workbench.serving import Started, bench
from tests.workbench.showing import IN_A_BROWSER, laid, on_screen, opened, step

pytestmark = IN_A_BROWSER


def test_from_an_icon_file_to_a_template(browser: Any, tmp_path: Path):
    ((_, icon),) = icons("bootstrap-icons", ["suit-heart-fill"])
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    (tmp_path / "heart.svg").write_bytes(icon)
    with bench(shelf) as started, opened(browser, started) as page:
        page.get_by_label("Choose a drawing").set_input_files(tmp_path / "heart.svg")
        page.get_by_label("Its width (mm)").fill("90")
        page.get_by_text("90.0 × 90.0 mm, 1 shape").wait_for()
        page.get_by_role("button", name="Begin", exact=True).click()
        assert laid(page) > 50
        page.get_by_role("button", name="Strewn").click()
        page.wait_for_function("() => bench.store.state.job.lay.length === 2")
        both = laid(page)
        page.get_by_label("Away from the edge (mm)").fill("4")
        page.wait_for_function("() => bench.store.state.job.lay[1].edge_mm === 4")
        fewer = laid(page)
        assert 50 < fewer < both
        step(page, "Check")
        page.get_by_text("What it takes").wait_for()
        step(page, "Make")
        with page.expect_response("**/api/make"):
            page.get_by_role("button", name="Make a zip").click()
        page.get_by_text("templates/template-1.svg").wait_for()
        with page.expect_download() as waiting:
            page.get_by_text("Download all as a zip").click()
        assert waiting.value.suggested_filename == "heart.zip"
    job = (shelf / "heart.toml").read_text()
    assert "# A job for embellish." in job
    assert 'way = "scatter"' in job


def test_a_piece_is_dragged_undone_and_still_undone_after_a_reload(page: Any, shelf: Path):
    before = (shelf / "moth.toml").read_text()
    count = laid(page)
    step(page, "Touch up")
    x, y = on_screen(page, 12)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 3, y + 40, steps=4)
    page.wait_for_function("() => document.getElementById('hint').textContent")
    page.keyboard.down("Alt")
    page.mouse.up()
    page.keyboard.up("Alt")
    page.wait_for_function("() => bench.store.state.job.edit?.length === 1")
    laid(page)
    assert page.evaluate("() => bench.store.chosen.size") == 1
    page.reload()
    page.wait_for_function("() => bench.store.state")
    laid(page)
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("() => !bench.store.state.job.edit")
    assert laid(page) == count
    assert (shelf / "moth.toml").read_text() == before
    page.get_by_role("button", name="Redo").click()
    page.wait_for_function("() => bench.store.state.job.edit?.length === 1")


def test_an_impossible_place_is_refused_softly(page: Any, shelf: Path):
    laid(page)
    before = (shelf / "moth.toml").read_text()
    step(page, "Touch up")
    x, y = on_screen(page, 12)
    to_x, to_y = on_screen(page, 13)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move((x + to_x) / 2 + 1, (y + to_y) / 2, steps=3)
    page.mouse.move(to_x - (to_x - x) * 0.05, to_y - (to_y - y) * 0.05, steps=3)
    page.mouse.up()
    page.get_by_text("Put back").wait_for()
    assert (shelf / "moth.toml").read_text() == before


def test_two_windows_see_each_other_and_lose_nothing(browser: Any, moth: Started, shelf: Path):
    with opened(browser, moth) as one, opened(browser, moth) as two:
        laid(one)
        laid(two)
        step(one, "Pieces")
        step(two, "Pieces")
        one.get_by_label("Gap between pieces (mm)").fill("1.5")
        one.wait_for_function("() => bench.store.state.job.lay[0].gap_mm === 1.5")
        two.get_by_label("Called").fill("the rim")
        two.get_by_label("Called").press("Tab")
        for page in (one, two):
            page.wait_for_function(
                "() => { const l = bench.store.state.job.lay[0];"
                " return l.gap_mm === 1.5 && l.name === 'the rim'; }"
            )
            laid(page)
    text = (shelf / "moth.toml").read_text()
    assert 'name = "the rim"' in text
    assert "gap_mm = 1.5 # a clearance" in text


def test_all_of_it_by_keys_alone(page: Any, shelf: Path):
    count = laid(page)

    def go_to(what: str) -> None:
        for _ in range(150):
            page.keyboard.press("Tab")
            label = page.evaluate(
                "() => { const e = document.activeElement;"
                " return e.getAttribute('aria-label') || e.textContent || ''; }"
            )
            if label.startswith(what):
                return
        raise AssertionError(what)

    page.keyboard.press("Tab")
    go_to("Touch up")
    page.keyboard.press("Enter")
    go_to("The layout")
    page.keyboard.press("]")
    page.wait_for_function("() => bench.store.chosen.size === 1")
    page.keyboard.press("]")
    page.keyboard.press("Shift+ArrowDown")
    page.wait_for_function(
        "() => bench.store.state.job.edit?.length === 1"
        " || !document.getElementById('anyway').hidden"
    )
    page.keyboard.press("Enter")
    page.wait_for_function("() => bench.store.state.job.edit?.length === 1")
    laid(page)
    assert page.evaluate("() => document.activeElement.id") == "base"
    assert page.evaluate("() => bench.store.chosen.size") == 1
    before = page.evaluate("() => JSON.stringify(bench.store.state.job.edit)")
    page.keyboard.press("ArrowDown")
    page.wait_for_function(
        "(before) => JSON.stringify(bench.store.state.job.edit) !== before"
        " || !document.getElementById('anyway').hidden",
        arg=before,
    )
    page.keyboard.press("Enter")
    page.wait_for_function("() => bench.store.state.job.edit[0].across_mm !== undefined")
    moved = laid(page)
    assert moved > count - 8  # what stood in its way has made room
    page.keyboard.press("Delete")
    page.wait_for_function("() => bench.store.state.job.edit.at(-1).do === 'delete'")
    laid(page)
    page.keyboard.press("Control+z")
    page.wait_for_function("() => bench.store.state.forth")
    assert laid(page) == moved
    assert 'do = "move"' in (shelf / "moth.toml").read_text()


def test_a_setting_out_of_range_is_told_and_not_asked_for(page: Any, shelf: Path):
    laid(page)
    before = (shelf / "moth.toml").read_text()
    step(page, "Pieces")
    page.get_by_label("Gap between pieces (mm)").fill("-3")
    page.get_by_text("A number from 0 to 1000 mm.").wait_for()
    assert (shelf / "moth.toml").read_text() == before


def test_a_piece_from_the_tray_is_set(page: Any):
    laid(page)
    step(page, "Pieces")
    page.get_by_label("Search pieces").fill("SS16 blue")
    page.get_by_role("button", name="R-SS16-BLUE").click()
    page.wait_for_function("() => bench.store.state.job.lay[0].pieces[0] === 'R-SS16-BLUE'")
    laid(page)
    assert page.get_by_label("Without R-SS16-BLUE").is_disabled()


@pytest.mark.parametrize("ratio", [1, 2])  # pixels of the screen to one of the page
def test_pieces_too_small_for_facets_are_dabs_of_their_colour(
    browser: Any, moth: Started, ratio: int
):
    with opened(browser, moth, device_scale_factor=ratio) as page:
        laid(page)
        page.evaluate(
            "async () => { const { eye } = bench;"
            " (await import('/page/stage.js')).zoom(2 / eye.scale, 300, 300); }"
        )
        page.evaluate("() => new Promise((r) => requestAnimationFrame(() => setTimeout(r, 50)))")
        far = page.evaluate(
            """() => { const { store, eye } = bench, { seats, layout } = store;
            const canvas = document.getElementById("base"), pen = canvas.getContext("2d");
            const s = eye.scale * eye.ratio;
            let seen = 0, far = 0;
            for (let k = 0; k < seats.m; k += 1) {
              const x = (seats.xy[2 * k] - eye.x) * s, y = (seats.xy[2 * k + 1] - eye.y) * s;
              if (x < 2 || y < 2 || x > canvas.width - 2 || y > canvas.height - 2) continue;
              const piece = layout.kit[seats.piece[k]];
              if (piece.length_mm * s > 5 * eye.ratio) continue;
              const held = pen.getImageData(Math.floor(x), Math.floor(y), 1, 1).data;
              const own = [1, 3, 5].map((at) => parseInt(piece.hex.slice(at, at + 2), 16));
              seen += 1;
              if (own.some((value, at) => Math.abs(value - held[at]) > 40)) far += 1;
            }
            return [seen, far]; }"""
        )
        assert far[0] > 300
        assert far[1] == 0


def test_the_customer_sees_no_cost(page: Any):
    laid(page)
    assert "materials" in page.locator("#sums").inner_text()
    page.get_by_role("button", name="For the customer").click()
    page.wait_for_function("() => !document.getElementById('sums').innerText.includes('materials')")


def test_every_step_and_view_passes_the_rules_for_access(page: Any):
    laid(page)
    axe = script("axe-core", "axe.min.js")
    page.evaluate(axe)  # as a script of the browser's own tools: the page's policy holds
    wrong: list[str] = []
    for name in ("Where", "Pieces", "Order", "Touch up", "Check", "Make"):
        step(page, name)
        page.wait_for_timeout(250)
        found = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
        wrong += [
            f"{name}: {each['id']}: {node['html'][:90]}"
            for each in found["violations"]
            for node in each["nodes"][:3]
        ]
    assert wrong == []


def test_what_is_chosen_is_seen_on_any_cloth(page: Any):
    """A ring has a pale and a dark band; they stand out from one another, one from the cloth."""
    laid(page)
    step(page, "Touch up")
    page.mouse.click(*on_screen(page, 12))
    page.wait_for_timeout(300)
    seen = page.evaluate(
        """() => { const canvas = document.getElementById("over");
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        const light = new Set();
        for (let k = 0; k < data.length; k += 4) if (data[k + 3] === 255) {
          const [r, g, b] = [0, 1, 2].map((at) => data[k + at] / 255)
            .map((c) => (c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
          light.add(0.2126 * r + 0.7152 * g + 0.0722 * b);
        }
        return [Math.min(...light), Math.max(...light)]; }"""
    )
    dark, pale = seen
    cloths = [n / 100 for n in range(101)]
    assert all(max(contrast(cloth, dark), contrast(cloth, pale)) >= 2.4 for cloth in cloths), seen
    assert contrast(dark, pale) >= 4.5


def contrast(one: float, other: float) -> float:
    """Return the contrast of two luminances."""
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


@pytest.mark.parametrize("width", [360, 640])  # a telephone; 1280 at 200 %
def test_narrow_windows_need_no_scrolling_to_the_side(browser: Any, moth: Started, width: int):
    with opened(browser, moth) as page:
        page.set_viewport_size({"width": width, "height": 700})
        laid(page)
        for name in ("Where", "Pieces", "Order", "Touch up", "Check", "Make"):
            step(page, name)
            page.wait_for_timeout(100)
            over = page.evaluate(
                "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            assert over <= 0, name
            # What is folded is no wider.
            over = page.evaluate(
                "() => { for (const fold of document.querySelectorAll('details')) fold.open = true;"
                " const root = document.documentElement;"
                " return root.scrollWidth - root.clientWidth; }"
            )
            assert over <= 0, name


def test_in_a_low_window_a_step_is_brought_into_sight(browser: Any, moth: Started):
    with opened(browser, moth) as page:
        page.set_viewport_size({"width": 640, "height": 430})  # 1280 by 860 at 200 %
        laid(page)
        for name, words in (("Pieces", "What is set, in this order"), ("Make", "Make a zip")):
            page.evaluate("() => scrollTo(0, 0)")
            step(page, name)
            page.wait_for_function(
                """(words) => [...document.querySelectorAll('#panel h2, #panel button')].some(
                  (each) => each.textContent === words
                    && each.getBoundingClientRect().bottom < innerHeight)""",
                arg=words,
            )


def test_what_is_seen_is_named_for_those_who_do_not_see_it(page: Any):
    laid(page)
    step(page, "Touch up")
    table = page.get_by_role("region", name="Table of pieces")
    rows = table.get_by_role("row")
    rows.nth(3).wait_for()
    assert rows.count() > 20
    button = rows.nth(3).get_by_role("button")
    assert json.loads(json.dumps(button.get_attribute("aria-label"))).startswith("Choose R-SS10")
    button.click()
    page.locator("#panel").get_by_text("1 chosen: R-SS10-CLEAR").wait_for()


def chosen(page: Any) -> list[int]:
    return sorted(page.evaluate("() => [...bench.store.chosen]"))


def test_a_loop_takes_what_it_holds_and_keys_take_the_same(page: Any):
    laid(page)
    step(page, "Touch up")
    page.get_by_role("button", name="What a loop holds").click()
    box = page.locator("#base").bounding_box()
    x, y = on_screen(page, 12)
    page.mouse.move(box["x"] + 5, box["y"] + 5)  # where nothing is
    page.mouse.down()
    for to in ((x + 9, y - 9), (x + 9, y + 9), (x - 9, y + 9)):
        page.mouse.move(*to, steps=5)
    page.mouse.up()
    looped = chosen(page)
    assert 12 in looped
    assert len(looped) < page.evaluate("() => bench.store.seats.n") / 4
    within = page.evaluate("() => bench.store.layout.lays[0].count")
    page.get_by_label("Or", exact=True).select_option("lay 0")
    page.get_by_role("button", name="Choose", exact=True).click()
    assert len(chosen(page)) == within
    page.get_by_label("Or", exact=True).select_option("piece 0")
    page.get_by_role("button", name="Choose", exact=True).click()
    assert page.evaluate(
        "() => { const { seats, chosen } = bench.store; return [...seats.piece].every("
        "(piece, k) => (piece === 0) === chosen.has(seats.seat[k])); }"
    )
    page.get_by_role("button", name="None", exact=True).click()
    page.locator("#base").focus()
    page.keyboard.press("]")
    one = chosen(page)
    page.get_by_label("Chosen, and all within").fill("8")
    page.get_by_role("button", name="Choose near").click()
    assert set(one) < set(chosen(page))


def test_a_piece_dragged_from_the_tray_goes_to_the_lay_under_it(page: Any):
    laid(page)
    step(page, "Pieces")
    row = page.evaluate("() => [...bench.store.seats.lay].lastIndexOf(2)")
    lay = page.evaluate("() => bench.store.layout.lays[2].id")
    assert page.evaluate("() => bench.store.lay") != lay
    page.get_by_label("Search pieces").fill("SS10 blue")
    # What is dragged must be of the list that was searched for, not of the one before it.
    page.wait_for_function("() => document.querySelectorAll('[draggable=true]').length < 20")
    x, y = on_screen(page, row)
    box = page.locator("#base").bounding_box()
    before = page.evaluate("() => JSON.stringify(bench.store.state.job)")
    tray = page.get_by_role("button", name="R-SS10-BLUE")
    tray.drag_to(page.locator("#base"), target_position={"x": 4, "y": 4})
    page.get_by_text("Nothing was changed").wait_for()
    assert page.evaluate("() => JSON.stringify(bench.store.state.job)") == before
    tray.drag_to(page.locator("#base"), target_position={"x": x - box["x"], "y": y - box["y"]})
    page.wait_for_function(
        "(id) => bench.store.state.job.lay.find((each) => each.id === id)"
        ".pieces[0] === 'R-SS10-BLUE'",
        arg=lay,
    )


def test_what_a_hoop_reaches_is_drawn_but_not_for_the_customer(page: Any):
    laid(page)
    orange = """() => new Promise((done) => requestAnimationFrame(() => setTimeout(() => {
      const canvas = document.getElementById("base");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      let count = 0;
      for (let k = 0; k < data.length; k += 4)
        if (data[k] === 0xe0 && data[k + 1] === 0x8a && data[k + 2] === 0) count += 1;
      done(count);
    }, 100)))"""
    assert page.evaluate("() => bench.store.facts.hoopings.some((each) => each.field)")
    page.get_by_role("button", name="Smaller").click()
    page.get_by_role("button", name="Smaller").click()
    assert page.evaluate(orange) > 50
    page.get_by_role("button", name="For the customer").click()
    assert page.evaluate(orange) == 0


def test_the_customer_reads_no_cost_in_any_step(page: Any):
    laid(page)
    page.get_by_role("button", name="For the customer").click()
    for name in ("Check", "Make"):
        step(page, name)
        page.wait_for_timeout(100)
        words = page.locator("#panel").inner_text()
        assert "EUR" not in words
        assert "The price" not in words
        assert page.locator("#budgetof option[value=cost]").count() == 0


def test_the_order_is_set_in_plain_words_and_each_change_can_be_undone(page: Any, shelf: Path):
    laid(page)
    before = (shelf / "moth.toml").read_text()
    step(page, "Order")
    page.get_by_label("How many garments").fill("7")
    page.wait_for_function("() => bench.store.state.job.quantity === 7")
    laid(page)
    page.get_by_text("The price", exact=True).click()
    page.get_by_label("Margin (%)").fill("100")
    page.get_by_text("A number from 0 and below 100 %.").wait_for()
    page.get_by_label("Margin (%)").fill("30")
    page.wait_for_function("() => bench.store.state.job.price?.margin_share === 0.3")
    laid(page)
    page.get_by_label("Mark-up (%)").fill("50")
    page.wait_for_function("() => bench.store.state.job.price?.markup_share === 0.5")
    assert page.evaluate("() => 'margin_share' in bench.store.state.job.price") is False
    laid(page)
    for _ in range(3):
        with page.expect_response("**/api/undo"):
            page.get_by_role("button", name="Undo").click()
        laid(page)
    assert (shelf / "moth.toml").read_text() == before

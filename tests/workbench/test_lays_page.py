"""Lays in a real browser: moved, named, copied, hidden, locked; drafts first; what is made."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.bench import FIELD_JOB, field_svg
from tests.real_artwork import script
from tests.workbench.serving import bench
from tests.workbench.showing import IN_A_BROWSER, laid, on_screen, opened, step

pytestmark = IN_A_BROWSER


@pytest.fixture
def page(page: Any) -> Any:
    laid(page)
    return page


def ids(page: Any) -> list[str]:
    found: list[str] = page.evaluate("() => bench.store.state.job.lay.map((lay) => lay.id)")
    return found


def test_lays_are_moved_named_copied_and_taken_out(page: Any, shelf: Path):
    step(page, "Pieces")
    before = (shelf / "moth.toml").read_text()
    page.get_by_role("button", name="Set wing edges later").click()
    page.wait_for_function("() => bench.store.state.job.lay[0].id === 'spot'")
    page.get_by_role("button", name="Copy wing edges", exact=True).click()
    page.wait_for_function("() => bench.store.state.job.lay.length === 7")
    assert ids(page)[:3] == ["spot", "edge", "edge-2"]
    page.locator(".card > button.name", has_text="wing edges 2").click()
    page.locator("#panel h2", has_text="wing edges 2").wait_for()
    page.get_by_label("Called").fill("once more")
    page.get_by_label("Called").blur()
    page.get_by_role("button", name="Take out once more").click()
    page.wait_for_function("() => bench.store.state.job.lay.length === 6")
    laid(page)
    for _ in range(4):
        with page.expect_response("**/api/undo"):
            page.get_by_role("button", name="Undo").click()
    page.wait_for_function("() => !bench.store.state.back || bench.store.state.forth")
    laid(page)
    assert (shelf / "moth.toml").read_text() == before


def test_a_hidden_lay_is_not_seen_and_a_locked_one_not_taken(page: Any):
    step(page, "Pieces")
    page.get_by_role("button", name="Lock wing edges").click()
    step(page, "Touch up")
    row = page.evaluate("() => [...bench.store.seats.lay].indexOf(0)")
    page.mouse.click(*on_screen(page, row))
    assert page.evaluate("() => bench.store.chosen.size") == 0
    step(page, "Pieces")
    page.get_by_role("button", name="Unlock wing edges").click()
    step(page, "Touch up")
    page.mouse.click(*on_screen(page, row))
    assert page.evaluate("() => [...bench.store.chosen]") == [row]
    step(page, "Pieces")
    page.get_by_role("button", name="Hide wing edges").click()
    page.reload()
    laid(page)
    assert page.evaluate("() => bench.store.hidden.has('edge')")


def test_of_many_changes_the_last_is_shown(page: Any):
    step(page, "Pieces")
    gap = page.get_by_label("Gap between pieces (mm)")
    for value in ("1.1", "1.4", "1.7", "2.2"):
        gap.fill(value)
        page.wait_for_timeout(260)  # as long as a hand rests between two numbers
    page.wait_for_function("() => bench.store.state.job.lay[0].gap_mm === 2.2")
    laid(page)
    assert page.evaluate("() => bench.store.layout.lays[0].gap_mm") == 2.2
    assert page.evaluate("() => bench.store.seats.number === bench.store.state.number")


def test_findings_call_a_lay_as_the_page_does(page: Any):
    step(page, "Pieces")
    called = page.get_by_label("Called")
    called.fill("crystal rim")
    called.press("Tab")
    page.wait_for_function("() => bench.store.state.job.lay[0].name === 'crystal rim'")
    page.get_by_label("Gap between pieces (mm)").fill("0.1")
    page.wait_for_function("() => bench.store.state.job.lay[0].gap_mm === 0.1")
    step(page, "Check")
    told = page.locator(".finding.error").filter(has_text="Give lay ‘crystal rim’").first
    told.wait_for(timeout=60_000)
    assert "in ‘crystal rim’" in told.inner_text()


def test_all_is_made_beside_the_job_and_the_work_sheet_prints(page: Any, shelf: Path):
    step(page, "Make")
    page.get_by_role("button", name="Make into a folder").click()
    page.get_by_text("in the folder moth-made, beside the job").wait_for(timeout=60_000)
    assert (shelf / "moth-made" / "made.json").exists()
    with page.context.expect_page() as waiting:
        page.get_by_role("link", name="Open the work sheet, to print").click()
    sheet = waiting.value
    sheet.wait_for_load_state()
    assert "Moth on a denim yoke" in sheet.inner_text("body")
    with page.expect_download() as fetched:
        page.get_by_text("Download all as a zip").click()
    assert fetched.value.suggested_filename == "moth.zip"


def test_the_bar_shows_how_far_making_is(page: Any):
    step(page, "Make")
    asked: list[Any] = []

    def held(route: Any) -> None:
        asked.append(route)  # answered by nobody yet

    page.route("**/api/make", held)
    page.get_by_role("button", name="Make a zip").click()
    bar = page.get_by_role("progressbar", name="Making")
    bar.wait_for()
    told = """async ([words, share]) => { const { store, tell } = await import("/page/store.js");
      Object.assign(store, { busy: words, share });
      tell("busy"); }"""
    for share in (0.25, 0.75):
        page.evaluate(told, [f"drawing: {share:.0%}", share])
        assert bar.evaluate("(bar) => [bar.value, bar.max]") == [share, 1]
        assert page.locator("#making").inner_text() == f"drawing: {share:.0%}"
    # Where nobody knows how far, the bar does not say.
    page.evaluate(told, ["packing", 0])
    assert not bar.evaluate("(bar) => bar.hasAttribute('value')")
    asked[0].continue_()
    page.get_by_text("Download all as a zip").wait_for(timeout=60_000)
    assert bar.count() == 0


def against_the_rules(page: Any, where: str) -> list[str]:
    found = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
    return [
        f"{where}: {each['id']}: {each['nodes'][0]['html'][:90]}" for each in found["violations"]
    ]


def test_every_view_and_form_passes_the_rules_for_access(page: Any):
    page.evaluate(script("axe-core", "axe.min.js"))
    looks = page.locator("#looks")
    wrong: list[str] = []
    for name in ("Symbols", "Sewn marks", "Templates", "Chart"):
        looks.get_by_role("button", name=name, exact=True).click()
        page.wait_for_timeout(500)
        wrong += against_the_rules(page, name)
    looks.get_by_role("button", name="As it will look", exact=True).click()
    step(page, "Pieces")
    page.locator(".card > button.name", has_text="forewings, strewn").click()
    page.locator("#course-fade summary").click()
    page.locator("#panel details").evaluate_all("(all) => all.forEach((e) => { e.open = true; })")
    assert wrong + against_the_rules(page, "Pieces") == []


def test_light_follows_the_pointer_but_not_where_motion_is_not_wanted(page: Any):
    lit = """() => { const canvas = document.getElementById("over");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      let count = 0;
      for (let k = 3; k < data.length; k += 4) if (data[k]) count += 1;
      return count; }"""
    x, y = on_screen(page, 12)
    page.mouse.move(x, y)
    assert page.evaluate(lit) > 10
    page.emulate_media(reduced_motion="reduce")
    page.mouse.move(x + 3, y + 3)
    assert page.evaluate(lit) == 0


def test_in_the_evening_a_lamp_lights_the_stones_though_nothing_may_move(page: Any):
    lit = """() => { const canvas = document.getElementById("over");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      return data.some((each, k) => k % 4 === 3 && each); }"""
    laid(page)
    page.emulate_media(reduced_motion="reduce")
    assert not page.evaluate(lit)
    page.get_by_role("button", name="In the evening").click()
    page.wait_for_function(lit)
    # It hangs still: where the pointer goes changes nothing.
    seen = "() => document.getElementById('over').toDataURL()"
    before = page.evaluate(seen)
    page.mouse.move(*on_screen(page, 12))
    page.wait_for_function("() => bench.drawn()")
    assert page.evaluate(seen) == before
    page.get_by_role("button", name="By day").click()
    page.wait_for_function(f"() => !({lit})()")


def test_a_large_job_that_settles_is_drafted_first_and_what_is_in_hand_stays(
    browser: Any, tmp_path: Path
):
    (tmp_path / "field.svg").write_text(field_svg(120))
    text = FIELD_JOB.replace("GAP", "0.55") + "settle = 1.0\n"
    (tmp_path / "field.toml").write_text(text)
    with bench(tmp_path, "field.toml") as started, opened(browser, started) as page:
        page.evaluate(
            """() => { window.drafts = [];
              new EventSource("/api/events").addEventListener("laid", (event) => {
                window.drafts.push(JSON.parse(event.data).draft); }); }"""
        )
        laid(page)
        step(page, "Touch up")
        page.evaluate("() => bench.store.chosen.add([...bench.store.seats.lay].indexOf(1))")
        page.locator("#base").focus()
        page.keyboard.press("p")
        page.wait_for_function("() => bench.store.state.job.edit?.length === 1")
        laid(page)
        assert page.evaluate("() => window.drafts.includes(true)")
        assert page.evaluate(
            "() => [...bench.store.chosen].map((r) => bench.store.seats.hand[r])"
        ) == [1]

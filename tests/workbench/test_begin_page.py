"""How a job begins, in a real browser: by a drawing, by words, with files of one's own, by keys."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.real_artwork import font, icons, script
from tests.workbench.serving import MOTH, ROOT, bench
from tests.workbench.showing import IN_A_BROWSER, laid, opened, step

pytestmark = IN_A_BROWSER


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    (tmp_path / "shelf").mkdir()
    return tmp_path / "shelf"


@pytest.fixture
def page(browser: Any, shelf: Path) -> Iterator[Any]:
    with bench(shelf) as started, opened(browser, started) as shown:
        yield shown


def begin(page: Any) -> Any:
    return page.get_by_role("button", name="Begin", exact=True)


def test_a_drawing_without_a_size_waits_for_its_width(page: Any, shelf: Path, tmp_path: Path):
    ((_, icon),) = icons("lucide-static", ["feather"])
    unsized = icon.replace(b'width="24"', b"").replace(b'height="24"', b"")
    (tmp_path / "feather.svg").write_bytes(unsized)
    page.get_by_label("Choose a drawing").set_input_files(tmp_path / "feather.svg")
    page.get_by_text("say how wide it shall be").wait_for()
    assert begin(page).is_disabled()
    page.get_by_label("Its width (mm)").press_sequentially("150", delay=30)
    page.get_by_text("150.0 × 150.0 mm").wait_for()
    assert list(shelf.iterdir()) == []
    begin(page).click()
    assert laid(page) > 20
    assert "width_mm = 150" in (shelf / "feather.toml").read_text()


def test_a_file_let_go_anywhere_begins_with_it(page: Any):
    page.evaluate(
        """() => { const held = new DataTransfer();
        held.items.add(new File(['<svg xmlns="http://www.w3.org/2000/svg" width="40mm"'
          + ' height="40mm" viewBox="0 0 40 40"><path d="M5 5H35V35H5Z"/></svg>'], "box.svg"));
        document.querySelector("footer").dispatchEvent(
          new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: held })); }"""
    )
    page.get_by_text("40.0 × 40.0 mm, 1 shape (1 closed)").wait_for()
    begin(page).click()
    assert laid(page) > 10


def test_a_name_in_a_font_of_mine_tells_what_it_lacks(page: Any, shelf: Path, tmp_path: Path):
    file = tmp_path / "script.woff"
    file.write_bytes(font("dancing-script", "dancing-script-latin-400-normal"))
    page.get_by_role("button", name="A name").click()
    page.get_by_label("Words").press_sequentially("Ana Мир", delay=20)
    page.locator("#read").wait_for()
    page.get_by_label("A font file of mine").set_input_files(file)
    page.get_by_text("script.woff has no").or_(page.get_by_text("'М'")).first.wait_for()
    assert page.get_by_label("Words").input_value() == "Ana Мир"
    page.get_by_label("Words").fill("Ana")
    page.get_by_label("Capitals (mm high)").fill("50")
    page.wait_for_function("() => !document.querySelector('#panel .finding')")
    page.get_by_text("closed)").wait_for()
    begin(page).click()
    assert laid(page) > 20
    text = (shelf / "Ana.toml").read_text()
    assert 'font = "script.woff"' in text
    assert "cap_height_mm = 50" in text


def test_pieces_of_my_own_list_are_laid(page: Any, tmp_path: Path):
    mine = tmp_path / "mine.toml"
    mine.write_bytes((ROOT / "catalogues" / "pieces" / "pearls.toml").read_bytes())
    page.get_by_role("button", name="A name").click()
    page.get_by_label("Words").fill("Bo")
    page.get_by_label("A list of mine").set_input_files(mine)
    page.get_by_text("pieces: ").wait_for()
    begin(page).click()
    laid(page)
    assert {each["kind"] for each in page.evaluate("() => bench.store.layout.kit")} == {"pearl"}


def test_the_example_opens_with_one_click_and_another_job_is_near(page: Any):
    page.get_by_role("button", name="Open the moth on denim").click()
    laid(page)
    page.get_by_text("Open or begin another job").click()
    page.get_by_label("Bring a job from elsewhere").set_input_files(
        [MOTH / "moth.toml", MOTH / "moth.svg"]
    )
    page.wait_for_function("() => bench.store.state.opened === 'moth-2/moth.toml'")
    laid(page)
    page.get_by_text("Open or begin another job").click()
    assert page.get_by_role("button", name="moth-2/moth").is_visible()


def test_another_job_is_drawn_also_after_changes_to_the_first(page: Any):
    page.get_by_role("button", name="Open the moth on denim").click()
    count = laid(page)
    for gap in (3.0, 3.5, 4.0):
        page.evaluate(
            "async (gap) => (await import('/page/store.js')).setLay('edge', 'gap_mm', gap, '')", gap
        )
        fewer = laid(page)
    assert fewer < count
    page.get_by_text("Open or begin another job").click()
    page.get_by_label("Bring a job from elsewhere").set_input_files(
        [MOTH / "moth.toml", MOTH / "moth.svg"]
    )
    page.wait_for_function("() => bench.store.state.opened === 'moth-2/moth.toml'")
    assert laid(page) == count


def test_a_name_is_begun_by_keys_alone(page: Any):
    def go_to(what: str) -> None:
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate(
                "(what) => { const e = document.activeElement; return (e.labels?.[0] ?? e)"
                ".textContent.startsWith(what); }",
                what,
            ):
                return
        raise AssertionError(what)

    go_to("A name")
    page.keyboard.press("Enter")
    go_to("Words")
    page.keyboard.type("Zoë", delay=40)
    go_to("Letters")
    page.locator("#read").wait_for()
    page.wait_for_function("() => !document.getElementById('start').disabled")
    go_to("Begin")
    page.keyboard.press("Enter")
    assert laid(page) > 5


@pytest.mark.parametrize("what", ["nothing", "drawing", "words", "wrong"])
def test_the_beginning_passes_the_rules_for_access(page: Any, tmp_path: Path, what: str):
    if what in ("drawing", "wrong"):
        ((_, icon),) = icons("lucide-static", ["feather"])
        file = tmp_path / "feather.svg"
        file.write_bytes(icon if what == "drawing" else b"no drawing")
        page.get_by_label("Choose a drawing").set_input_files(file)
        page.locator("#read" if what == "drawing" else "#panel [role=alert]").wait_for()
    if what == "words":
        page.get_by_role("button", name="A name").click()
        page.get_by_label("Words").fill("Мир")
        page.locator("#panel .finding").first.wait_for()
    page.evaluate(script("axe-core", "axe.min.js"))
    found = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
    assert [(each["id"], each["nodes"][0]["html"][:90]) for each in found["violations"]] == []


def test_a_drawing_of_lines_is_filled_without_knowing_a_key(page: Any, shelf: Path, tmp_path: Path):
    ((_, icon),) = icons("lucide-static", ["tornado"])  # open lines alone
    (tmp_path / "tornado.svg").write_bytes(icon)
    page.get_by_label("Choose a drawing").set_input_files(tmp_path / "tornado.svg")
    page.get_by_label("Its width (mm)").fill("200")
    page.get_by_text("200.0 × 200.0 mm").wait_for()
    begin(page).click()
    laid(page)
    page.get_by_role("button", name="Strewn").click()
    page.get_by_text("are open lines").wait_for()
    assert page.evaluate("() => bench.store.state.job.lay.length") == 1
    page.get_by_role("button", name="as wide as they are painted").click()
    page.wait_for_function("() => bench.store.state.job.artwork.as_painted")
    laid(page)
    page.get_by_role("button", name="Strewn").click()
    page.wait_for_function("() => bench.store.state.job.lay.length === 2")
    laid(page)
    assert page.evaluate("() => bench.store.layout.lays[1].count") > 10
    assert page.evaluate("() => bench.store.facts.stopped") is False
    assert 'as_painted = "*"' in (shelf / "tornado.toml").read_text()


def test_a_fill_of_everything_leaves_open_lines_out(page: Any, tmp_path: Path):
    ((_, icon),) = icons("lucide-static", ["crown"])  # one closed, one open
    (tmp_path / "crown.svg").write_bytes(icon)
    page.get_by_label("Choose a drawing").set_input_files(tmp_path / "crown.svg")
    page.get_by_label("Its width (mm)").fill("120")
    page.get_by_text("120.0 × 120.0 mm").wait_for()
    begin(page).click()
    laid(page)
    page.get_by_role("button", name="Strewn").click()
    page.wait_for_function("() => bench.store.state.job.lay.length === 2")
    laid(page)
    lay = page.evaluate("() => bench.store.state.job.lay[1]")
    assert (lay["shapes"], lay["name"]) == ("#path-1", "strewn: path-1")


def test_a_width_typed_while_the_drawing_is_handed_in_stays(page: Any, tmp_path: Path):
    ((_, icon),) = icons("lucide-static", ["crown"])
    (tmp_path / "crown.svg").write_bytes(icon)

    def late(route: Any) -> None:
        page.get_by_label("Its width (mm)").fill("120")
        route.continue_()

    page.route("**/api/hand-in**", late)
    page.get_by_label("Choose a drawing").set_input_files(tmp_path / "crown.svg")
    page.get_by_text("120.0 × 120.0 mm").wait_for()


def test_no_control_needs_a_word_of_the_code(page: Any):
    page.get_by_role("button", name="Open the moth on denim").click()
    laid(page)
    for name in ("Where", "Pieces", "Order", "Touch up", "Check", "Make"):
        step(page, name)
        page.wait_for_timeout(200)
        said = page.evaluate(
            """() => { const own = "button, label, h2, h3, legend, summary, option";
            return [...document.querySelectorAll(`${own}, [aria-label]`)].map((e) =>
              `${e.matches(own) ? e.textContent : ""} ${e.getAttribute("aria-label") ?? ""}`); }"""
        )
        inner = [
            each for each in said if re.search(r"\b(lays?|seats?|ways|kit)\b", each, re.IGNORECASE)
        ]
        assert inner == [], name

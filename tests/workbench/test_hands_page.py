"""Touching up in a real browser: with mouse, keys alone, and fingers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.real_artwork import script
from tests.workbench.serving import Started
from tests.workbench.showing import IN_A_BROWSER, laid, on_screen, opened, step

pytestmark = IN_A_BROWSER

STEPS = ("Where", "Pieces", "Order", "Touch up", "Check", "Make")


@pytest.fixture
def page(page: Any) -> Any:
    laid(page)
    step(page, "Touch up")
    return page


@pytest.fixture
def tablet(browser: Any, moth: Started) -> Iterator[Any]:
    with opened(browser, moth, has_touch=True, is_mobile=True) as shown:
        laid(shown)
        step(shown, "Touch up")
        yield shown


class Fingers:
    """Fingers on the screen, as the browser's own tools put them there."""

    def __init__(self, page: Any) -> None:
        self._tools = page.context.new_cdp_session(page)

    def _send(self, kind: str, points: list[tuple[float, float]]) -> None:
        held = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        self._tools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": held})

    def drag(self, *ways: list[tuple[float, float]], lifts: bool = True) -> None:
        """Put each finger down after the other, move them together, lift them."""
        for n in range(len(ways)):
            self._send("touchStart", [way[0] for way in ways[: n + 1]])
        for at in zip(*ways, strict=True):
            self._send("touchMove", list(at))
        for n in reversed(range(len(ways) if lifts else 0)):
            self._send("touchEnd", [way[-1] for way in ways[:n]])

    def lift(self) -> None:
        self._send("touchEnd", [])


def toward(page: Any, row: int, other: int, share: float) -> tuple[float, float]:
    """Return the place that far from one seat to another, on the screen."""
    (x, y), (to_x, to_y) = on_screen(page, row), on_screen(page, other)
    return x + (to_x - x) * share, y + (to_y - y) * share


def edits(page: Any) -> list[dict[str, Any]]:
    return list(page.evaluate("() => bench.store.state.job.edit ?? []"))


def test_what_is_put_back_can_be_set_there_anyway(page: Any):
    x, y = on_screen(page, 12)
    to = toward(page, 12, 13, 0.8)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(*to, steps=4)
    page.get_by_text("✕ gap").wait_for()
    assert 12 in page.evaluate("async () => (await import('/page/stage.js')).hand.between")
    page.mouse.up()
    page.get_by_text("Put back").wait_for()
    assert edits(page) == []
    page.get_by_role("button", name="Set it there anyway").click()
    page.wait_for_function("() => bench.store.state.job.edit?.length === 1")


def test_keys_are_refused_softly_and_enter_sets_it_there_anyway(page: Any):
    page.locator("#base").focus()
    page.keyboard.press("]")
    for key in ("Shift+ArrowRight", "Shift+ArrowLeft", "Shift+ArrowUp", "Shift+ArrowDown"):
        number = page.evaluate("() => bench.store.state.number")
        page.keyboard.press(key)
        page.wait_for_function(
            "(number) => bench.store.state.number > number"
            " || !document.getElementById('anyway').hidden",
            arg=number,
        )
        if page.locator("#anyway").is_visible():
            break
        laid(page)
    assert page.locator("#hint").inner_text().startswith("Put back: ✕")
    before = edits(page)
    page.keyboard.press("Enter")
    page.wait_for_function(
        "(before) => JSON.stringify(bench.store.state.job.edit ?? []) !== before",
        arg=page.evaluate("(held) => JSON.stringify(held)", before),
    )
    page.locator("#anyway").wait_for(state="hidden")


def test_keys_alone_turn_pin_swap_add_and_take_away(page: Any):
    page.locator("#base").focus()
    page.keyboard.press("]")
    page.keyboard.press("e")
    page.wait_for_function("() => bench.store.state.job.edit?.[0].do === 'turn'")
    laid(page)
    page.get_by_label("Another piece").fill("R-SS10-BLUE")
    page.get_by_role("button", name="Swap").press("Enter")
    page.wait_for_function("() => bench.store.state.job.edit.at(-1).piece === 'R-SS10-BLUE'")
    laid(page)
    count = page.evaluate("() => bench.store.layout.count")
    page.get_by_label("Add one at").fill("-12")
    page.get_by_label("down", exact=True).last.fill("-12")
    page.get_by_role("button", name="Add there").press("Enter")
    page.wait_for_function("() => bench.store.state.job.edit.at(-1).do === 'add'")
    assert laid(page) > count
    page.locator("#base").focus()
    page.keyboard.press("]")
    page.keyboard.press("p")
    page.wait_for_function("() => bench.store.state.job.edit.at(-1).do === 'pin'")


def test_what_is_done_to_one_side_is_done_to_the_other(page: Any):
    row, twin = page.evaluate(
        "() => { const { twin } = bench.store.seats;"
        " const row = [...twin].findIndex((other, k) => other >= 0 && other !== k);"
        " return [row, twin[row]]; }"
    )
    count = page.evaluate("() => bench.store.layout.count")
    page.mouse.click(*on_screen(page, row))
    page.locator("#base").focus()
    page.keyboard.press("Delete")
    page.wait_for_function("() => bench.store.state.job.edit?.length === 1")
    assert row != twin
    assert laid(page) == count - 2


def test_a_finger_moves_a_piece_and_another_with_it_moves_only_the_view(tablet: Any):
    fingers = Fingers(tablet)
    x, y = on_screen(tablet, 12)
    scale = tablet.evaluate("() => bench.eye.scale")
    ways = [[(x - 9.0 * n, y) for n in range(9)], [(x + 60.0 + 9.0 * n, y) for n in range(9)]]
    fingers.drag(*ways)
    tablet.wait_for_timeout(200)
    assert tablet.evaluate("() => bench.eye.scale") > scale * 1.5
    assert edits(tablet) == []
    assert tablet.evaluate(
        "async () => { const { hand } = await import('/page/stage.js');"
        " return [hand.dx, hand.dy, hand.box]; }"
    ) == [0, 0, None]
    x, y = on_screen(tablet, 12)
    fingers.drag([(x, y), (x, y + 3), (x + 20, y + 30), (x + 40, y + 60)], lifts=False)
    tablet.wait_for_function("() => /gap|near/.test(document.getElementById('hint').textContent)")
    fingers.lift()
    tablet.wait_for_function(
        "() => bench.store.state.job.edit?.length === 1"
        " || !document.getElementById('anyway').hidden"
    )
    if not edits(tablet):
        tablet.get_by_role("button", name="Set it there anyway").click()
        tablet.wait_for_function("() => bench.store.state.job.edit?.length === 1")


def test_fingers_choose_several_without_a_key(tablet: Any):
    tablet.get_by_role("button", name="Add to what is chosen").tap()
    for row in (4, 40):
        tablet.touchscreen.tap(*on_screen(tablet, row))
    assert set(tablet.evaluate("() => [...bench.store.chosen]")) == {4, 40}
    tablet.touchscreen.tap(*on_screen(tablet, 40))
    assert tablet.evaluate("() => [...bench.store.chosen]") == [4]


def test_whatever_a_finger_presses_is_large_enough(tablet: Any):
    small: list[str] = []
    for name in STEPS:
        step(tablet, name)
        tablet.wait_for_timeout(300)
        small += tablet.evaluate(
            """(name) => [...document.querySelectorAll(
              "button, select, textarea, input:not([type=file]), .pick label, summary, [href]")]
            .filter((e) => e.checkVisibility() && !e.matches(".skip, .made a"))
            .map((e) => [e, e.getBoundingClientRect()])
            .filter(([e, box]) => box.height < (e.type === "checkbox" ? 32 : 43.5)
                                  || box.width < (e.type === "checkbox" ? 32 : 43.5))
            .map(([e, box]) => `${name}: ${e.outerHTML.slice(0, 70)} ${box.width}, ${box.height}`)
            """,
            name,
        )
    assert small == []


def test_states_of_touching_up_pass_the_rules_for_access(page: Any):
    page.evaluate(script("axe-core", "axe.min.js"))
    page.mouse.click(*on_screen(page, 12))
    page.get_by_label("Right").fill("0.5")
    page.get_by_role("button", name="Move", exact=True).click()
    page.wait_for_function("() => document.getElementById('hint').textContent.includes('gap')")
    found = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
    assert [(each["id"], each["nodes"][0]["html"][:90]) for each in found["violations"]] == []

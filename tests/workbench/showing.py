"""The page shown in a real browser, for tests."""

from __future__ import annotations

import shutil
from typing import Any

import pytest

from tests.workbench.serving import Started

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)

IN_A_BROWSER = [
    pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]
"""What tests in a browser are marked with."""


class opened:  # noqa: N801 - read as a word in a with
    """A page at the workbench, on which no script fails and nothing is loaded from elsewhere."""

    def __init__(self, browser: Any, started: Started, **more: Any) -> None:
        self.context = browser.new_context(viewport={"width": 1280, "height": 860}, **more)
        self.page = self.context.new_page()
        self.faults: list[str] = []
        self.page.on("pageerror", lambda fault: self.faults.append(str(fault)))
        self.page.on("request", self._asked)
        self.origin = started.origin
        self.page.goto(started.address)
        self.page.wait_for_function("() => bench.store.state")

    def _asked(self, request: Any) -> None:
        if not request.url.startswith((self.origin, "blob:")):
            self.faults.append(f"asked for {request.url}")

    def __enter__(self) -> Any:
        return self.page

    def __exit__(self, *_: object) -> None:
        self.context.close()
        assert self.faults == []


def laid(page: Any) -> int:
    """Wait until the page shows what the job is now; return how many pieces are set."""
    page.wait_for_function(
        "() => { const s = bench.store;"
        " return s.state && s.layout && s.facts && s.seats && !s.seats.draft"
        " && [s.layout, s.seats, s.facts].every((each) => each.number === s.state.number); }",
        timeout=30_000,
    )
    return int(page.evaluate("() => bench.store.layout.count"))


def step(page: Any, name: str) -> None:
    page.get_by_role("navigation").get_by_role("button", name=name, exact=True).click()


def on_screen(page: Any, row: int) -> tuple[float, float]:
    """Return where a seat is on the screen."""
    x, y = page.evaluate(
        """(row) => { const { store, eye } = bench;
        const k = [...store.seats.seat].indexOf(row);
        const box = document.getElementById("base").getBoundingClientRect();
        return [box.left + (store.seats.xy[2 * k] - eye.x) * eye.scale,
                box.top + (store.seats.xy[2 * k + 1] - eye.y) * eye.scale]; }""",
        row,
    )
    return float(x), float(y)

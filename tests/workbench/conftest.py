"""A folder with the moth, a workbench started on it, and its page in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.workbench.serving import Started, bench, put_moth
from tests.workbench.showing import CHROMIUM, opened


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Start the system's Chromium; skipped with a word where playwright is not installed."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as started:
        chosen = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chosen
        chosen.close()


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """Return a folder with the moth in it."""
    put_moth(tmp_path)
    return tmp_path


@pytest.fixture
def moth(shelf: Path) -> Iterator[Started]:
    """Start a workbench on the moth; laid and checked once."""
    with bench(shelf, "moth.toml") as started:
        started.checked()
        yield started


@pytest.fixture
def page(browser: Any, moth: Started) -> Iterator[Any]:
    """Open the page of the moth."""
    with opened(browser, moth) as shown:
        yield shown

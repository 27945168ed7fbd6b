"""A browser for all tests of the page in one module."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.workbench.showing import CHROMIUM


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Start the system's Chromium; skipped with a word where playwright is not installed."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as started:
        chosen = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chosen
        chosen.close()

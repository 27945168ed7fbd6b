"""Frame times of the page in a real browser: `python -m tests.benchmarks panning`.

A frame is the time from one to the next as the browser shows them, so that what its own threads
draw counts too; 16.7 ms is as fast as a screen of 60 Hz goes. Without a Chromium nothing is told.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
from pathlib import Path
from typing import Final

from tests.benchmarks.bench import FIELD_JOB, field_svg
from tests.benchmarks.yardstick import tell
from tests.workbench.serving import bench

_SIDE_MM: Final = 690
_FRAMES: Final = 60

_RUN: Final = """async ([deed, frames]) => {
  const { pan, zoom } = await import("/page/stage.js");
  const deeds = { pan: (k) => pan(k % 2 ? 3 : -3, 0), zoom: (k) => zoom(k % 2 ? 1.02 : 1 / 1.02) };
  const times = [];
  let last = 0;
  for (let k = 0; k < frames; k += 1) {
    deeds[deed](k);
    const now = await new Promise(requestAnimationFrame);
    if (last) times.push(now - last);
    last = now;
  }
  return times;
}"""


def frames() -> None:
    """Pan and zoom 50 000 pieces: all of them in view, and nearer."""
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        chromium = None
    if chromium is None:
        sys.stderr.write("There is no Chromium with playwright here: no frames are timed.\n")
        return
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held)
        (folder / "field.svg").write_text(field_svg(_SIDE_MM))
        (folder / "field.toml").write_text(FIELD_JOB.replace("GAP", "0.50"))
        with bench(folder, "field.toml") as started, sync_playwright() as tools:
            browser = tools.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1280, "height": 860})
            page.goto(started.address)
            page.wait_for_function("() => bench.store.facts", timeout=120_000)
            count = page.evaluate("() => bench.store.seats.n")
            for name, nearer in (("full view", 1.0), ("3 times nearer", 3.0), ("9 times", 3.0)):
                page.evaluate("async (by) => (await import('/page/stage.js')).zoom(by)", nearer)
                page.wait_for_timeout(500)
                for deed in ("pan", "zoom"):
                    times = page.evaluate(_RUN, [deed, _FRAMES])
                    figure = statistics.median(times)
                    tell(f"workbench: {deed} {count} seats, {name}, frame", figure, 33.0, "ms")
            browser.close()


BENCHMARKS = (frames,)

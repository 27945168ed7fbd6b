"""The page in a real browser, timed: `python -m tests.benchmarks panning`.

A frame is the time from one to the next as the browser shows them, so that what its own threads
draw counts too; 16.7 ms is as fast as a screen of 60 Hz goes. Without a Chromium nothing is told.
"""

from __future__ import annotations

import contextlib
import shutil
import statistics
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from tests.benchmarks.bench import FIELD_JOB, field_svg
from tests.benchmarks.yardstick import tell
from tests.workbench.serving import bench

_SIDE_MM: Final = 690
_FRAMES: Final = 60
_WHY: Final = (
    "a third is laying, a third the two frames in which the browser shows it, the rest two requests"
    " and the browser at work on the same two cores; 175 ms before layouts came as one answer"
)

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


_CHANGE: Final = """async (gap) => {
  const { store } = bench, { setLay, hear } = await import("/page/store.js");
  const start = performance.now();
  const drawn = new Promise((done) => {
    let waits = true;
    hear((what) => {
      if (what !== "layout" || !waits) return;
      waits = false; // after the frame that draws it
      const draft = store.seats.draft;
      requestAnimationFrame(() => requestAnimationFrame(
        () => done([performance.now() - start, store.seats.n, draft])));
    });
  });
  await setLay("fill", "gap_mm", gap, "gap");
  return drawn;
}"""


def changes() -> None:
    """From a changed gap to what the browser has drawn of it; of a lay that settles, its draft."""
    for side, count, target, more in (
        *((135, "2 000", 100.0, ""), (690, "50 000", 1000.0, "")),
        *((135, "2 000", 100.0, "settle = 1.0"), (690, "50 000", 1000.0, "settle = 1.0")),
    ):
        with _shown(side, more) as page:
            if page is None:
                return
            times, seats = [], 0
            for gap in (0.51, 0.52, 0.53):
                took, seats, draft = page.evaluate(_CHANGE, gap)
                times.append(took)
                if draft != bool(more):
                    sys.stderr.write("Another layout was drawn than was to be timed.\n")
            name = f"workbench: a change drawn in the browser, {seats} seats (about {count})"
            name += ", its draft" if more else ""
            tell(name, statistics.median(times), target, "ms", why=_WHY)


@contextlib.contextmanager
def _shown(side: int, more: str = "") -> Iterator[Any]:
    """Show a field of pieces in a browser; None with a word where there is none."""
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        chromium = None
    if chromium is None:
        sys.stderr.write("There is no Chromium with playwright here: nothing is timed in it.\n")
        yield None
        return
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held)
        (folder / "field.svg").write_text(field_svg(side))
        (folder / "field.toml").write_text(FIELD_JOB.replace("GAP", "0.50") + more + "\n")
        with bench(folder, "field.toml") as started, sync_playwright() as tools:
            browser = tools.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1280, "height": 860})
            page.goto(started.address)
            # A lay that settles long need not have settled: it is changed again.
            ready = "() => bench.store.seats" if more else "() => bench.store.facts"
            page.wait_for_function(ready, timeout=120_000)
            yield page
            browser.close()


def frames() -> None:
    """Pan and zoom 50 000 pieces: all of them in view, and nearer."""
    with _shown(_SIDE_MM) as page:
        if page is None:
            return
        count = page.evaluate("() => bench.store.seats.n")
        for name, nearer in (("full view", 1.0), ("3 times nearer", 3.0), ("9 times", 3.0)):
            page.evaluate("async (by) => (await import('/page/stage.js')).zoom(by)", nearer)
            page.wait_for_timeout(500)
            for deed in ("pan", "zoom"):
                times = page.evaluate(_RUN, [deed, _FRAMES])
                figure = statistics.median(times)
                tell(f"workbench: {deed} {count} seats, {name}, frame", figure, 33.0, "ms")


BENCHMARKS = (frames, changes)

"""How commands tell: facts as JSON or as lines, findings, progress."""

from __future__ import annotations

import json
import shutil
import sys
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Self, TextIO

from embellish.findings import Finding, gravest_first

QUIET_S = 1.0
"""Work this short shows no progress."""

REDRAW_S = 0.1
"""The line is not drawn again sooner."""


def print_json(facts: Any) -> None:
    """Print facts as JSON on standard output."""
    # Letters stand as they are where the output can hold them, else as JSON's own \\u escapes.
    plain = (sys.stdout.encoding or "utf-8").lower().replace("-", "") != "utf8"
    print(json.dumps(facts, indent=1, ensure_ascii=plain, allow_nan=False))


def print_findings(findings: Iterable[Finding]) -> None:
    """Print findings, errors first, a line each with its mend."""
    for finding in gravest_first(list(findings)):
        lay = f" [{finding.lay}]" if finding.lay else ""
        where = (
            f" at x {finding.where_mm[0]:.1f}, y {finding.where_mm[1]:.1f} mm"
            if finding.where_mm
            else ""
        )
        mend = f" {finding.mend}" if finding.mend else ""
        print(f"{finding.severity}{lay}: {finding.message.rstrip('.')}{where}.{mend}")


def print_table(head: Sequence[str], rows: Sequence[Sequence[str]], right: set[int]) -> None:
    """Print a plain table; columns named in ``right`` are set flush right."""
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    for row in [head, *rows]:
        cells = [
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        print("  ".join(cells).rstrip())


class ProgressLine:
    """One line on a terminal's standard error for work longer than a second; else nothing.

    Use it as ``with ProgressLine() as progress:``, so that the line goes however the work ends.
    A thread of its own draws it: telling costs the work nothing, and the seconds run on where a
    long calculation has nothing to tell.
    """

    def __init__(self, terminal: TextIO | None = None) -> None:
        self._terminal = sys.stderr if terminal is None else terminal
        self._start = time.monotonic()
        self._words = ""
        self._ended = threading.Event()
        self._drawer: threading.Thread | None = None

    def __enter__(self) -> Self:
        if self._terminal.isatty():
            self._drawer = threading.Thread(target=self._draw, daemon=True)
            self._drawer.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        if self._drawer is not None:
            self._drawer.join()

    def stage(self, name: str) -> Callable[[float], None]:
        """Return what tells how far one stage of the work has come; it need not be called."""
        self._words = name

        furthest = 0.0

        def tell(share: float) -> None:
            nonlocal furthest
            furthest = min(max(share, furthest), 1.0)
            self._words = f"{name}: {furthest:.0%}"

        return tell

    def _draw(self) -> None:
        terminal, shown = self._terminal, ""
        wait_s = QUIET_S
        while not self._ended.wait(wait_s):
            wait_s = REDRAW_S
            words = f"{self._words}, {time.monotonic() - self._start:.0f} s"
            if words != shown:
                shown = words
                width = shutil.get_terminal_size().columns - 1
                terminal.write(f"\r\x1b[K{words[:width]}")
                terminal.flush()
        if shown:
            terminal.write("\r\x1b[K")
            terminal.flush()

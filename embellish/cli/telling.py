"""How commands tell: facts as JSON or as lines, findings, progress."""

from __future__ import annotations

import json
import shutil
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Self

from embellish.findings import Finding, gravest_first

QUIET_S = 1.0
"""Work this short shows no progress."""

REDRAW_S = 0.1
"""The line is not drawn again sooner, so that telling costs nothing."""


def print_json(facts: Any) -> None:
    """Print facts as JSON on standard output."""
    print(json.dumps(facts, indent=1, ensure_ascii=False, allow_nan=False))


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
    """

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._last = 0.0
        self._shown = ""
        self._live = sys.stderr.isatty()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
            self._shown = ""

    def stage(self, name: str) -> Callable[[float], None]:
        """Return what tells how far one stage of the work has come; it need not be called."""
        self._show(name, new=True)
        return lambda share: self._show(f"{name}: {min(max(share, 0.0), 1.0):4.0%}")

    def _show(self, words: str, *, new: bool = False) -> None:
        now = time.monotonic()
        quiet = now - self._start <= QUIET_S or (now - self._last < REDRAW_S and not new)
        if not self._live or quiet or words == self._shown:
            return
        self._last, self._shown = now, words
        width = shutil.get_terminal_size().columns - 1
        sys.stderr.write(f"\r\x1b[K{words[:width]}")
        sys.stderr.flush()

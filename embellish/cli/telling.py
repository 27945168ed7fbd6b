"""How commands tell: facts as JSON or as lines, findings, progress."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from embellish.findings import Finding, gravest_first


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
    """One line on standard error for work longer than a second; nothing where nobody looks."""

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._shown = False
        self._live = sys.stderr.isatty()

    def stage(self, name: str) -> Callable[[float], None]:
        """Return what tells of one stage of the work."""

        def tell(share: float) -> None:
            if self._live and time.monotonic() - self._start > 1.0:
                self._shown = True
                sys.stderr.write(f"\r\x1b[K{name}: {share:4.0%}")
                sys.stderr.flush()

        tell(0.0)
        return tell

    def done(self) -> None:
        """Clear the line."""
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

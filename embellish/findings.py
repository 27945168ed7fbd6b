"""Findings: what a reader, a check or a writer noticed and the maker should know."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

Severity = Literal["error", "warning", "note"]

_ORDER: dict[str, int] = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing noticed.

    Parameters
    ----------
    code
        Stable kebab-case name of the kind of finding, such as ``gap-too-small``.
    severity
        ``error`` stops machine files, ``warning`` asks for a look, ``note`` tells.
    message
        One sentence for the maker.
    where_mm
        Place in layout millimetres (y down), where there is one.
    lay
        The id of the lay, where there is one.
    mend
        What to do about it.
    """

    code: str
    severity: Severity
    message: str
    where_mm: tuple[float, float] | None = None
    lay: str | None = None
    mend: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return the finding in the form of findings.json."""
        where = None if self.where_mm is None else {"x": self.where_mm[0], "y": self.where_mm[1]}
        return {
            "code": self.code,
            "severity": self.severity,
            "message": self.message,
            "where": where,
            "lay": self.lay,
            "mend": self.mend,
        }


def counted(count: int, one: str, many: str = "") -> str:
    """Return a number with its word: '1 seat', '3 seats'."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def few(names: Sequence[str], most: int) -> str:
    """Return the first of some names, with a sign where there are more."""
    return ", ".join(names[:most]) + (" …" if len(names) > most else "")


def gravest_first(findings: list[Finding]) -> list[Finding]:
    """Return the findings, errors first, otherwise in the order they were found."""
    return sorted(findings, key=lambda finding: _ORDER[finding.severity])

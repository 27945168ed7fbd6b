"""What the SVG reader did not understand, gathered so that a hundred like cases are one finding."""

from __future__ import annotations

from embellish.findings import Finding, Severity
from embellish.formats.xml import Element, local_name

_NAMED = 5


def element_name(element: Element) -> str:
    """Return how a finding names an element: its tag with its id, or with its line."""
    tag = local_name(element.tag)
    identity = (element.get("id") or "").strip()
    return f"<{tag}> '{identity}'" if identity else f"<{tag}> in line {element.sourceline}"


class Notes:
    """Collects findings by kind, in the order each kind was first met."""

    def __init__(self) -> None:
        self._met: dict[tuple[str, Severity, str, str], dict[Element, str]] = {}

    def add(
        self,
        code: str,
        severity: Severity,
        element: Element | None,
        effect: str,
        mend: str = "",
    ) -> None:
        """Note one element (or the whole file, where None) and the effect on what was read."""
        names = self._met.setdefault((code, severity, effect, mend), {})
        if element is not None:
            names[element] = element_name(element)

    def findings(self) -> tuple[Finding, ...]:
        """Return the findings gathered so far."""
        return tuple(
            Finding(code, severity, _sentence(list(names.values()), effect), mend=mend)
            for (code, severity, effect, mend), names in self._met.items()
        )


def _sentence(names: list[str], effect: str) -> str:
    if not names:
        return effect
    shown = list(dict.fromkeys(names))[:_NAMED]
    more = f" and {len(names) - len(shown)} more" if len(names) > len(shown) else ""
    return f"{', '.join(shown)}{more}: {effect}"

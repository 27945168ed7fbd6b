"""What is in stock and does not reach."""

from __future__ import annotations

from collections.abc import Iterator

from embellish.checks.site import Site
from embellish.findings import Finding


def stock_reaches(site: Site) -> Iterator[Finding]:
    """Tell of pieces that are in stock, but not as many as the job needs with its spares.

    What the catalogue has no stock of is bought in any case, and where stock is not to be used
    nothing is taken from it.
    """
    if site.materials is None:
        return
    for line in site.materials.lines:
        if 0 < line.from_stock < line.needed:
            yield Finding(
                "stock-short",
                "note",
                f"{line.code}: {line.needed} needed with spares, {line.from_stock} in stock,"
                f" {line.needed - line.from_stock} to buy",
                mend="Ask for the same lot: colours differ from lot to lot.",
            )

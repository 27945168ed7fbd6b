"""The rules, in the order they are looked at. A rule is a function from a site to findings."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from embellish.checks.site import Site
from embellish.checks.spacing import gaps_hold, pieces_stay_inside
from embellish.findings import Finding

Rule = Callable[[Site], Iterator[Finding]]

RULES: tuple[Rule, ...] = (gaps_hold, pieces_stay_inside)


def check(site: Site) -> tuple[Finding, ...]:
    """Return what all rules found."""
    return tuple(finding for rule in RULES for finding in rule(site))

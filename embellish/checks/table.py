"""The rules, in the order they are looked at. A rule is a function from a site to findings."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from embellish.checks.cloth import (
    gaps_hold_stretched,
    heat_bears,
    holes_heal,
    nap_sinks,
    press_is_borne,
    sheer_shows,
    stretch_gives,
)
from embellish.checks.foot import foot_stays_clear, marks_stay_seen
from embellish.checks.setting import (
    pressed_with_glue,
    sequins_after_heat,
    sewn_through_holes,
    shaped_do_not_brush,
)
from embellish.checks.site import Site
from embellish.checks.spacing import gaps_hold, pieces_stay_inside, something_is_laid
from embellish.checks.stock import stock_reaches
from embellish.checks.thread import marks_hide, thread_stays_clear
from embellish.checks.wearing import care_agrees, load_is_told, wearer_is_safe
from embellish.findings import Finding

Rule = Callable[[Site], Iterator[Finding]]

RULES: tuple[Rule, ...] = (
    something_is_laid,
    gaps_hold,
    pieces_stay_inside,
    marks_hide,
    thread_stays_clear,
    foot_stays_clear,
    marks_stay_seen,
    pressed_with_glue,
    shaped_do_not_brush,
    sewn_through_holes,
    sequins_after_heat,
    holes_heal,
    sheer_shows,
    nap_sinks,
    heat_bears,
    press_is_borne,
    gaps_hold_stretched,
    stretch_gives,
    load_is_told,
    care_agrees,
    wearer_is_safe,
    stock_reaches,
)


def check(site: Site) -> tuple[Finding, ...]:
    """Return what all rules found."""
    return tuple(finding for rule in RULES for finding in rule(site))

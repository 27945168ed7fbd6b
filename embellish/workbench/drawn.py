"""All that a layout is drawn with as one answer: its columns, and after them its facts as JSON."""

from __future__ import annotations

import json

from embellish.workbench.columns import seat_columns
from embellish.workbench.facts import layout_facts
from embellish.workbench.layer import Laid


def drawn_bytes(laid: Laid) -> bytes:
    """Return columns and facts of a layout; how long the facts are stands in the columns' head."""
    assert laid.bedded is not None  # noqa: S101 - asked of layouts alone
    facts = json.dumps(layout_facts(laid), separators=(",", ":")).encode()
    columns = seat_columns(laid.bedded, laid.number, draft=laid.draft, facts_bytes=len(facts))
    return columns + facts

"""Laying beside the answering of requests: drafts first where it takes long."""

from __future__ import annotations

import queue
from pathlib import Path

from embellish.workbench.layer import Laid, Layer
from tests.benchmarks.bench import FIELD_JOB, field_svg

LARGE = 800


def test_what_takes_long_is_drafted_first_also_on_the_first_opening(tmp_path: Path):
    (tmp_path / "field.svg").write_text(field_svg(110))
    told: queue.Queue[Laid] = queue.Queue()
    layer = Layer(told.put, lambda _words, _share: None)
    drafts = {}
    for number, (name, gap, more) in enumerate(
        [
            ("a.toml", "0.55", "settle = 1.0"),  # opened
            ("a.toml", "0.56", "settle = 1.0"),  # changed
            ("b.toml", "6.0", "settle = 1.0"),  # another, that is small
            ("a.toml", "0.55", "settle = 1.0"),  # a large one again
            ("a.toml", "0.55", ""),  # that is laid quickly
            ("b.toml", "0.55", "settle = 1.0"),  # the small one made large
        ],
        1,
    ):
        text = FIELD_JOB.replace("GAP", gap).replace("0.8", "2.5") + more + "\n"
        layer.ask(number, tmp_path / name, text)
        mine = [told.get(timeout=120)]
        while mine[-1].checked is None:
            assert mine[-1].wrong is None
            mine.append(told.get(timeout=120))
        assert {each.number for each in mine} == {number}
        last = mine[-1].bedded
        assert last is not None
        drafts[number] = (mine[0].draft, len(last.layout) >= LARGE)
        assert [each.draft for each in mine[1:]] == [False] * (len(mine) - 1)
    layer.close()
    assert drafts == {
        1: (True, True),
        2: (True, True),
        3: (False, False),
        4: (True, True),
        5: (False, True),
        6: (True, True),
    }

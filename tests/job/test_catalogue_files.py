"""Catalogues are opened without what reads drawings and lays pieces, so that a search is quick."""

from __future__ import annotations

import subprocess
import sys

SEARCH = """
import sys
from embellish.__main__ import main
try:
    main()
except SystemExit:
    pass
heavy = ("scipy.spatial", "ezdxf", "embellish.artwork", "embellish.layout")
print([name for name in sys.modules if name.startswith(heavy)])
"""


def test_a_search_loads_nothing_of_drawings_and_layouts():
    words = ["catalogue", "find", "SS10 red", "--catalogue", "shipped:stones", "--near", "#aa0022"]
    done = subprocess.run(
        [sys.executable, "-c", SEARCH, *words], capture_output=True, text=True, check=True
    )
    told = done.stdout.splitlines()
    assert any(line.startswith("R-SS10-RED") for line in told)
    assert told[-1] == "[]"

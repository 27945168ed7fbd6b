"""All benchmarks, or those of the names given: a module's, or one function's.

One line a figure: name, figure, target, and ``met`` or ``missed``, with tabs between.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib import import_module
from typing import Final

MODULES: Final = (
    *("rows", "scatter", "fills", "packings", "centreline", "gaps", "tours", "mosaics"),
    *(
        "svg",
        "stitches",
        "drawing",
        "templates",
        "buying",
        "order",
        "catalogues",
        "bench",
        "panning",
    ),
    "whole",
)


def main(wanted: list[str]) -> int:
    """Run the benchmarks asked for; returns 2 where a name is of none."""
    every: dict[str, list[Callable[[], None]]] = {
        name: list(import_module(f"tests.benchmarks.{name}").BENCHMARKS) for name in MODULES
    }
    known = {*every, *(each.__name__ for held in every.values() for each in held)}
    unknown = [name for name in wanted if name not in known]
    if unknown:
        sys.stderr.write(f"There is no benchmark {unknown[0]!r}. There are: {sorted(known)}\n")
        return 2
    for name, held in every.items():
        for benchmark in held:
            if not wanted or name in wanted or benchmark.__name__ in wanted:
                benchmark()
    return 0


sys.exit(main(sys.argv[1:]))

"""How long a catalogue of 10 000 pieces takes to be read and searched.

Run ``python -m tests.benchmarks catalogues``. The yardsticks are the bare parse of the same text by
TOML's library, in the same run, for the first reading, and the first for the later ones.
"""

from __future__ import annotations

import colorsys
import tomllib

from embellish.catalogue.auditing import audited
from embellish.catalogue.catalogue import read_catalogue
from embellish.catalogue.finding import found_pieces, wanted_of
from embellish.catalogue.stored import restored, stored
from tests.benchmarks.yardstick import seconds, tell

PIECES = 10_000


def trade_scale() -> bytes:
    """Return an invented catalogue: 40 sizes in 250 colours, each row written out."""
    rows = ['[catalogue]\nname = "large"\ncurrency = "EUR"\n']
    for n in range(PIECES):
        size, shade = n % 40, n // 40
        least = 1.5 + 0.15 * size
        red, green, blue = (
            round(255 * part)
            for part in colorsys.hsv_to_rgb((shade % 50) / 50, 0.3 + 0.14 * (shade // 50), 0.9)
        )
        rows.append(
            f'[[piece]]\ncode = "R{n:05d}"\nname = "round stone"\n'
            f'kind = "stone"\nsize = "S{size}"\n'
            f"size_mm = [{least:.2f}, {least + 0.05:.2f}, {least + 0.1:.2f}]\nheight_mm = 1.2\n"
            f'colour = "shade {shade}"\nhex = "#{red:02x}{green:02x}{blue:02x}"\n'
            f'finish = "{("foiled", "opaque")[shade % 2]}"\n'
            f'fixing = "{("heat-set", "glue")[size % 2]}"\nstock = {n % 7 * 10}\n'
            'packs = [{ pieces = 144, price = "1.10" }, { pieces = 1440, price = "9.50" }]\n'
            'source = "invented"\n'
        )
    return "".join(rows).encode()


def reading() -> None:
    """First and later readings, each against a bare parse of the same text."""
    data = trade_scale()
    text = data.decode()
    bare = seconds(lambda: tomllib.loads(text))
    first = seconds(lambda: read_catalogue(data, "large"))
    tell("10 000 pieces, first reading", first / bare, 2.5, "x TOML parse")
    kept = stored(read_catalogue(data, "large"))
    later = seconds(lambda: restored(kept, "large"))
    tell("10 000 pieces, later readings", later / first, 0.5, "x first reading")
    tell("10 000 pieces, later readings, time", later, 0.8, "s")


def searching() -> None:
    """Words, sizes and the nearest colour at once; and a look through everything."""
    catalogue = read_catalogue(trade_scale(), "large")
    wanted = wanted_of("foiled", "stone", "heat-set", (2.0, 5.0), "#2244aa", in_stock=True)
    assert found_pieces(catalogue, wanted)
    took = seconds(lambda: found_pieces(catalogue, wanted))
    tell("10 000 pieces, search", took * 1e3, 150.0, "ms")
    tell("10 000 pieces, look through", seconds(lambda: audited(catalogue)), 2.0, "s")


BENCHMARKS = (reading, searching)

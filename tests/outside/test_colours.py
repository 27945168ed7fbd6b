"""Names of colours against tinycss2, which reads CSS Color Module Level 4 by its own table."""

from __future__ import annotations

from tinycss2 import color4

from embellish.formats.colours import NAMED


def test_names_are_those_of_the_web():
    for name, digits in NAMED.items():
        colour = color4.parse_color(name)
        assert colour is not None, name
        assert "#" + "".join(f"{round(part * 255):02x}" for part in colour.coordinates) == digits
    # 148 names in the standard; transparent and currentcolor are no colours of a piece.
    assert len(NAMED) == 148

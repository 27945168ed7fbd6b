"""Numbers as text: the shortest fixed decimal to the nanometre, the same in every format."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.arrays import Floats

PLACES: Final = 6
_CHUNK: Final = 65536


def number(value: float) -> str:
    """Return the shortest fixed decimal of at most six places: no exponent, no minus zero."""
    text = f"{value:.{PLACES}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def rows(template: str, values: Floats) -> Iterator[str]:
    r"""Fill ``template``, which has one ``%s`` a column, for each row of ``values``.

    Yields text in large chunks: one ``%`` over many rows is several times faster than a row at
    a time, which tells for a million holes.

    Parameters
    ----------
    template
        The text of one row, such as ``'<circle cx="%s" cy="%s"/>\n'``.
    values : array of shape (n, columns)
    """
    # Ten significant digits give back any rounded number of up to four digits before the point,
    # fifteen one of up to nine, without trailing zeros; the fewer are written half as fast again.
    # %g goes over to an exponent only below 1e-4, which is rare enough to be left to the slow way.
    short, long = template.replace("%s", "%.10g"), template.replace("%s", "%.15g")
    for start in range(0, len(values), _CHUNK):
        chunk = np.round(values[start : start + _CHUNK], PLACES) + 0.0
        size = np.abs(chunk)
        if ((size < 1e-4) & (size > 0.0)).any() or (size >= 1e9).any():
            texts = [number(value) for value in chunk.ravel().tolist()]
            yield (template * len(chunk)) % tuple(texts)
        else:
            fast = short if (size < 1e4).all() else long
            yield (fast * len(chunk)) % tuple(chunk.ravel().tolist())

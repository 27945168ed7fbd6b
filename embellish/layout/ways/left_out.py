"""Where rows run too near to themselves or each other, told once a lay with the worst place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from embellish.arrays import Floats
from embellish.findings import Finding


@dataclass(frozen=True, eq=False)
class LeftOut:
    """What a row of one shape left out.

    Parameters
    ----------
    shape_id
        The shape.
    places_mm : array of shape (j, 3)
        Where: x, y and the arc length without pieces of its own.
    """

    shape_id: str
    places_mm: Floats


def left_out_told(found: Sequence[LeftOut], words: str, mend: str) -> list[Finding]:
    """Return one finding for all that a lay's rows left out, none for nothing.

    Parameters
    ----------
    found
        What each row left out.
    words
        What happens, with a place for the names of the shapes: ``Lines of {shapes} meet``.
    mend
        What to do about it.
    """
    found = [each for each in found if len(each.places_mm)]
    if not found:
        return []
    places = np.concatenate([each.places_mm for each in found])
    owner = np.repeat([each.shape_id for each in found], [len(each.places_mm) for each in found])
    worst = int(np.argmax(places[:, 2]))
    x, y, longest = places[worst].tolist()
    shapes = len(dict.fromkeys(owner.tolist()))
    named = f"'{owner[0]}'" if shapes == 1 else f"{shapes} shapes"
    at = "at one place" if len(places) == 1 else f"at {len(places)} places"
    most = ""
    if len(places) > 1:
        of = f" of '{owner[worst]}'" if shapes > 1 else ""
        most = f", most at one place{of} ({longest:.1f} mm)"
    bare = f"{float(places[:, 2].sum()):.1f} mm carry no pieces of their own"
    message = f"{words.format(shapes=named)} {at}; {bare}{most}."
    return [Finding("row-near-itself", "note", message, (x, y), mend=mend)]

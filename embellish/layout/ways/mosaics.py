"""Mosaics: each piece takes the colour nearest to what a picture shows where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from embellish.catalogue.colour_difference import lab_of_linear, linear_of_hex
from embellish.layout.ways.palettes import best_colours, dithered, nearest_colours
from embellish.layout.ways.pictures import Mosaic, Seen
from embellish.layout.ways.way import Progress, Seats

_COVERED: Final = 0.5
"""Places of which a picture covers less stay bare."""


def coloured(
    seats: Seats, hexes: Sequence[str], mosaic: Mosaic, seen: Seen, pitch_mm: float, told: Progress
) -> Seats:
    """Return the seats of a lay with the pieces that show a picture; places may be left bare.

    Parameters
    ----------
    seats
        As a way laid them.
    hexes
        The colour of each of the lay's pieces.
    mosaic, seen
        What is asked, and the picture in its place.
    pitch_mm
        Distance between pieces: over a square of that side colours are averaged.
    told
        Told the share done.
    """
    light, cover = seen.light(seats.xy, pitch_mm / 2.0)
    there = np.flatnonzero(cover >= _COVERED)
    if not len(there):
        return seats.taken(there)
    light = light[there]
    every = [*hexes, *([mosaic.bare] if mosaic.bare else [])]
    own = linear_of_hex(every)
    palette = lab_of_linear(own)
    fixed = np.arange(len(every)) >= len(hexes)
    used = best_colours(lab_of_linear(light), palette, mosaic.colours, fixed)
    told(0.3)
    if mosaic.dither:
        spots = seats.xy[there]
        chosen = used[dithered(spots, light, own[used], palette[used], pitch_mm, told)]
    else:
        chosen = used[nearest_colours(lab_of_linear(light), palette[used])]
    kept = chosen < len(hexes)
    found = seats.taken(there[kept])
    return replace(found, choice=chosen[kept].astype(np.int64))

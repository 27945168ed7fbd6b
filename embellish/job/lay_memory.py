"""Lays remembered between one laying and the next: what did not change is not laid again."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from typing import Final

from embellish.job.one_lay import LaidLay, Site
from embellish.layout.layout import Layout

_MOST: Final = 48
"""Lays remembered; of more the longest unused goes."""


class LayMemory:
    """What lays came to, by everything that went into them.

    A way is a pure function of its ground, pieces, settings and stream: where these are the same,
    so is what it lays.
    """

    def __init__(self) -> None:
        self._held: OrderedDict[tuple[object, ...], tuple[object, LaidLay]] = OrderedDict()

    def recall(self, site: Site, empty: Layout, number: int) -> LaidLay | None:
        """Return what lays up to this one came to, or None where that is not known."""
        key = _key(site, empty, number)
        if key not in self._held:
            return None
        self._held.move_to_end(key)
        laid = self._held[key][1]
        # What is said of later lays may be otherwise by now.
        held = laid.ranked.layout
        lays = (*held.lays[: number + 1], *empty.lays[number + 1 :])
        layout = replace(held, lays=lays, page_mm=empty.page_mm)
        return replace(laid, ranked=replace(laid.ranked, layout=layout))

    def keep(self, site: Site, empty: Layout, number: int, laid: LaidLay) -> None:
        """Remember what lays up to this one came to."""
        # The artwork is held too, so that no other one takes its identity.
        self._held[_key(site, empty, number)] = (site.artwork, laid)
        while len(self._held) > _MOST:
            self._held.popitem(last=False)


def _key(site: Site, empty: Layout, number: int) -> tuple[object, ...]:
    job = site.job
    return (
        id(site.artwork),
        repr((job.seed, job.symmetric, job.axis, job.keep_out, job.partner, job.garment.marks)),
        repr((site.frames.maps, site.frames.group.tolist())),
        repr((empty.pieces, empty.units, empty.to_set)),
        repr((job.lay[: number + 1], empty.lays[: number + 1])),
    )

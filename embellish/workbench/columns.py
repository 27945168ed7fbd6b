"""The seats of a layout as one run of bytes: columns a page can read without parsing.

Little-endian; first eight 32-bit whole numbers: the word ``SEAT``, version, state, pieces ``m``,
seats ``n``, whether it is a draft, how many bytes of facts follow the columns, and a zero. Then for
each single piece (a unit's members each for themselves): x and y in mm (2 m doubles), angle in
degrees (m singles), index into the kit, row of its seat (m 32-bit each). Then for each seat: lay,
twin or -1, whether it was set by hand (n 32-bit each).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from embellish.job.laying import Bedded
from embellish.layout.ranked import ALONE, NO_EDIT
from embellish.outputs.seated import seated

_WORD: Final = int.from_bytes(b"SEAT", "little")
VERSION: Final = 2


def seat_columns(bedded: Bedded, number: int, *, draft: bool, facts_bytes: int = 0) -> bytes:
    """Return the seats of a layout, of the job's state ``number``."""
    layout = bedded.layout
    single = seated(layout)
    n = len(layout)
    twin, edit = np.full(n, ALONE), np.full(n, NO_EDIT)
    if bedded.seated is not None:
        twin, edit = bedded.seated.twin, bedded.seated.edit
    head = [_WORD, VERSION, number, len(single.xy), n, int(draft), facts_bytes, 0]
    return b"".join(
        [
            np.array(head, dtype="<i4").tobytes(),
            single.xy.astype("<f8").tobytes(),
            single.angle_deg.astype("<f4").tobytes(),
            single.piece.astype("<i4").tobytes(),
            single.seat.astype("<i4").tobytes(),
            layout.lay.astype("<i4").tobytes(),
            twin.astype("<i4").tobytes(),
            (edit != NO_EDIT).astype("<i4").tobytes(),
        ]
    )

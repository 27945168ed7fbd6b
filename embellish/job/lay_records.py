"""What a layout remembers of a lay, with what follows from its pieces filled in."""

from __future__ import annotations

from embellish.errors import JobError
from embellish.job.model import LayTable
from embellish.job.sorts import Sorts
from embellish.layout.layout import Lay, Mark, SetBy
from embellish.layout.ways.table import WAYS


def lay_record(lay: LayTable, sorts: Sorts) -> Lay:
    """Return what the layout remembers of a lay, with what follows from its pieces filled in."""
    indices = [sorts.names[code] for code in lay.codes]
    fixings = set().union(*(sorts.fixings(index) for index in indices))
    every_round = all(sorts.footprints[index].round_radius_mm is not None for index in indices)
    set_by = lay.set_by or default_set_by(fixings, every_round=every_round)
    greatest = max(2.0 * sorts.footprints[index].reach_mm for index in indices)
    mark = lay.mark or default_mark(set_by, lay.way, greatest)
    if lay.worked_from == "back" and set_by not in ("hand", "sewn"):
        raise JobError(
            f"what is set by {set_by} is not worked from the back",
            item=f"lay '{lay.id}'",
            mend='Leave out worked_from, or set it by "hand" or "sewn".',
        )
    laps = lay.settings.laps
    pitch = pitch_of(lay, sorts)
    if pitch and set_by in ("template", "face-down"):
        raise JobError(
            f"what is sold by the length is not set by {set_by}",
            item=f"lay '{lay.id}'",
            mend='Set it by "hand" or "sewn".',
        )
    if (laps or lay.lapped) and set_by in ("template", "face-down"):
        raise JobError(
            f"what lies over one another is not set by {set_by}: its holes would run together",
            file=None,
            item=f"lay '{lay.id}'",
            mend='Set it by "hand" or "sewn".',
        )
    if laps and lay.mark is None and set_by == "sewn":
        mark = "line"  # a mark for each would lie under its neighbours
    if pitch and lay.mark is None:
        mark = "line"
    return Lay(
        lay.id,
        lay.name,
        lay.way,
        set_by,
        mark,
        lay.gap_mm,
        lay.lapped or laps > 0.0,
        lay.worked_from,
        laps,
        pitch,
    )


def pitch_of(lay: LayTable, sorts: Sorts) -> float:
    """Return from link to link of what a lay strings; 0 where it sets single pieces.

    Raises
    ------
    JobError
        Where the way does not suit what is set.
    """
    item = f"lay '{lay.id}'"
    parts = {code: sorts.pieces_of(sorts.names[code]) for code in lay.codes}
    strung = next((code for code, held in parts.items() if any(p.strung for p in held)), None)
    if lay.way != "chain":
        if strung is not None:
            raise JobError(
                f"'{strung}' is sold by the length, and way '{lay.way}' sets single pieces",
                item=item,
                mend='Write way = "chain", or name a piece that is sold by the piece.',
            )
        return 0.0
    if len(parts) > 1 or lay.shares is not None:
        raise JobError("a chain is of one piece alone", item=item, mend="Name one piece a lay.")
    ((code, held),) = parts.items()
    if len(held) != 1 or held[0].strung is None:
        raise JobError(
            f"'{code}' is not sold by the length",
            item=item,
            mend='Write way = "row", or give the piece a table strung in your catalogue.',
        )
    return held[0].strung.pitch_mm


def default_set_by(fixings: set[str], *, every_round: bool) -> SetBy:
    """Return how pieces get to their places where the lay does not say (see DESIGN of lays).

    Round heat-set stones brush into a template; other heat-set shapes do not brush in turned
    right, so they go face down; what is sewn on is sewn, what is glued is set by hand.
    """
    if "sew-on" in fixings:
        return "sewn"
    if "glue" in fixings:
        return "hand"
    return "template" if every_round else "face-down"


def default_mark(set_by: SetBy, way: str, greatest_mm: float) -> Mark:
    """Return how seats are shown where the lay does not say.

    None under template stones (thread weakens the bond and tips the stone); sewn pieces each
    from 3 mm up, below that a line along rows and an outline about fills.
    """
    if set_by in ("template", "face-down"):
        return "none"
    if set_by == "hand" or greatest_mm >= 3.0:
        return "each"
    return "outline" if WAYS[way].fills else "line"

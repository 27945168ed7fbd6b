"""A first job for an artwork: commented, and runnable as it stands."""

from __future__ import annotations

import json
from collections.abc import Sequence

from embellish.artwork.artwork import Artwork, Shape
from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece
from embellish.errors import CatalogueError
from embellish.plans.templates.settings import TemplateSettings, usual_clearance_mm

USUAL_STONE_MM = 2.8
"""The round piece nearest this size is proposed: the middle of the sizes used on outlines
(common practice, no source)."""

_SHOWN = 12


def proposed_piece(catalogue: Catalogue) -> Piece:
    """Return the round piece to begin with: heat-set if there is one, of a middling size.

    Raises
    ------
    CatalogueError
        Where the catalogue has no pieces.
    """
    every = list(catalogue.pieces.values())
    if not every:
        raise CatalogueError(
            "there are no pieces in this catalogue", mend="Choose another with --catalogue."
        )
    return min(
        every,
        key=lambda piece: (
            piece.shape != "round",
            piece.fixing != "heat-set",
            abs(piece.length_mm.nominal - USUAL_STONE_MM),
        ),
    )


def proposed_gap_mm(piece: Piece) -> float:
    """Return the least gap that a template of such pieces holds: clearance and wall."""
    return round(usual_clearance_mm(piece) + TemplateSettings().wall_mm, 3)


def proposed_job(
    title: str,
    artwork: Artwork,
    drawn: str,
    catalogue: Catalogue,
    catalogue_name: str,
) -> str:
    """Return a job file as text: a row along every shape, and the next steps as comments.

    Parameters
    ----------
    artwork
        Sized; used for the ids and kinds of its shapes.
    drawn
        The tables that say where the shapes come from (`drawing_table`, `words_table`).
    """
    piece = proposed_piece(catalogue)
    gap = proposed_gap_mm(piece)
    return _TEXT.format(
        title=_quoted(title),
        catalogue=_quoted(catalogue_name),
        drawn=drawn,
        shapes=_listed(artwork.shapes),
        code=_quoted(piece.code),
        what=f"{piece.size or piece.name} {piece.colour}".strip().replace("\n", " "),
        gap=f"{gap:g}",
        clearance=f"{usual_clearance_mm(piece):g}",
        wall=f"{TemplateSettings().wall_mm:g}",
        region=_quoted(_first_region(artwork.shapes)),
    )


def drawing_table(file: str, width_mm: float | None) -> str:
    """Return the table of a drawing; its width where the drawing itself gives none."""
    size = (
        f"width_mm = {width_mm:g} # of the page; the drawing itself gives no size"
        if width_mm is not None
        else "# width_mm = 100.0 # the drawing gives its own size; this would outrank it"
    )
    return (
        f"[artwork]\nfile = {_quoted(file)}\n{size}\n"
        "# mirror = true        # left-right\n"
        "# rotate_deg = 90      # clockwise as seen\n"
    )


def words_table(text: str, font: str, cap_height_mm: float) -> str:
    """Return the table of words set in a font."""
    return (
        f"[[lettering]]\ntext = {_quoted(text)}\nfont = {_quoted(font)}\n"
        f"cap_height_mm = {cap_height_mm:g}   # height of a capital H\n"
        "# most_width_mm = 200      # no wider: nearer together, then smaller\n"
        '# beyond = ["tighten", "smaller", "two-lines"]\n'
        "# arc_mm = 250             # on a circle of this radius; below 0 it hangs\n"
        "# letter_gap_mm = 1.0\n"
    )


def _quoted(text: str) -> str:
    """Return a TOML basic string; JSON's escapes are a subset of TOML's."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _listed(shapes: Sequence[Shape]) -> str:
    names = [f"#{shape.id} ({shape.kind})".replace("\n", " ") for shape in shapes[:_SHOWN]]
    more = f" and {len(shapes) - _SHOWN} more" if len(shapes) > _SHOWN else ""
    return ", ".join(names) + more


def _first_region(shapes: Sequence[Shape]) -> str:
    return next((f"#{shape.id}" for shape in shapes if shape.is_closed), "*")


_TEXT = """\
# A job for embellish. Everything after a # is a note to you; change what you like, then run
#   embellish make THIS-FILE --out SOME-FOLDER
version = 1
title = {title}
revision = "A"   # printed on every output; change it when the customer asks for changes
quantity = 1     # garments
catalogues = [{catalogue}]   # a shipped catalogue, or a file of your own beside this one
seed = 1         # another number gives another arrangement where chance plays a part

{drawn}
# The shapes of the drawing: {shapes}
# Name them in a lay by "#id", ".class", "[layer='...']", "[fill='#rrggbb']", or "*" for all.

[[lay]]
id = "outline"
name = "along the outline"
shapes = "*"
way = "row"
pieces = [{code}]   # {what}; several in the list repeat along the row
gap_mm = {gap}   # between stones: clearance {clearance} and a wall of {wall} in the template

# [[lay]]
# id = "fill"
# name = "inside"
# shapes = {region}
# way = "grid"           # or "scatter", "rings"
# pieces = [{code}]
# gap_mm = {gap}
# edge_mm = 0.5          # from the edge of the shape

# [hoop]                 # for lays that are marked by stitches
# field_mm = [130, 180]

# [template]
# clearance_mm = {clearance}   # hole over stone; cut a test card first
# sheet = [300, 300]
"""

"""Which reader reads which kind of file: an explicit table, and the one way in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from embellish.artwork.artwork import Artwork
from embellish.artwork.dxf.reading import read_dxf
from embellish.artwork.stitch_file import read_stitches
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.stitches import READABLE

Reader = Callable[[bytes, str], tuple[Artwork, tuple[Finding, ...]]]

READERS: Final[dict[str, Reader]] = {
    ".svg": read_svg,
    ".svgz": read_svg,
    ".dxf": read_dxf,
    **{f".{extension}": read_stitches for extension in READABLE},
}
"""Suffix, lower case -> reader."""


def read_artwork(data: bytes, name: str) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read artwork by the suffix of its name.

    Parameters
    ----------
    data
        The file's bytes.
    name
        The file's name, as the user gave it.

    Raises
    ------
    ArtworkError
        For a kind of file that is not read, and whatever its reader refuses.
    """
    dot = name.rfind(".")
    suffix = name[dot:].lower() if dot >= 0 else ""
    reader = READERS.get(suffix)
    if reader is None:
        what = f"artwork of kind '{suffix}'" if suffix else "artwork without an ending such as .svg"
        raise ArtworkError(
            f"{what} is not read",
            file=name,
            mend=f"Save the drawing as one of: {', '.join(READERS)}.",
        )
    return reader(data, name)

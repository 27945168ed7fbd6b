"""Which reader reads which kind of file: an explicit table, and the one way in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from embellish.artwork.artwork import Artwork
from embellish.artwork.dxf.reading import read_dxf
from embellish.artwork.pictures.reading import read_picture
from embellish.artwork.pictures.settings import PictureSettings
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

_PICTURES: Final = (".png", ".jpg", ".jpeg")


def is_picture(name: str) -> bool:
    """Return whether a file is one that is traced, by the ending of its name."""
    return name.lower().endswith(_PICTURES)


def read_artwork(
    data: bytes, name: str, picture: PictureSettings | None = None
) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read artwork by the suffix of its name.

    Parameters
    ----------
    data
        The file's bytes.
    name
        The file's name, as the user gave it.
    picture
        How a picture is traced; of no meaning for a drawing.

    Raises
    ------
    ArtworkError
        For a kind of file that is not read, and whatever its reader refuses.
    """
    if is_picture(name):
        return read_picture(data, name, picture)
    dot = name.rfind(".")
    suffix = name[dot:].lower() if dot >= 0 else ""
    reader = READERS.get(suffix)
    if reader is None:
        what = f"artwork of kind '{suffix}'" if suffix else "artwork without an ending such as .svg"
        raise ArtworkError(
            f"{what} is not read",
            file=name,
            mend=f"Save the drawing as one of: {', '.join([*READERS, *_PICTURES])}.",
        )
    return reader(data, name)

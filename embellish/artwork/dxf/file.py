"""A DXF file's bytes as the library's document, refused where the file is not whole."""

from __future__ import annotations

import io
from typing import Any, Final

from embellish.errors import ArtworkError
from embellish.formats.extras import extra

MAX_BYTES: Final = 100_000_000
_BINARY: Final = b"AutoCAD Binary DXF\r\n\x1a\x00"

MM_PER_DXF_UNIT: Final[dict[int, float]] = {
    1: 25.4,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 0.0254,
    10: 914.4,
    13: 1e-3,
    14: 100.0,
}
"""$INSUNITS -> mm (DXF reference, header variables; as ezdxf 1.4 lists them)."""


def open_dxf(data: bytes, name: str) -> Any:
    """Return the library's document.

    Raises
    ------
    ArtworkError
        Where the bytes are no whole DXF file.
    EmbellishError
        Where the library is not installed.
    """
    ezdxf = extra("ezdxf")
    if len(data) > MAX_BYTES:
        raise _refused("it is larger than 100 MB", name)
    binary = data.startswith(_BINARY)
    # The library mends what is cut short without a word: the end mark is looked for first.
    if not data.rstrip(b"\x00\r\n\t \x1a").endswith(b"EOF"):
        known = binary or b"SECTION" in data[:4096]
        raise _refused("it is cut short" if known else "it is no DXF file", name)
    if b"SECTION" not in data or b"ENTITIES" not in data:
        raise _refused("it is no DXF file", name)
    try:
        if binary:
            from ezdxf.document import Drawing  # noqa: PLC0415 - an extra, loaded by now
            from ezdxf.lldxf.tagger import binary_tags_loader  # noqa: PLC0415 - the same

            return Drawing.load(binary_tags_loader(data))
        from ezdxf import recover  # noqa: PLC0415 - the same

        return recover.read(io.BytesIO(data))[0]
    except MemoryError:
        raise
    # A broken file makes the library fail in any way there is.
    except Exception as wrong:
        said = wrong if isinstance(wrong, ezdxf.DXFError) else type(wrong).__name__
        raise _refused(f"it cannot be read ({said})", name) from wrong


def _refused(why: str, name: str) -> ArtworkError:
    return ArtworkError(why, file=name, mend="Export it again as DXF R2000 or later.")

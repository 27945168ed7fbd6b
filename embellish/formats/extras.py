"""Libraries that only some work needs: loaded where they are used, and told where they miss."""

from __future__ import annotations

import shlex
import sys
from importlib import import_module
from typing import Any

from embellish.errors import EmbellishError

EXTRAS = {
    "ezdxf": ("DXF files need", "ezdxf>=1.4"),
    "uharfbuzz": ("lettering needs", "uharfbuzz>=0.50"),
    "fontTools.ttLib": ("lettering needs", "fonttools>=4.50"),
    "fontTools.unicodedata": ("lettering needs", "fonttools>=4.50"),
    "bidi.algorithm": ("lettering needs", "python-bidi>=0.6"),
    "starlette": ("the workbench needs", "starlette>=1.0"),
    "uvicorn": ("the workbench needs", "uvicorn>=0.34"),
    "tomlkit": ("changing files that a person wrote needs", "tomlkit>=0.13"),
    "contourpy": ("pictures and stitch files as artwork need", "contourpy>=1.2"),
    "openpyxl": ("spreadsheets as lists need", "openpyxl>=3.1"),
    "xlsxwriter": ("spreadsheets need", "XlsxWriter>=3.2"),
    "HersheyFonts": ("single-line letters need", "Hershey-Fonts>=2.1"),
}
"""For each library: what needs it, and what to ask pip for. pyproject.toml has the same bounds."""


def extra(library: str) -> Any:
    """Return a library that is installed only where it is wanted.

    Raises
    ------
    EmbellishError
        Where it is not installed, with the line that installs it for the Python that runs, be it
        an installation or a copy of the source.
    """
    try:
        return import_module(library)
    except ModuleNotFoundError as missing:
        what, wanted = EXTRAS[library]
        line = shlex.join([sys.executable, "-m", "pip", "install", wanted])
        raise EmbellishError(
            f"{what} the library {wanted.partition('>')[0]}, which is not installed",
            mend=f"Install it with: {line}",
        ) from missing

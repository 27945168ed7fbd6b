"""Libraries that only some work needs: loaded where they are used, and told where they miss."""

from __future__ import annotations

import shlex
import sys
from importlib import import_module
from typing import Any

from embellish.errors import EmbellishError

EXTRAS = {"ezdxf": ("DXF files need", "ezdxf>=1.4")}
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
            f"{what} the library {library}, which is not installed", mend=f"Install it with: {line}"
        ) from missing

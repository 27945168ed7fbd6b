"""Draw the gallery anew: `python -m tests.gallery`, or some of its sheets by name."""

from __future__ import annotations

import sys

from tests.gallery.cases import GALLERY
from tests.gallery.drawing import FOLDER, page, sheet

wanted = sys.argv[1:] or list(GALLERY)
FOLDER.mkdir(exist_ok=True)
for name in wanted:
    (FOLDER / f"{name}.png").write_bytes(sheet(name))
    sys.stdout.write(f"{FOLDER.name}/{name}.png\n")
(FOLDER / "README.md").write_text(page(), encoding="utf-8")

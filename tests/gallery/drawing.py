"""The gallery drawn: each case a job of its own, made as `make` makes it, set on a sheet."""

from __future__ import annotations

import io
import tempfile
from pathlib import Path
from typing import Any, Final

import tomli_w
from PIL import Image, ImageDraw

from embellish.job.files import OpenJob, open_text
from embellish.job.making import Checked, check_job, proof_of
from embellish.outputs.drawing.fonts import font
from embellish.outputs.proof import picture_png
from tests.gallery.cases import GALLERY, SHAPES, Case

FOLDER: Final = Path(__file__).parents[2] / "demos" / "gallery"
_WIDE_PX: Final = 1180
_HEAD_PX: Final = 30
_COLOURS: Final = 96
_HELD: Final = {"id": "before", "shapes": "*", "mark": "none", "set_by": "hand"}
CATALOGUES: Final = [
    f"shipped:{name}" for name in ("stones", "shaped", "beads", "sequins", "strung")
]


def opened(name: str, case: Case) -> OpenJob:
    """Return the job of one case."""
    settings = dict(case.settings)
    lay: dict[str, Any] = {
        "id": "a",
        "shapes": "*",
        "way": settings.pop("way", name),
        "pieces": case.pieces,
        "gap_mm": case.gap_mm,
        "mark": "none",
        "set_by": "hand",
        **settings,
    }
    if case.edge_mm:
        lay["edge_mm"] = case.edge_mm
    table = {
        "version": 1,
        "title": f"{name}: {case.words}",
        "catalogues": CATALOGUES,
        "artwork": {"file": "shapes.svg"},
        "cloth": {"colour": "#39424f", **case.cloth},
        "lay": [{**_HELD, **case.before}, lay] if case.before else [lay],
    }
    with tempfile.TemporaryDirectory() as held:
        (Path(held) / "shapes.svg").write_text(SHAPES)
        _view().save(Path(held) / "picture.png")
        return open_text(Path(held) / "job.toml", tomli_w.dumps(table).encode())


def _view() -> Image.Image:
    """Return an invented picture: a sun over hills by the water, as wide as the three shapes."""
    view = Image.new("RGB", (540, 184))
    draw = ImageDraw.Draw(view)
    for row in range(184):
        draw.line((0, row, 540, row), fill=(120 + row // 2, 165 + row // 4, 235 - row // 2))
    draw.ellipse((230, 30, 310, 110), fill=(250, 205, 60))
    draw.polygon([(0, 184), (110, 70), (230, 184)], fill=(60, 95, 60))
    draw.polygon([(150, 184), (400, 90), (540, 184)], fill=(95, 130, 70))
    draw.rectangle((0, 150, 540, 184), fill=(40, 60, 120))
    return view


def checked(name: str, case: Case) -> Checked:
    """Return one case laid and checked."""
    return check_job(opened(name, case))


def sheet(name: str) -> bytes:
    """Return one sheet of the gallery as a PNG."""
    letters = font(17.0)
    rows: list[Image.Image] = []
    for case in GALLERY[name]:
        png = picture_png(proof_of(checked(name, case), alone=True), _WIDE_PX)
        picture = Image.open(io.BytesIO(png)).convert("RGB")
        row = Image.new("RGB", (picture.width, picture.height + _HEAD_PX), "white")
        ImageDraw.Draw(row).text((6, 4), case.words, fill="#22252b", font=letters)
        row.paste(picture, (0, _HEAD_PX))
        rows.append(row)
    whole = Image.new("RGB", (max(row.width for row in rows), sum(row.height for row in rows)))
    top = 0
    for row in rows:
        whole.paste(row, (0, top))
        top += row.height
    held = io.BytesIO()
    whole.quantize(_COLOURS).save(held, "PNG", optimize=True)
    return held.getvalue()


def page() -> str:
    """Return the page that shows all sheets."""
    lines = [
        "# The gallery",
        "",
        "Every way and setting on the same three shapes, invented for it: a leaf with two tips, a",
        "star with a hole, a stroke that tapers. Drawn by `python -m tests.gallery`.",
    ]
    for name, cases in GALLERY.items():
        words = ", ".join(case.words for case in cases)
        lines += ["", f"## {name}", "", f"{words}.", "", f"![{name}]({name}.png)"]
    return "\n".join(lines) + "\n"

"""Base designs sewn by another library from real drawings, through a whole job and its folder.

The base is the outline of an icon (bootstrap-icons, MIT; see tests/real_artwork.py), sewn by
pyembroidery 1.5.1 alone; what must stand in the made file is read from it by tests/decoders.py,
which share no code with either.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyembroidery as pe
import pytest
import shapely

from embellish.artwork.flatten import region_of
from embellish.artwork.readers import read_artwork
from embellish.artwork.sizing import sized
from embellish.errors import ArtworkError
from embellish.job.files import open_job
from embellish.job.making import made_files
from embellish.job.placing import place
from tests.laws import check_base, check_made
from tests.real_artwork import icons

WIDTH_MM = 60.0
RINGS = """<svg xmlns="http://www.w3.org/2000/svg" width="110mm" height="100mm"
 viewBox="0 0 110 100"><circle id="out" cx="55" cy="50" r="43" fill="none" stroke="black"/>
<circle id="in" cx="55" cy="50" r="15" fill="none" stroke="black"/></svg>"""
JOB = """version = 1
title = "Pearls about an embroidery"
catalogues = ["shipped:pearls", "shipped:stones"]
[artwork]
file = "rings.svg"
[base]
file = "{file}"
order = "{order}"
offset_mm = [1.5, -2.0]
[marks]
formats = ["{kind}"]
[[lay]]
id = "out"
shapes = "#out"
way = "row"
pieces = ["P-5-CREAM"]
gap_mm = 1.0
set_by = "hand"
[[lay]]
id = "in"
shapes = "#in"
way = "row"
pieces = ["P-3-CREAM"]
gap_mm = 1.0
set_by = "hand"
"""


def sewn_icon(name: str, file: Path) -> None:
    """Sew an icon's outline with stitches of about 2.5 mm, a colour for each ring."""
    ((_, data),) = icons("bootstrap-icons", [name])
    artwork = sized(read_artwork(data, f"{name}.svg")[0], width_mm=WIDTH_MM)
    pattern = pe.EmbPattern()
    for number, shape in enumerate(artwork.shapes):
        region = region_of(shape)
        for part in getattr(region, "geoms", [region]):
            for ring in (part.exterior, *part.interiors):
                count = max(4, int(ring.length / 2.5))
                at = shapely.line_interpolate_point(ring, np.linspace(0, ring.length, count + 1))
                xy = (shapely.get_coordinates(at) - WIDTH_MM / 2) * 10.0
                if pattern.stitches:
                    pattern.add_command(pe.COLOR_CHANGE)
                pattern.add_thread(
                    {"hex": f"#{40 * (number % 6):02x}80{len(pattern.stitches):02x}"[:7]}
                )
                pattern.add_stitch_absolute(pe.JUMP, *xy[0].tolist())
                for point in xy.tolist():
                    pattern.add_stitch_absolute(pe.STITCH, *point)
                pattern.add_command(pe.TRIM)
    pattern.end()
    pe.write(pattern, str(file), {"max_stitch": 121})


def job_with(folder: Path, icon: str, kind: str, order: str) -> Path:
    base = folder / f"base.{kind}"
    sewn_icon(icon, base)
    (folder / "rings.svg").write_text(RINGS, encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(JOB.format(file=base.name, order=order, kind=kind), encoding="utf-8")
    return job


@pytest.mark.parametrize(
    ("icon", "kind", "order"),
    [
        ("flower1", "dst", "first"),
        ("star-fill", "exp", "first"),
        ("suit-heart-fill", "dst", "last"),
    ],
)
def test_a_base_is_kept_stitch_for_stitch_through_a_whole_job(tmp_path, icon, kind, order):
    made = made_files(open_job(job_with(tmp_path, icon, kind, order)), anyway=True)
    place(made.files, tmp_path / "out")
    check_made(tmp_path / "out")
    check_base(tmp_path / "out", tmp_path / f"base.{kind}", first=order == "first")
    errors = {each.code for each in made.checked.findings if each.severity == "error"}
    assert errors == (set() if order == "first" else {"piece-under-needle"})
    proof = (tmp_path / "out" / "proof.svg").read_text(encoding="utf-8")
    assert 'id="embroidery"' in proof
    stops = (tmp_path / "out" / "marks" / "stops.csv").read_text(encoding="utf-8")
    assert "sew the base design" in stops
    facts = json.loads((tmp_path / "out" / "marks" / "plan.json").read_text(encoding="utf-8"))
    assert facts["hoopings"][0]["base_design"]["stitches"] > 50


def test_a_base_that_is_none_is_refused_in_a_sentence(tmp_path):
    job_with(tmp_path, "star-fill", "dst", "first")
    base = tmp_path / "base.dst"
    whole = base.read_bytes()
    for data in (b"", b"hello", whole[: len(whole) // 2], whole[:511], b"\x89PNG" + whole):
        base.write_bytes(data)
        with pytest.raises(ArtworkError, match=r"base\.dst: this is not a DST stitch design"):
            open_job(tmp_path / "job.toml")
    base.unlink()
    with pytest.raises(ArtworkError, match="no such base design"):
        open_job(tmp_path / "job.toml")
    (tmp_path / "base.txt").write_bytes(whole)
    job = (tmp_path / "job.toml").read_text(encoding="utf-8").replace("base.dst", "base.txt")
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    with pytest.raises(ArtworkError, match="'txt' stitch files cannot be read"):
        open_job(tmp_path / "job.toml")

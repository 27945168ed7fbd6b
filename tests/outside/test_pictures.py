"""Against drawings rendered by an independent renderer (resvg): a traced picture is the drawing.

The icons are of bootstrap-icons (MIT), one colour on white; what is compared is how much of the
traced and the drawn areas do not lie on each other.
"""

from __future__ import annotations

import numpy as np
import resvg_py
import shapely
from shapely import affinity

from embellish.artwork.flatten import region_of
from embellish.artwork.pictures.reading import read_picture
from embellish.artwork.pictures.settings import PictureSettings
from embellish.artwork.svg.reading import read_svg
from tests.real_artwork import icons

COLOUR = "#204080"


def test_icons_are_traced_to_where_they_were_drawn():
    apart = []
    for name, data in icons("bootstrap-icons")[::40]:
        text = data.decode().replace("currentColor", COLOUR)
        drawing, _ = read_svg(text.encode(), name)
        true = shapely.union_all([region_of(each, 1e-3) for each in drawing.shapes if each.fill])
        png = bytes(resvg_py.svg_to_bytes(svg_string=text, width=480, background="white"))
        traced, _ = read_picture(png, "icon.png", PictureSettings(colours=2, ground=True))
        ink = [shape for shape in traced.shapes if shape.fill == COLOUR]
        assert drawing.page is not None
        scale = drawing.page[0] / 480
        got = affinity.scale(
            shapely.union_all([region_of(each, 1e-3) for each in ink]),
            scale,
            scale,
            origin=(0, 0),
        )
        apart.append(shapely.symmetric_difference(got, true).area / true.area)
    assert len(apart) > 40
    assert np.median(apart) < 0.003
    assert max(apart) < 0.03

"""Every small drawing of the cast has the area and length it must have."""

import pytest
import shapely

from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.geometry.curves import chain_length
from tests.artwork.svg.cases import CASES


def painted_area(artwork: Artwork) -> float:
    regions = []
    for shape in artwork.shapes:
        if shape.fill is not None:
            try:
                regions.append(region_of(shape, 1e-6))
            except ArtworkError:
                continue
    return float(shapely.area(shapely.union_all(regions)))


def line_length(artwork: Artwork) -> float:
    return sum(chain_length(path.segments) for shape in artwork.shapes for path in shape.paths)


@pytest.mark.parametrize("case", [c for c in CASES if c.area is not None], ids=lambda c: c.name)
def test_area(case):
    artwork, _ = read_svg(case.svg.encode(), "case.svg")
    assert artwork.sized
    assert painted_area(artwork) == pytest.approx(case.area, rel=3e-6)


@pytest.mark.parametrize("case", [c for c in CASES if c.length is not None], ids=lambda c: c.name)
def test_length(case):
    artwork, _ = read_svg(case.svg.encode(), "case.svg")
    assert line_length(artwork) == pytest.approx(case.length, rel=1e-6)


def test_names_are_their_own():
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names) >= 60

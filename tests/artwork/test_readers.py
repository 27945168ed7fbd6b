import pytest

from embellish.artwork.readers import READERS, read_artwork
from embellish.errors import ArtworkError
from tests.artwork.svg.cases import SQUARE, page


@pytest.mark.parametrize("name", ["moth.svg", "MOTH.SVG", "a.b/moth.svgz"])
def test_the_suffix_chooses(name):
    artwork, _ = read_artwork(page(SQUARE).encode(), name)
    assert len(artwork.shapes) == 1


@pytest.mark.parametrize("name", ["moth.xyz", "moth", "svg", "moth.svg.bak", ""])
def test_an_unknown_kind_lists_what_is_read(name):
    with pytest.raises(ArtworkError, match="is not read") as wrong:
        read_artwork(b"", name)
    for suffix in READERS:
        assert suffix in wrong.value.mend

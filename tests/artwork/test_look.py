import json
import math

import pytest

from embellish.artwork.look import look_facts
from embellish.artwork.svg.reading import read_svg
from tests.artwork.svg.cases import page, svg


def test_facts_of_a_sized_drawing():
    body = (
        '<g id="wings"><circle id="c" cx="20" cy="20" r="10"/></g>'
        '<path id="p" d="M0 0H3V4" fill="none" stroke="#00f"/><text>x</text>'
    )
    facts = look_facts(*read_svg(page(body).encode(), "a.svg"))
    assert (facts["width_mm"], facts["height_mm"]) == (100, 100)
    assert "size_in_units" not in facts
    circle, path = facts["shapes"]
    assert circle["area_mm2"] == pytest.approx(100 * math.pi, rel=1e-4)
    assert circle["length_mm"] == pytest.approx(20 * math.pi, rel=1e-6)
    assert circle["bounds_mm"] == [10, 10, 30, 30]
    assert {k: circle[k] for k in ("id", "layer", "kind", "fill", "stroke")} == {
        "id": "c",
        "layer": "wings",
        "kind": "region",
        "fill": "#000000",
        "stroke": None,
    }
    assert path["area_mm2"] is None
    assert path["length_mm"] == 7
    assert [f["code"] for f in facts["findings"]] == ["element-left-out"]
    json.dumps(facts, allow_nan=False)


def test_facts_without_a_size():
    text = svg('viewBox="0 0 24 12"', '<rect width="24" height="12"/>')
    facts = look_facts(*read_svg(text.encode(), "a.svg"))
    assert facts["width_mm"] is None
    assert facts["height_mm"] is None
    assert facts["size_in_units"] == [24, 12]


def test_without_a_page_the_bounds_count():
    text = svg("", '<rect x="9" y="9" width="24" height="12"/>')
    facts = look_facts(*read_svg(text.encode(), "a.svg"))
    assert facts["size_in_units"] == [24, 12]

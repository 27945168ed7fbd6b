"""Each rule of the look through a catalogue fires where it should, and only there."""

from __future__ import annotations

import numpy as np
import pytest

from embellish.catalogue.auditing import _REACH, LIKE, audited
from embellish.catalogue.catalogue import read_catalogue, shipped
from embellish.catalogue.colour_difference import delta_e, lab_of_hex

GOOD = """
[catalogue]
currency = "EUR"
[[piece]]
code = "A"
name = "a"
kind = "stone"
fixing = "heat-set"
length_mm = [2.7, 2.8, 2.9]
width_mm = [2.7, 2.8, 2.9]
height_mm = 1.2
source = "measured"
packs = [{ pieces = 144, price = "1.10" }, { pieces = 1440, price = "8.50" }]
"""

PIECE = GOOD[GOOD.index("[[piece]]") :]

BAD = {
    "no-packs": GOOD[: GOOD.index("packs")],
    "free-pack": GOOD.replace("1.10", "0"),
    "wide-size": GOOD.replace("[2.7, 2.8, 2.9]", "[1.8, 2.8, 2.9]"),
    "dearer-pack": GOOD.replace("8.50", "85.00"),
    "no-height": GOOD.replace("height_mm = 1.2", ""),
    "no-source": GOOD.replace('source = "measured"', ""),
    "no-holes": GOOD.replace("heat-set", "sew-on"),
    "twins": GOOD + PIECE.replace('code = "A"', 'code = "B"'),
    "codes-alike": GOOD + PIECE.replace('code = "A"', 'code = "a"'),
    "impossible-size": GOOD.replace("[2.7, 2.8, 2.9]", "[0.10, 0.11, 0.12]"),
    "colours-alike": GOOD.replace("source", 'hex = "#204080"\nsource')
    + PIECE.replace('code = "A"', 'code = "B"\nhex = "#204180"'),
    "size-label": GOOD.replace('kind = "stone"', 'kind = "stone"\nsize = "SS16"'),
    "stray-member": GOOD + '[[unit]]\nname = "u"\nmembers = [{ piece = "Z" }]\n',
}


def test_a_good_catalogue_is_silent():
    assert audited(read_catalogue(GOOD.encode(), "mine.toml")) == ()


@pytest.mark.parametrize("code", BAD)
def test_each_rule_fires(code: str):
    found = audited(read_catalogue(BAD[code].encode(), "mine.toml"))
    assert code in {finding.code for finding in found}
    assert all(finding.mend for finding in found)


def test_shipped_catalogues_have_no_errors():
    assert not [each for each in audited(shipped("stones")) if each.severity == "error"]


def test_a_label_that_is_right_is_silent():
    right = GOOD.replace('kind = "stone"', 'kind = "stone"\nsize = "SS10"')
    assert audited(read_catalogue(right.encode(), "mine.toml")) == ()


def test_no_colours_alike_are_further_apart_than_is_searched():
    rng = np.random.default_rng(3)
    lab = lab_of_hex([f"#{number:06x}" for number in rng.integers(0, 1 << 24, 3000)])
    # The least CIEDE2000 a pair that far apart in CIELAB has, in every direction.
    way = rng.normal(size=(3000, 3))
    far = lab + _REACH * way / np.linalg.norm(way, axis=1)[:, None]
    assert delta_e(lab, far).min() > LIKE


def test_every_code_is_named_where_asked():
    many = GOOD[: GOOD.index("[[piece]]")] + "".join(
        PIECE.replace('"A"', f'"A{n}"').replace("packs", "#") for n in range(9)
    )
    catalogue = read_catalogue(many.encode(), "mine.toml")
    few = {each.code: each.message for each in audited(catalogue)}["no-packs"]
    every = {each.code: each.message for each in audited(catalogue, every=True)}["no-packs"]
    assert "A8" not in few
    assert "and 3 more" in few
    assert "A8" in every

"""Each rule of the look through a catalogue fires where it should, and only there."""

from __future__ import annotations

import pytest

from embellish.catalogue.auditing import audited
from embellish.catalogue.catalogue import read_catalogue, shipped

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

"""Numbers in the cautions against the texts of the laws, as each test names them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from embellish.checks.wearing import wearer_is_safe
from embellish.plans.garment import GarmentSettings
from embellish.plans.working.cautions import cautions_for
from tests.checks.sites import lay, layout_of, site_of


def found(kind: str, use: str, *, skin: bool = False) -> dict[str, str]:
    layout = layout_of(lay(kind, "sewn" if kind == "CHAIN" else "template"))
    garment = GarmentSettings.model_validate({"use": use, "touches_skin": skin})
    site = replace(site_of(layout), garment=garment)
    return {each.code: f"{each.message} {each.mend}" for each in wearer_is_safe(site)}


@pytest.mark.parametrize(
    ("piece", "use", "skin", "code", "words"),
    [
        # 16 CFR 1501.4 and Fig. 1: diameter 1.25 in, 31.7 mm; 1501.3(d), 2007 edition: clothing.
        (
            "STONE",
            "under-3",
            False,
            "choking",
            ["31.7 mm", "16 CFR 1501.4", "1501.3(d)", "our advice", "1500.51-.52"],
        ),
        # EN 71-1, ISO 8124-1 and ASTM F963 have the same cylinder, as a tester's page tells.
        ("SEQUIN", "child", False, "choking", ["our advice", "EN 71-1", "ISO 8124-1", "F963"]),
        # ASTM F963-17, 5.11.2: toys with small parts for 3 to 6 years.
        ("STONE", "toy", False, "toy-label", ["3 to 6", "5.11.2"]),
        # CPSIA s.101(a) and 74 FR 43031 of 26 August 2009; ballot vote sheet of 9 July 2009.
        (
            "STONE",
            "child",
            False,
            "lead-child",
            ["100 ppm", "12 and under", "74 FR 43031", "refused", "900 to 23 000 ppm"],
        ),
        # Regulation (EU) 2015/628, entry 63 of Annex XVII.
        ("STONE", "child", False, "lead-mouth", ["0.05 %", "entry 63", "2015/628"]),
        # 16 CFR 1615.1(o) and 1616.2(m), as the commission's questions and answers have them.
        ("STONE", "child-sleepwear", False, "sleepwear", ["1615.1(o)", "1616.2(m)"]),
        # 16 CFR 1615.1(c): what an infant garment is.
        ("STONE", "child-sleepwear", False, "sleepwear", ["9 months", "64.8 cm", "1615.1(c)"]),
        # REACH, Annex XVII, entry 63, paragraph 1.
        ("STONE", "jewellery", False, "lead-jewellery", ["0.05 %", "entry 63", "paragraph 1"]),
        # 16 CFR 1610, as the commission's questions and answers name it.
        ("STONE", "adult", False, "flammability", ["16 CFR 1610"]),
        # REACH, Annex XVII, entry 27.
        ("CHAIN", "adult", True, "nickel-skin", ["two years of use", "0.2", "metal marks"]),
        ("CHAIN", "adult", True, "nickel-skin", ["0.5 µg/cm²", "entry 27"]),
    ],
)
def test_the_numbers_are_those_of_the_law(piece, use, skin, code, words):
    told = found(piece, use, skin=skin)[code]
    assert [each for each in words if each not in told] == []
    assert "Follow the makers' instructions and the law where you sell" in told


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("makers-instructions", ["makers' instructions", "laws and codes where you sell"]),
        ("hot-press", ["burn", "Never leave"]),
        # Several first-hand accounts of community posts: needles break and fly.
        ("needle", ["Never reach into the hoop", "flies"]),
        ("lead", ["100 ppm", "12 and under"]),
        ("small-parts", ["under 3"]),
    ],
)
def test_the_work_sheet_has_them(code, words):
    layout = layout_of(lay("STONE", "template"))
    every = {each.code: each for each in cautions_for(layout, sewn_by_machine=True, cut=True)}
    assert [each for each in words if each not in every[code].words] == []
    assert every[code].source

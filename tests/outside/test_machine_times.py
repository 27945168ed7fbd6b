"""Machine times and stitch lengths that hold where nothing is entered, against what is published.

Sources, as each test names them: theembroiderywarehouse.com, "How long does it take to do
embroidery"; mytailorkit.com, "How long does embroidery take"; lovedigitizing.com/48.html; a trade
magazine (Print Wear, December 2016, p. 34); yumpu 56185124, "Compiled Embroidery Skill Articles".
"""

from __future__ import annotations

import pytest

from embellish.plans.stitching.settings import StitchSettings
from embellish.plans.stitching.sewing import JUMP_UNITS, Effort
from embellish.units import MM_PER_STITCH_UNIT

USUAL = StitchSettings()


def test_6000_stitches_at_650_a_minute():
    # theembroiderywarehouse.com: 9.23 minutes, and 12 stops of 6 to 20 s are 1.2 to 4 more.
    sewn = Effort(stitches=6000)
    assert sewn.minutes(StitchSettings(speed_per_min=650)) == pytest.approx(9.23, abs=0.005)
    for seconds, more in ((6, 1.2), (20, 4.0)):
        rates = StitchSettings(speed_per_min=650, stop_s=seconds)
        stopped = Effort(stitches=6000, stops=12).minutes(rates)
        assert stopped - sewn.minutes(rates) == pytest.approx(more)


def test_the_usual_speed_is_in_reach_of_shops_and_homes():
    # theembroiderywarehouse.com: most run 600-750; mytailorkit.com: 400-800 at home.
    assert max(600, 400) <= USUAL.speed_per_min <= min(750, 800)


def test_a_trim_and_a_stop():
    # lovedigitizing.com/48.html: a trim is up to 5 s, 50 stitches at 600 a minute;
    # theembroiderywarehouse.com: 6-20 s a stop.
    assert USUAL.trim_s <= 5
    assert 6 <= USUAL.stop_s <= 20
    one = StitchSettings(speed_per_min=600, trim_s=5)
    assert Effort(trims=1).minutes(one) == pytest.approx(Effort(stitches=50).minutes(one))


def test_stitch_lengths():
    # Print Wear: the smallest step of a machine is 0.1 mm; yumpu 56185124: keep most stitches at
    # 6 mm or less. 121 steps an axis are the most that one DST record says. Run stitch 1.5-2.5 mm
    # and 0.3 mm as the least are common practice, no source.
    assert MM_PER_STITCH_UNIT == 0.1
    assert JUMP_UNITS == 121
    assert USUAL.longest_mm <= 6.0
    assert 1.5 <= USUAL.stitch_mm <= 2.5
    assert USUAL.least_mm >= 0.3

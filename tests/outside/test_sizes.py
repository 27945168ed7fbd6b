"""Sizes of shipped pieces against published tables.

Sources: table A, a PP/SS to mm conversion sheet, PDF (cdn.shopify.com/s/files/1/0758/6503/0948/
files/ppss.pdf); table B, a glass maker's size conversion sheet, PDF (cdn.shopify.com/s/files/1/
0567/7881/7732/files/Size_Guide.pdf); a retailer's nominal sizes and stones to the inch
(rhinestonestore.com/Articles.asp?ID=254); stones per square inch (rhinestonesetc.com, "How many
rhinestones needed to rhinestone boots"); seed beads: regalcrafts.com info_8 (older),
bead-media.com/beadcount.html (newer), thebeadgallery.com/pages/seed-bead-guide (shop), counts of
estherbeadwork.blogspot.com 2013/10. Rows of table A that were only remembered (SS47, SS48) are
left out.
"""

from __future__ import annotations

import pytest

from embellish.catalogue.catalogue import Catalogue, shipped
from embellish.catalogue.equipment import shipped_equipment
from embellish.catalogue.piece import Span

# size: table A min, max; table B min, max (None: no row); retailer's nominal (None: not listed).
STONES: dict[str, tuple[float, float, float | None, float | None, float | None]] = {
    "SS3": (1.35, 1.50, 1.35, 1.40, None),
    "SS4": (1.50, 1.70, 1.50, 1.60, None),
    "SS5": (1.70, 1.90, 1.70, 1.80, None),
    "SS6": (1.90, 2.10, 1.90, 2.00, 2.0),
    "SS7": (2.10, 2.30, 2.10, 2.20, None),
    "SS8": (2.30, 2.50, 2.30, 2.40, 2.3),
    "SS9": (2.50, 2.70, 2.50, 2.60, 2.6),
    "SS10": (2.70, 2.90, 2.70, 2.80, 2.8),
    "SS12": (3.00, 3.20, 3.00, 3.20, 3.0),
    "SS14": (3.40, 3.60, 3.40, 3.50, None),
    "SS16": (3.80, 4.00, 3.80, 4.00, 4.0),
    "SS18": (4.20, 4.40, 4.20, 4.40, None),
    "SS20": (4.60, 4.80, 4.60, 4.80, 4.7),
    "SS24": (5.27, 5.44, 5.25, 5.45, None),
    "SS28": (5.96, 6.14, 6.00, 6.15, None),
    "SS30": (6.32, 6.50, 6.35, 6.50, 6.4),
    "SS34": (7.07, 7.27, 7.05, 7.25, 7.1),
    "SS38": (7.93, 8.16, 7.90, 8.15, None),
    "SS40": (8.41, 8.67, 8.40, 8.65, 8.6),
    "SS42": (8.95, 9.23, None, None, 9.1),
    "SS45": (9.85, 10.19, 9.85, 10.20, None),
}


@pytest.fixture(scope="module")
def stones() -> Catalogue:
    return shipped("stones")


@pytest.mark.parametrize("size", STONES)
def test_a_stone_spans_both_tables_and_no_more(stones, size):
    a_min, a_max, b_min, b_max, retail = STONES[size]
    least = a_min if b_min is None else min(a_min, b_min)
    most = a_max if b_max is None else max(a_max, b_max)
    pieces = [piece for piece in stones.pieces.values() if piece.size == size]
    assert pieces
    for piece in pieces:
        span = piece.length_mm
        assert (span.min, span.max) == (least, most)
        assert span.nominal == pytest.approx((least + most) / 2 if retail is None else retail)


@pytest.mark.parametrize(
    ("size", "published", "tolerance"),
    [
        ("SS12", 67.14, 2e-4),
        ("SS16", 42.41, 2e-4),
        ("SS20", 29.2, 3e-4),
        # The published 15.68 implies 6.415 mm, the table's mean is 6.41.
        ("SS30", 15.68, 1.5e-3),
    ],
)
def test_stones_to_the_square_inch_agree_with_the_mean_size(stones, size, published, tolerance):
    span = stones.piece(f"R-{size}-CLEAR").length_mm
    mean = (span.min + span.max) / 2
    assert (25.4 / mean) ** 2 == pytest.approx(published, rel=tolerance)


@pytest.mark.parametrize(
    ("size", "row"), [("SS6", 12), ("SS10", 9), ("SS16", 6), ("SS20", 5), ("SS34", 3.5)]
)
def test_stones_to_the_inch_agree_rounded_down(stones, size, row):
    # The retailer rounds down to whole stones, for SS34 to halves.
    step = 0.5 if size == "SS34" else 1
    each = stones.piece(f"R-{size}-CLEAR").length_mm.nominal
    assert row <= 25.4 / each < row + step


# size: widths of the older, newer and shop table; beads per gram, and per inch strung.
BEADS: dict[str, tuple[tuple[float, ...], float | None, float | None]] = {
    "15/0": ((1.3, 1.5, 1.5), 271.5, 23),
    "11/0": ((1.8, 2.2, 2.2), 105.0, 17),
    "10/0": ((2.0, 2.3), None, None),
    "8/0": ((2.5, 3.0, 3.0), 34.7, 11),
    "6/0": ((3.3, 3.7, 4.0), 15.0, None),
}


def _holds(span: Span, value: float) -> bool:
    return span.min - 1e-9 <= value <= span.max + 1e-9


@pytest.mark.parametrize("size", BEADS)
def test_a_seed_bead_spans_every_table(size):
    widths, per_gram, per_inch = BEADS[size]
    code = size.removesuffix("/0")
    bead = shipped("beads").piece(f"B-{code}-CLEAR")
    assert all(_holds(bead.width_mm, width) for width in widths)
    if per_inch is not None:
        assert _holds(bead.length_mm, 25.4 / per_inch)
    if per_gram is not None:
        assert bead.weight_g == pytest.approx(1 / per_gram, rel=2e-3)


# An embroidery pattern publisher's blog, "Hoop sizes vs. sewing (embroidery) fields", and the hoop
# sizes of pyembroidery 1.5.1's format writers.
@pytest.mark.parametrize(
    "field", [(100, 100), (127, 177.8), (130, 180), (200, 200), (110, 110), (140, 200), (126, 110)]
)
def test_published_hoop_fields_are_there(field):
    assert field in {hoop.field_mm for hoop in shipped_equipment().hoops.values()}


def test_sheets_are_true_to_the_inch_and_to_iso_216():
    # The international inch of 1959 is 25.4 mm; ISO 216 gives A4 as 210 × 297 mm.
    equipment = shipped_equipment()
    sheet = equipment.sheet("12x24 in")
    assert (sheet.width_mm, sheet.height_mm) == pytest.approx((12 * 25.4, 24 * 25.4))
    assert equipment.sheet("roll 15 in").width_mm == 15 * 25.4
    assert (equipment.sheet("A4").width_mm, equipment.sheet("A4").height_mm) == (210, 297)

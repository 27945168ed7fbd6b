import pytest

from embellish.artwork.artwork import Artwork
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.findings import Finding
from tests.artwork.svg.cases import SQUARE, svg


def read(attributes: str, body: str = SQUARE) -> tuple[Artwork, tuple[Finding, ...]]:
    return read_svg(svg(attributes, body).encode(), "page.svg")


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.code for finding in findings]


@pytest.mark.parametrize(
    ("attributes", "page"),
    [
        ('width="50mm" height="20mm" viewBox="0 0 100 40"', (50, 20)),
        ('width="5cm" height="2cm" viewBox="0 0 100 40"', (50, 20)),
        ('width="50mm" viewBox="0 0 100 40"', (50, 20)),
        ('height="20mm" viewBox="0 0 100 40"', (50, 20)),
        ('width="50mm" height="100%" viewBox="0 0 100 40"', (50, 20)),
        ('width="50mm" height="auto" viewBox="0 0 100 40"', (50, 20)),
        ('width="1in" height="96px" viewBox="0 0 1 1"', (25.4, 25.4)),
        ('style="width:50mm;height:20mm" viewBox="0 0 100 40"', (50, 20)),
        ('width="50MM" height="20mm"', (50, 20)),
    ],
)
def test_physical_pages(attributes, page):
    artwork, findings = read(attributes)
    assert artwork.sized
    assert artwork.page == pytest.approx(page)
    assert codes(findings) == [] or codes(findings) == ["outside-page"]


@pytest.mark.parametrize(
    ("attributes", "page", "mm"),
    [
        ('width="96" height="48"', (96, 48), "25.40 × 12.70 mm"),
        ('width="96px" height="48px"', (96, 48), "25.40 × 12.70 mm"),
        ('viewBox="0 0 96 48"', (96, 48), "25.40 × 12.70 mm"),
        ('width="100%" height="100%" viewBox="0 0 96 48"', (96, 48), "25.40 × 12.70 mm"),
        # Coordinates stay in the view box's units; the size told is that of the px.
        ('width="192" height="96" viewBox="0 0 96 48"', (96, 48), "50.80 × 25.40 mm"),
        ('width="192" viewBox="0 0 96 48"', (96, 48), "50.80 × 25.40 mm"),
        ('width="2em" height="2em" viewBox="0 0 16 16"', (16, 16), "8.47 × 8.47 mm"),
    ],
)
def test_pages_without_a_physical_size(attributes, page, mm):
    artwork, findings = read(attributes, '<rect width="10" height="10"/>')
    assert not artwork.sized
    assert artwork.page == pytest.approx(page)
    assert artwork.bounds() == pytest.approx((0, 0, 10, 10))
    (finding,) = [f for f in findings if f.code == "no-physical-size"]
    assert mm in finding.message
    assert "96 px" in finding.message
    assert "width_mm" in finding.mend
    assert "scale" in finding.mend


def test_without_any_page_the_origin_is_the_shapes_corner():
    artwork, findings = read("", '<rect x="7" y="-9" width="10" height="20"/>')
    assert artwork.page is None
    assert artwork.bounds() == pytest.approx((0, 0, 10, 20))
    assert "2.65 × 5.29 mm" in findings[0].message


def test_one_physical_side_gives_units_but_no_page():
    artwork, _ = read('width="50mm"', '<rect x="5" width="96" height="96"/>')
    assert artwork.sized
    assert artwork.page is None
    assert artwork.bounds() == pytest.approx((0, 0, 25.4, 25.4))


def test_origin_is_the_pages_corner_wherever_the_view_box_starts():
    artwork, _ = read(
        'width="50mm" height="50mm" viewBox="100 200 50 50"',
        '<rect x="105" y="207" width="3" height="3"/>',
    )
    assert artwork.bounds() == pytest.approx((5, 7, 8, 10))


@pytest.mark.parametrize(
    ("align", "corner"),
    [
        ("xMinYMin", (0, 0)),
        ("xMidYMid", (0, 25)),
        ("xMaxYMax", (0, 50)),
        ("xMinYMax meet", (0, 50)),
        ("nonsense", (0, 25)),
    ],
)
def test_where_the_drawing_stands_on_a_page_of_another_ratio(align, corner):
    artwork, _ = read(
        f'width="100mm" height="100mm" viewBox="0 0 100 50" preserveAspectRatio="{align}"',
        '<rect width="100" height="50"/>',
    )
    bounds = artwork.bounds()
    assert bounds is not None
    assert bounds[:2] == pytest.approx(corner)


@pytest.mark.parametrize(
    "attributes",
    [
        'width="0" height="10mm"',
        'width="-5mm" height="10mm"',
        'width="wide" height="10mm"',
        'width="NaN" height="10mm"',
        'width="1e999mm" height="10mm"',
        'width="10mm" height="10furlong"',
        'width="10mm" height="10mm" viewBox="0 0 0 10"',
        'width="10mm" height="10mm" viewBox="0 0 10"',
        'width="10mm" height="10mm" viewBox="0 0 -10 10"',
        'viewBox="a b c d"',
    ],
)
def test_no_size_is_refused_by_name(attributes):
    with pytest.raises(ArtworkError, match=r"page\.svg") as wrong:
        read(attributes)
    assert wrong.value.mend


def test_shapes_outside_the_page_are_told():
    _, findings = read(
        'width="10mm" height="10mm" viewBox="0 0 10 10"', '<rect x="8" width="9" height="9"/>'
    )
    assert codes(findings) == ["outside-page"]


def test_a_circle_has_exact_bounds():
    artwork, _ = read(
        'width="50mm" height="50mm" viewBox="0 0 50 50"', '<circle cx="25" cy="25" r="10"/>'
    )
    assert artwork.bounds() == pytest.approx((15, 15, 35, 35), abs=1e-12)

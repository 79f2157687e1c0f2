"""How finely a page is drawn."""

import numpy as np
import pytest
from pikepdf import Dictionary

from preflight.errors import IntakeError
from preflight.intake.pdf.scale import choose_scale, drawing_ppi
from tests.intake.pdf.making import drawn, opened, picture


@pytest.mark.parametrize(
    ("ordered", "ppi"),
    [
        (None, 300),
        ((None, None), 300),
        ((200, None), 600),
        ((50, None), 150),
        ((None, 100), 600),
        ((200, 50), 300),  # fits inside: the height decides
    ],
)
def test_the_print_comes_to_300(ordered, ppi):
    assert drawing_ppi((100, 50), ordered) == pytest.approx(ppi)


def test_a_whole_number_of_pixels_and_the_ppi_that_they_make():
    scale = choose_scale((100, 50), 300, 10**9)
    assert (scale.width, scale.height) == (1181, 591)
    assert scale.ppi == pytest.approx((1181 * 25.4 / 100, 591 * 25.4 / 50))
    assert scale.note is None


def test_the_limit_caps_and_is_said():
    scale = choose_scale((1000, 1000), 300, 10_000_000)
    assert 0.99e7 < scale.width * scale.height <= 1e7
    assert "80" in scale.note


def test_a_page_that_the_limit_leaves_nothing_of():
    with pytest.raises(IntakeError, match="9000 × 9000 mm"):
        choose_scale((9000, 9000), 300, 10_000_000)


def test_a_large_page_for_a_small_print_is_drawn_coarsely():
    scale = choose_scale((9000, 9000), drawing_ppi((9000, 9000), (300, None)), 50_000_000)
    assert scale.width == pytest.approx(300 / 25.4 * 300, abs=1)


SQUARE = b"0 0 1 rg 36 18 36 36 re f"  # half an inch on a page of 2 × 1 in


def test_an_order_for_the_artwork_leaves_the_margins_out(make):
    path = make(SQUARE)
    page = opened(path).for_print(50.8, None)  # the square, 12.7 mm, is to be four times as wide
    assert page.facts.density_ppi[0] == pytest.approx(1200, rel=0.01)
    alpha = drawn(page)[..., 3]
    assert np.ptp(np.nonzero(alpha)[1]) + 1 == pytest.approx(600, abs=6)


def test_an_order_for_the_canvas_counts_them(make):
    page = opened(make(SQUARE)).for_print(101.6, None, "canvas")
    assert page.facts.density_ppi[0] == pytest.approx(600)


def test_without_an_order_the_page_stays_as_it_is(make):
    page = opened(make(SQUARE))
    assert page.for_print(None, None).ppi == page.ppi
    assert (page.facts.width, page.facts.height) == (600, 300)
    assert page.facts.density_from == "page size"


def test_an_order_for_an_empty_page(make):
    assert opened(make(b"")).for_print(101.6, None).facts.density_ppi[0] == pytest.approx(600)


CORNER = b"0 0 1 rg 100 600 60 30 re f 1 0 0 RG 0.5 w 110 610 m 150 610 l S"
LETTER = (0, 0, 612, 792)


@pytest.mark.parametrize(("rotate", "unit"), [(0, 1), (90, 1), (180, 2), (270, 1)])
def test_a_small_artwork_on_a_large_page_is_cut_out(make, rotate, unit):
    def edit(pdf):
        pdf.pages[0].obj.Rotate = rotate
        pdf.pages[0].obj.UserUnit = unit

    path = make(CORNER, box=LETTER, edit=edit)
    upright = rotate % 180 == 0
    wide = (60 if upright else 30) * unit * 25.4 / 72
    part = opened(path).for_print(2 / unit * wide, None)
    assert part.ppi == pytest.approx(600 / unit, rel=0.02)
    assert part.document.width_mm == pytest.approx(wide + 2 * 0.04 * 60 * unit * 25.4 / 72, rel=0.05)
    alpha = drawn(part)[..., 3]
    whole = drawn(opened(path).at_ppi(part.ppi))[..., 3]
    assert (alpha > 12).sum() == pytest.approx((whole > 12).sum(), rel=0.02)
    rows, columns = np.nonzero(alpha > 12)
    assert min(rows.min(), columns.min()) > 5
    (line,) = part.document.strokes
    assert line.width_mm == pytest.approx(0.5 * unit * 25.4 / 72)
    assert 0 < line.area.x_mm < part.document.width_mm
    assert 0 < line.area.y_mm < part.document.height_mm


def test_a_full_page_is_not_cut(make):
    page = opened(make(b"0 0 1 rg 10 10 120 60 re f")).for_print(200, None)
    assert page.document.width_mm == pytest.approx(144 / 72 * 25.4)


@pytest.mark.parametrize(("pixels", "ppi"), [(300, 150), (600, 300), (1200, 600), (2400, 300), (2, 300)])
def test_a_page_that_is_one_picture_is_drawn_with_its_pixels(make, pixels, ppi):
    """Within reason: not as finely as a scanner's, and not as coarsely as a picture that is only a fill."""

    def resources(pdf):
        return {"XObject": Dictionary(P=picture(pdf, pixels, pixels // 2, bytes(pixels * (pixels // 2))))}

    page = opened(make(b"144 0 0 72 0 0 cm /P Do", resources)).for_print(50.8, None)
    assert page.ppi == pytest.approx(ppi, rel=0.01)


def test_a_small_coarse_picture_on_a_large_page_is_cut_out_too(make):
    def resources(pdf):
        return {"XObject": Dictionary(P=picture(pdf, 48, 56, bytes(48 * 56)))}

    page = opened(make(b"48 0 0 56 100 600 cm /P Do", resources, box=LETTER)).for_print(280, None)
    assert page.facts.width == pytest.approx(3307 * 1.08, rel=0.05)
    assert page.facts.width * page.facts.height < 20e6

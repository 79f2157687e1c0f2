"""How large a drawing says it is. 1 in = 96 px = 72 pt = 6 pc = 25.4 mm: CSS Values and Units, 6.2."""

import pytest

from preflight.errors import IntakeError

RECT = '<rect width="5" height="5"/>'


@pytest.mark.parametrize(
    ("size", "millimetres", "certain"),
    [
        ('width="100mm" height="50mm"', (100, 50), True),
        ('width="10cm" height="5cm"', (100, 50), True),
        ('width="1in" height="0.5in"', (25.4, 12.7), True),
        ('width="72pt" height="36pt"', (25.4, 12.7), True),
        ('width="6pc" height="3pc"', (25.4, 12.7), True),
        ('width="40Q" height="20q"', (10, 5), True),
        ('width="96" height="48"', (25.4, 12.7), False),
        ('width="96px" height="48px"', (25.4, 12.7), False),
        ('width=" 1e2mm " height="5.0e1mm"', (100, 50), True),
        ('viewBox="0 0 96 48"', (25.4, 12.7), False),
        ('width="100%" height="100%" viewBox="0 0 96 48"', (25.4, 12.7), False),
        ('width="100mm" viewBox="0 0 20 10"', (100, 50), True),
        ('height="50mm" viewBox="-5 -5 20 10"', (100, 50), True),
        ('width="100mm" height="96px" viewBox="0 0 20 10"', (100, 25.4), False),
        ('width="100mm" height="100%" viewBox="0 0 20 10"', (100, 50), False),
        ('style="width:100mm;height:50mm" viewBox="0 0 20 10"', (100, 50), True),
        ('width="10em" height="5em"', (120 * 25.4 / 96, 60 * 25.4 / 96), False),
    ],
)
def test_sizes(size, millimetres, certain, drawing):
    page = drawing(RECT, size)
    found = (page.document.width_mm, page.document.height_mm)
    assert found == pytest.approx(millimetres, abs=0.001)
    assert page.document.size_certain == certain
    assert (page.facts.density_ppi is not None) == certain
    assert any("1/96 inch" in note for note in page.facts.notes) != certain


def test_a_certain_size_comes_back_from_the_pixels(drawing):
    """Within 0.1 mm, whatever the rounding to whole pixels."""
    facts = drawing(RECT, 'width="33.37mm" height="71.93mm"').facts
    assert facts.density_from == "page size"
    assert facts.width * 25.4 / facts.density_ppi[0] == pytest.approx(33.37, abs=0.1)
    assert facts.height * 25.4 / facts.density_ppi[1] == pytest.approx(71.93, abs=0.1)
    assert facts.density_ppi[0] == pytest.approx(300, rel=0.005)


def test_a_drawing_without_any_size_is_as_large_as_what_it_draws(drawing, draw):
    page = drawing('<rect x="1000" y="500" width="200" height="100"/>', "")
    assert not page.document.size_certain
    assert (page.document.width_mm, page.document.height_mm) == pytest.approx((200 / 96 * 25.4, 100 / 96 * 25.4))
    assert any("neither a size nor an area" in note for note in page.facts.notes)
    assert (draw(page)[2:-2, 2:-2, 3] == 255).all()


def test_nothing_to_draw_and_no_size(drawing):
    with pytest.raises(IntakeError, match="the drawing is empty"):
        drawing("<g/>", "")


@pytest.mark.parametrize("size", ['width="0" height="10mm"', 'width="10mm" height="0mm"'])
def test_no_area(size, drawing):
    with pytest.raises(IntakeError, match="width or height is zero"):
        drawing(RECT, size)


def test_a_poster_is_drawn_coarser_and_says_so(drawing):
    page = drawing(RECT, 'width="2000mm" height="1000mm"')
    assert page.facts.width * page.facts.height <= 60_000_000
    assert page.facts.width * 25.4 / page.facts.density_ppi[0] == pytest.approx(2000, abs=1)
    assert any("large or complex" in note for note in page.facts.notes)


def test_a_size_that_no_film_has(drawing):
    with pytest.raises(IntakeError, match="1000000 × 1000000 mm: too large to draw"):
        drawing(RECT, 'width="1000000mm" height="1000000mm"')


def test_the_pixel_limit_holds(drawing):
    page = drawing(RECT, limit=100_000)
    assert page.facts.width * page.facts.height <= 101_000


def test_another_resolution(drawing):
    page = drawing(RECT).at_ppi(150)
    assert (page.facts.width, page.facts.height) == (591, 295)
    assert page.ppi == pytest.approx(150, rel=0.01)


def test_drawn_for_the_ordered_size(drawing):
    """The art is 20 mm wide on a canvas of 100; ordered at 80 mm it needs four times 300 ppi."""
    page = drawing('<rect x="10" y="10" width="20" height="10"/>')
    assert page.for_print(80, None).ppi == pytest.approx(1200, rel=0.02)
    assert page.for_print(80, None, "canvas").ppi == pytest.approx(240, rel=0.01)
    assert page.for_print(None, None) is page

"""The drawing: sizes, straight alpha, pieces, pictures pixel by pixel, the customer's own white below the art."""

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.intake.pdf import alpha
from preflight.intake.pdf.draw import BLACK, WHITE, sheet
from preflight.intake.pdf.pagefile import PageFile
from tests.intake.pdf.making import add_page, device_n, drawn, form, look, opened, picture, separation

RNG = np.random.default_rng(7)


def at(path, ppi=72):
    return drawn(opened(path).at_ppi(ppi))


def states(pdf):
    return {
        "ExtGState": Dictionary(
            Half=Dictionary(ca=0.5), Screen=Dictionary(ca=0.5, BM=Name.Screen), Multiply=Dictionary(BM=Name.Multiply)
        )
    }


def data_of(path):
    page = opened(path)
    file: PageFile = page._file
    return file.written()


def test_facts_of_the_drawing(make):
    page = opened(make(b"1 0 0 rg 0 0 72 72 re f"))
    facts = page.facts
    assert (facts.format, facts.width, facts.height, facts.has_alpha) == ("PDF", 600, 300, True)
    assert (facts.colour, facts.bits, facts.icc, facts.frames) == ("rgb", 8, None, 1)
    assert facts.density_ppi == pytest.approx((300, 300))
    assert drawn(page)[150, 100].tolist() == [255, 0, 0, 255]
    assert drawn(page)[150, 500].tolist() == [0, 0, 0, 0]


def test_strips_can_be_taken_again(make):
    page = opened(make(b"1 0 0 rg 0 0 72 72 re f"))
    np.testing.assert_array_equal(drawn(page), drawn(page))


def test_only_its_own_page_is_drawn(make):
    path = make(b"1 0 0 rg 0 0 200 200 re f", edit=lambda pdf: add_page(pdf, b"0 0 1 rg 0 0 200 200 re f"))
    colours = [drawn(opened(path, page).at_ppi(72))[9, 9].tolist() for page in (1, 2)]
    assert colours == [[255, 0, 0, 255], [0, 0, 255, 255]]


@pytest.mark.parametrize("box", [(0, 0, 144, 72), (3.3, 5.7, 104.1, 66.6)])
def test_edges_lie_where_the_page_says(box, make):
    """A triangle: its area by the sum of its opacity, to a thousandth, also on a page of broken units."""
    path = make(b"1 0 0 rg 20.2 15.3 m 80.7 15.3 l 50.4 60.1 l f", box=box)
    opacity = at(path, 720)[..., 3] / 255
    ppi = opened(path).at_ppi(720).facts.density_ppi
    assert opacity.sum() * 72 / ppi[0] * 72 / ppi[1] == pytest.approx(60.5 * 44.8 / 2, rel=1e-3)
    rows, columns = np.nonzero(opacity > 0.5)
    assert columns.min() == pytest.approx((20.2 - box[0]) * 10, abs=1.5)
    assert opacity.shape[0] - rows.max() == pytest.approx((15.3 - box[1]) * 10, abs=1.5)


def test_pieces_fit_together(make):
    """A page of several bands, drawn in one go and in pieces."""
    path = make(b"/Half gs 1 0 0 rg 10 5 m 130 20 l 70 700 l f 3 w 0 0 m 144 720 l S", states, box=(0, 0, 144, 720))
    pieces = at(path, 220)
    with sheet(data_of(path), pieces.shape[1], pieces.shape[0]) as page:
        whole = page.rows(0, len(pieces))
    gap = np.abs(pieces.astype(int) - whole[..., [2, 1, 0, 3]])
    assert gap[..., 3].max() <= 1  # the library rounds where an edge crosses a pixel
    assert gap.max() <= 4


def test_alpha_is_straight(make):
    assert at(make(b"/Half gs 1 0 0 rg 0 0 72 72 re f", states))[36, 36].tolist() == [255, 0, 0, 127]


@pytest.mark.parametrize("second", [b"0 0 100 72 re f", b"0 0 m 100 0 l 100 72 l 0 71 l f"])
def test_translucent_over_translucent(second, make):
    """1 − ½·½ = ¾, whatever the shape. Asked for red first, the library gave 127 for a rectangle."""
    path = make(b"/Half gs 1 0 0 rg 0 0 72 72 re f 0 0 1 rg " + second, states)
    red, green, blue, opacity = (int(v) for v in at(path)[36, 36])
    assert opacity == pytest.approx(191, abs=1)
    assert (red, green, blue) == pytest.approx((85, 0, 170), abs=2)


def test_a_picture_at_its_own_resolution_comes_out_as_it_went_in(make):
    rgba = RNG.integers(0, 256, (100, 200, 4), dtype=np.uint8)

    def resources(pdf):
        mask = picture(pdf, 200, 100, rgba[..., 3].tobytes())
        colours = np.ascontiguousarray(rgba[..., :3]).tobytes()
        return {"XObject": Dictionary(P=picture(pdf, 200, 100, colours, ColorSpace=Name.DeviceRGB, SMask=mask))}

    out = at(make(b"144 0 0 72 0 0 cm /P Do", resources), 100)
    visible = rgba[..., 3] > 0
    np.testing.assert_array_equal(out[..., 3], rgba[..., 3])
    np.testing.assert_array_equal(out[visible], rgba[visible])


def test_blend_modes_that_look_different_on_paper_are_kept_as_on_film(make):
    path = make(b"/Screen gs 0 0 1 rg 0 0 72 72 re f", states)
    assert look(path).odd_blends
    assert at(path)[36, 36].tolist() == [0, 0, 255, 127]
    assert not look(make(b"/Multiply gs 0 0 9 9 re f", states)).odd_blends


def test_the_two_papers_tell_opacity_and_colour():
    colours = RNG.integers(0, 256, (40, 50, 3)).astype(float)
    opacity = RNG.integers(0, 256, (40, 50, 1)).astype(float)
    papers = []
    for paper in (255.0, 0.0):
        laid = np.full((40, 50, 4), 255.0)
        laid[..., :3] = np.rint(colours * opacity / 255 + paper * (1 - opacity / 255))
        papers.append(laid.astype(np.uint8)[..., [2, 1, 0, 3]])
    rgba = alpha.from_papers(*papers)
    np.testing.assert_allclose(rgba[..., 3], opacity[..., 0], atol=1)
    solid = opacity[..., 0] > 128
    np.testing.assert_allclose(rgba[solid][:, :3], colours[solid], atol=3)


def test_both_ways_to_the_transparency_agree(make):
    path = make(b"/Half gs 1 0 0 rg 0 0 72 72 re f 0 0.5 1 rg 20 20 m 100 30 l 60 70 l f", states)
    with sheet(data_of(path), 288, 144) as page:
        plain = alpha.rgba_rows(page, 0, 144, papers=False).astype(int)
        papers = alpha.rgba_rows(page, 0, 144, papers=True).astype(int)
    assert np.abs(plain - papers)[..., 3].max() <= 2
    assert np.abs(plain - papers)[plain[..., 3] > 100].max() <= 4


def test_a_wrong_transparency_is_noticed(make, monkeypatch):
    path = make(b"/Half gs 1 0 0 rg 0 0 72 72 re f 0 0 1 rg 20 20 40 40 re f", states)
    data = data_of(path)
    with sheet(data, 600, 300) as page:
        assert not alpha.needs_papers(page)
    true_rows = alpha.Sheet.rows

    def wrong(self, y, count, paper=None):
        rows = true_rows(self, y, count, paper)
        if paper is None:
            rows[..., 3] = np.minimum(rows[..., 3], 127)
        return rows

    monkeypatch.setattr(alpha.Sheet, "rows", wrong)
    with sheet(data, 600, 300) as page:
        assert alpha.needs_papers(page)
    assert drawn(opened(path).at_ppi(72))[36, 30, 3] == pytest.approx(191, abs=1)  # from the papers all the same


def test_paper_is_only_there_when_asked_for(make):
    with sheet(data_of(make(b"")), 20, 10) as page:
        assert not page.rows(0, 10).any()
        assert (page.rows(0, 10, WHITE) == 255).all()
        assert page.rows(0, 10, BLACK)[0, 0].tolist() == [0, 0, 0, 255]


def whites(pdf):
    white = separation("White", full=(0, 0.3, 0, 0))  # shown as pink, as such plates are
    return {
        "ColorSpace": Dictionary(W=white, D=device_n(pdf, "White", "Black")),
        "XObject": Dictionary(P=picture(pdf, 2, 2, b"\xff\x00\xff\x00", ColorSpace=white)),
        "ExtGState": Dictionary(Over=Dictionary(op=True, OP=True)),
    }


WHITE_SHOWS = [
    b"/W cs 1 scn 0 0 72 72 re f 1 0 0 rg 0 0 36 72 re f",  # plate first, art on top
    b"1 0 0 rg 0 0 36 72 re f /Over gs /W cs 1 scn 0 0 72 72 re f",  # art first, plate on top of it
]


@pytest.mark.parametrize("content", WHITE_SHOWS)
def test_the_customers_white_lies_below_the_art(content, make):
    path = make(content, whites)
    out = at(path)
    assert look(path).whites == ("White",)
    assert out[36, 18].tolist() == [255, 0, 0, 255]
    assert out[36, 54].tolist() == [255, 255, 255, 255]
    assert not out[36, 100].any()


def test_a_weak_white_is_translucent(make):
    out = at(make(b"/W cs 0.5 scn 0 0 72 72 re f", whites))
    assert out[36, 36].tolist() == pytest.approx([255, 255, 255, 128], abs=1)


def test_a_white_plate_that_is_a_picture(make):
    path = make(b"72 0 0 72 0 0 cm /P Do", whites)
    assert look(path).white_pictures
    out = at(path)
    assert out[18, 18].tolist() == [255, 255, 255, 255]
    assert out[18, 54, 3] == 0


def test_white_mixed_with_other_inks(make):
    """The white part of a mixed colour goes below, the rest stays."""
    out = at(make(b"/D cs 1 0 scn 0 0 36 72 re f 0 1 scn 36 0 36 72 re f", whites))
    assert out[36, 54, 3] == 255
    assert out[36, 54, :3].max() < 60
    assert out[36, 18].tolist() == [255, 255, 255, 255]


def test_the_white_plate_alone(make):
    page = opened(make(b"/W cs 1 scn 0 0 72 72 re f 1 0 0 rg 0 0 36 72 re f", whites)).at_ppi(72)
    plate = np.concatenate([rows for _, rows in page.white_plate()])
    assert plate.shape == (72, 144)
    assert (plate[:, 40:70] == 255).all()
    assert not plate[:, 80:].any()
    assert list(opened(make(b"0 0 9 9 re f", name="none.pdf")).white_plate()) == []


def test_a_form_deep_inside_is_drawn(make):
    """As deep as the walk goes, so deep the drawing has to go."""
    from preflight.intake.pdf.budget import MOST_DEPTH

    def resources(pdf):
        inner = form(pdf, b"1 0 0 rg 0 0 72 72 re f")
        for _ in range(MOST_DEPTH - 1):
            inner = form(pdf, b"/F Do", Resources=Dictionary(XObject=Dictionary(F=inner)))
        return {"XObject": Dictionary(F=inner)}

    path = make(b"/F Do", resources)
    look(path)
    assert at(path)[36, 36].tolist() == [255, 0, 0, 255]


def test_a_name_outside_ascii(tmp_path):
    from tests.intake.pdf.making import make

    path = make(tmp_path / "Übergröße 白.pdf", b"1 0 0 rg 0 0 72 72 re f")
    assert at(path)[36, 36, 3] == 255


def test_nothing_is_left_open(make):
    path = make(b"1 0 0 rg 0 0 72 72 re f", MediaBox=Array([0, 0, 99, 99]))
    page = opened(path)
    drawn(page)
    path.rename(path.with_name("moved.pdf"))  # on Windows an open file cannot be moved

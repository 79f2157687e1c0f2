"""Pictures: pixels over placed inches, in whatever way they are placed."""

import math

import pytest
from pikepdf import Array, Dictionary, Name

from tests.intake.pdf.making import MM, drawn, form, look, opened, picture, stream


def with_picture(width=100, height=50, **entries):
    return lambda pdf: {"XObject": Dictionary(P=picture(pdf, width, height, **entries))}


def only(path):
    (found,) = look(path).document.pictures
    return found


@pytest.mark.parametrize(
    ("matrix", "ppi"),
    [
        ("72 0 0 36 0 0", 100),
        ("36 0 0 36 10 0", 100),  # the lower of the two directions
        ("-72 0 0 -36 80 40", 100),  # upside down
        ("0 72 -36 0 60 0", 100),  # on its side
        ("50.9117 50.9117 -25.4558 25.4558 40 0", 100),  # turned by 45°
        ("72 0 20 36 0 0", 50 * 72 / math.hypot(20, 36)),  # sheared: along its own side
    ],
)
def test_ppi_after_the_matrix(matrix, ppi, make):
    found = only(make(f"q {matrix} cm /P Do Q".encode(), with_picture()))
    assert found.pixels == (100, 50)
    assert found.ppi == pytest.approx(ppi, rel=1e-4)


def test_matrices_multiply_through_forms(make):
    def resources(pdf):
        inner = form(pdf, b"0.5 0 0 0.5 0 0 cm /P Do", Matrix=Array([100, 0, 0, 100, 0, 0]))
        inner.Resources = Dictionary(XObject=Dictionary(P=picture(pdf, 100, 100)))
        return {"XObject": Dictionary(F=form(pdf, b"q 0.72 0 0 0.72 5 5 cm /G Do Q", Resources=Dictionary(
            XObject=Dictionary(G=inner))))}  # fmt: skip

    found = only(make(b"1 0 0 1 10 10 cm /F Do", resources))
    assert found.ppi == pytest.approx(200)
    assert (found.area.x_mm, found.area.width_mm) == pytest.approx((15 * MM, 36 * MM))
    assert found.area.y_mm == pytest.approx((72 - 15 - 36) * MM)


def test_a_form_without_resources_uses_those_of_its_page(make):
    def resources(pdf):
        return {"XObject": Dictionary(F=form(pdf, b"72 0 0 36 0 0 cm /P Do"), P=picture(pdf, 100, 50))}

    assert only(make(b"/F Do", resources)).ppi == pytest.approx(100)


@pytest.mark.parametrize(("own", "shown"), [({}, 1), ({"XObject": Dictionary()}, 0)])
def test_a_kind_that_a_form_lacks_comes_from_its_page(own, shown, make):
    """The file format does not say so; viewers and the drawing do."""

    def resources(pdf):
        lacking = form(pdf, b"72 0 0 36 0 0 cm /P Do", Resources=Dictionary(**own))
        return {"XObject": Dictionary(F=lacking, P=picture(pdf, 100, 50))}

    path = make(b"/F Do", resources)
    assert len(look(path).document.pictures) == shown
    assert drawn(opened(path)).any() == shown


def test_the_state_comes_back_after_a_form(make):
    def resources(pdf):
        return {"XObject": Dictionary(F=form(pdf, b"9 0 0 9 0 0 cm q q"), P=picture(pdf, 100, 50))}

    assert only(make(b"72 0 0 36 0 0 cm /F Do /P Do", resources)).ppi == pytest.approx(100)


def test_a_clipped_picture_keeps_its_ppi_and_shows_less(make):
    found = only(make(b"10 10 20 5 re W n 72 0 0 36 0 0 cm /P Do", with_picture()))
    assert found.ppi == pytest.approx(100)
    assert (found.area.width_mm, found.area.height_mm) == pytest.approx((20 * MM, 5 * MM))


@pytest.mark.parametrize(
    "content",
    [
        b"100 60 5 5 re W n 36 0 0 36 0 0 cm /P Do",  # clipped away
        b"36 0 0 36 500 500 cm /P Do",  # beside the page
        b"/Gone gs 36 0 0 36 0 0 cm /P Do",  # fully transparent
        b"/Form Do",  # beyond the box of its form
    ],
)
def test_what_does_not_print_is_not_placed(content, make):
    def resources(pdf):
        return {
            "XObject": Dictionary(P=picture(pdf, 100, 50), Form=form(pdf, b"36 0 0 36 50 50 cm /P Do", (0, 0, 20, 20))),
            "ExtGState": Dictionary(Gone=Dictionary(ca=0)),
        }

    assert not look(make(content, resources)).document.pictures


def test_an_inline_picture(make):
    content = b"q 36 0 0 18 0 0 cm BI /W 50 /H 25 /BPC 8 /CS /G ID " + bytes(1250) + b" EI Q 0 0 1 1 re f"
    found = only(make(content))
    assert found.pixels == (50, 25)
    assert found.ppi == pytest.approx(100)


def test_a_picture_in_a_pattern(make):
    """The cell's picture stands for the whole area that the pattern fills."""

    def resources(pdf):
        cell = stream(
            pdf, b"7.2 0 0 7.2 0 0 cm /P Do", PatternType=1, PaintType=1, TilingType=1, BBox=Array([0, 0, 8, 8]),
            XStep=8, YStep=8, Matrix=Array([2, 0, 0, 2, 300, 300]),
            Resources=Dictionary(XObject=Dictionary(P=picture(pdf, 20, 20))),
        )  # fmt: skip
        return {"Pattern": Dictionary(Q=cell)}

    found = only(make(b"/Pattern cs /Q scn 10 10 50 40 re f 80 10 10 10 re f", resources))
    assert found.ppi == pytest.approx(100)
    assert (found.area.width_mm, found.area.height_mm) == pytest.approx((50 * MM, 40 * MM))


def test_a_picture_in_a_soft_mask_shapes_the_print(make):
    def resources(pdf):
        group = form(pdf, b"72 0 0 36 0 0 cm /P Do", Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray))
        group.Resources = Dictionary(XObject=Dictionary(P=picture(pdf, 100, 50)))
        mask = Dictionary(S=Name.Luminosity, G=group)
        return {"ExtGState": Dictionary(M=Dictionary(SMask=mask))}

    facts = look(make(b"/M gs 1 0 0 rg 0 0 100 50 re f /M gs 0 0 9 9 re f", resources))
    (found,) = facts.document.pictures  # the same mask twice is one
    assert found.ppi == pytest.approx(100)
    assert facts.document.transparency


@pytest.mark.parametrize(
    ("size", "ppi"),
    [((1, 256), 256 * 72 / 36), ((256, 1), 256), ((1, 1), None), ((0, 5), None)],
)
def test_flat_colours_and_ramps_have_no_detail_across(size, ppi, make):
    pictures = look(make(b"72 0 0 36 0 0 cm /P Do", with_picture(*size))).document.pictures
    assert [one.ppi for one in pictures] == ([] if ppi is None else pytest.approx([ppi]))


def test_a_flat_colour_with_a_shape_for_a_mask(make):
    """Programs write one pixel of colour and put the drawing into its transparency."""

    def resources(pdf):
        return {"XObject": Dictionary(P=picture(pdf, 1, 1, SMask=picture(pdf, 300, 150)))}

    found = only(make(b"72 0 0 36 0 0 cm /P Do", resources))
    assert found.pixels == (300, 150)
    assert found.ppi == pytest.approx(300)


def test_a_soft_mask_of_its_own_is_transparency_and_no_picture(make):
    def resources(pdf):
        return {"XObject": Dictionary(P=picture(pdf, 100, 50, SMask=picture(pdf, 10, 5)))}

    facts = look(make(b"72 0 0 36 0 0 cm /P Do", resources)).document
    assert [one.pixels for one in facts.pictures] == [(100, 50)]
    assert facts.transparency


def test_a_stencil_is_a_picture_in_the_current_colour(make):
    path = make(
        b"0 0 0 1 k 72 0 0 36 0 0 cm /P Do", with_picture(ImageMask=True, BitsPerComponent=1, data=bytes(13 * 50))
    )
    facts = look(path)
    assert facts.document.pictures[0].ppi == pytest.approx(100)
    assert [ink.name for ink in facts.document.inks] == ["Black"]


def test_of_very_many_the_coarsest_are_kept(make):
    places = b" ".join(b"q %d 0 0 %d 0 0 cm /P Do Q" % (5 + n % 60, 5 + n % 60) for n in range(5000))
    found = look(make(places, with_picture(60, 60))).document.pictures
    assert len(found) == 2000
    assert max(one.ppi for one in found) <= 60 * 72 / (5 + 59 * 0.58)
    assert min(one.ppi for one in found) == pytest.approx(60 * 72 / 64)


@pytest.mark.parametrize(
    ("entries", "name"),
    [
        ({"F": Dictionary(Type=Name.Filespec, F="photo.tif")}, "photo.tif"),
        ({"F": "photo.tif"}, "photo.tif"),
        ({"OPI": Dictionary({"/1.3": Dictionary(F=Dictionary(F="high.tif"))})}, "high.tif"),
        ({"OPI": Dictionary({"/2.0": Dictionary(F="high.tif")})}, "high.tif"),
    ],
)
def test_a_picture_kept_elsewhere_is_named(entries, name, make):
    def resources(pdf):
        return {"XObject": Dictionary(P=picture(pdf, 100, 50, **entries))}

    assert look(make(b"72 0 0 36 0 0 cm /P Do", resources)).document.linked == (name,)
    assert look(make(b"72 0 0 36 900 0 cm /P Do", resources)).document.linked == ()


def test_a_page_of_another_file_is_named(make):
    def resources(pdf):
        return {"XObject": Dictionary(P=form(pdf, b"0 0 9 9 re f", Ref=Dictionary(F="logo.pdf", Page=0)))}

    assert look(make(b"/P Do", resources)).document.linked == ("logo.pdf",)

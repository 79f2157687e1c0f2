"""Live text: its size after every matrix, its font, whether the file carries it, what is left out."""

import math

import pytest
from pikepdf import Array, Dictionary, Name

from tests.intake.pdf.making import MM, embedded_font, font, form, look, stream


def fonts(pdf):
    type3 = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, Name=Name.Own, FontBBox=Array([0, -20, 100, 80]),
        FontMatrix=Array([0.01, 0, 0, 0.01, 0, 0]), FirstChar=97, LastChar=97, Widths=Array([100]),
        Encoding=Dictionary(Differences=Array([97, Name.a])),
        CharProcs=Dictionary(a=pdf.make_stream(b"100 0 0 0 100 80 d1 0 0 100 80 re f")), Resources=Dictionary(),
    )  # fmt: skip
    bare = Dictionary(type3)
    bare.FontBBox, bare.FontMatrix = Array([0, 0, 0, 0]), Array([1, 0, 0, 1, 0, 0])
    bare.CharProcs = Dictionary(a=pdf.make_stream(b"30 0 0 -5 30 35 d1 0 0 30 35 re f"))
    small = Dictionary(bare)
    small.FontBBox, small.FontMatrix = Array([0, 0, 1, -1]), Array([0.01, 0, 0, -0.01, 0, 0])
    small.CharProcs = Dictionary(a=pdf.make_stream(b"40 0 4 -49 34 0 d1\n0 0 3 3 re f"))
    wide = Dictionary(
        Type=Name.Font, Subtype=Name.Type0, BaseFont=Name("/Wide-Identity-H"), Encoding=Name("/Identity-H"),
        ToUnicode=pdf.make_stream(b"2 beginbfchar <0041> <0053> <0042> <00E9> endbfchar 1 beginbfrange "
                                  b"<0050> <0052> <0061> <0060> <0061> [<0030> <0031>] endbfrange"),
        DescendantFonts=Array([Dictionary(
            Type=Name.Font, Subtype=Name.CIDFontType2, BaseFont=Name("/QWERTY+Wide"), DW=500,
            W=Array([65, Array([1000, 200]), 80, 82, 300]),
            FontDescriptor=Dictionary(FontName=Name.Wide, FontFile2=pdf.make_stream(b"x")),
        )]),
    )  # fmt: skip
    return {
        "Font": Dictionary(F=font(), E=embedded_font(pdf), D=type3, B=bare, C=small, W=wide),
        "ExtGState": Dictionary(Gone=Dictionary(ca=0), Half=Dictionary(ca=0.5), Set=Dictionary(
            Font=Array([pdf.make_indirect(font("Courier")), 9]))),
    }  # fmt: skip


def texts(make, content):
    return look(make(content, fonts, box=(0, 0, 300, 300))).document.texts


def only(make, content):
    (found,) = texts(make, content)
    return found


@pytest.mark.parametrize(
    ("content", "size"),
    [
        (b"/F 12 Tf 10 10 Td (Ab) Tj", 12),
        (b"/F 1 Tf 7.5 0 0 7.5 10 10 Tm (Ab) Tj", 7.5),  # the size in the text matrix
        (b"/F 10 Tf 0 -0.6 0.6 0 100 100 Tm (Ab) Tj", 6),  # turned
        (b"/F 10 Tf 0.7071 0.7071 -0.7071 0.7071 100 100 Tm (Ab) Tj", 10),
        (b"/F 10 Tf 40 Tz 10 10 Td (Ab) Tj", 10),  # narrow letters are as high
        (b"/F 10 Tf 0.4 0 0 1 10 10 Tm (Ab) Tj", 10),
        (b"/F 10 Tf 1 0 0 0.4 10 10 Tm (Ab) Tj", 4),  # flattened
        (b"/F 10 Tf 1 0 0.5 1 10 10 Tm (Ab) Tj", 10),  # leaning
        (b"/F -10 Tf 1 0 0 -1 10 10 Tm (Ab) Tj", 10),
        (b"/D 10 Tf 10 10 Td (a) Tj", 10),  # box of 100 units by a hundredth
        (b"/D 0.5 Tf 20 0 0 20 10 10 Tm (a) Tj", 10),
        (b"/B 0.5 Tf 10 10 Td (a) Tj", 25),  # states no box: a capital of 35 units is 0.7 of the size
        (b"/C 10 Tf 10 10 Td (a) Tj", 7),  # states nonsense; upside down, as a common program writes it
    ],
)
def test_size_after_the_matrices(content, size, make):
    assert only(make, b"BT " + content + b" ET").size_pt == pytest.approx(size, rel=1e-4)


def test_the_page_matrix_counts_too(make):
    assert only(make, b"0.5 0 0 0.5 0 0 cm BT /F 12 Tf 10 10 Td (Ab) Tj ET").size_pt == pytest.approx(6)


def test_a_font_that_the_file_carries_and_one_that_it_does_not(make):
    mine, missing = texts(make, b"BT /E 10 Tf 10 10 Td (Carried) Tj 0 50 Td /F 10 Tf (Missing) Tj ET")
    assert (mine.font, mine.embedded, mine.sample) == ("Own", True, "Carried")
    assert (missing.font, missing.embedded, missing.sample) == ("Helvetica", False, "Missing")


def test_a_font_that_is_named_and_nowhere_is_missing(make):
    found = only(make, b"BT /Nowhere 10 Tf 10 10 Td (x) Tj ET")
    assert (found.font, found.embedded) == ("Nowhere", False)


def test_letters_drawn_by_the_document_are_always_there(make):
    assert only(make, b"BT /D 10 Tf 10 10 Td (a) Tj ET").embedded


def test_a_composite_font(make):
    found = only(make, b"BT /W 10 Tf 10 10 Td <004100420050005200600061> Tj ET")
    assert (found.font, found.embedded, found.sample) == ("Wide", True, "Séac01")
    assert found.area.width_mm == pytest.approx((1000 + 200 + 300 + 300 + 500 + 500) / 1000 * 10 * MM)


def test_where_text_stands(make):
    """Widths of 0.6, from 0.2 below to 0.8 above the line of writing."""
    area = only(make, b"BT /E 10 Tf 50 60 Td (four) Tj ET").area
    assert (area.x_mm, area.y_mm) == pytest.approx((50 * MM, (300 - 68) * MM))
    assert (area.width_mm, area.height_mm) == pytest.approx((24 * MM, 10 * MM))


def test_spacing_widening_and_kerning_move_the_pen(make):
    area = only(make, b"BT /E 10 Tf 2 Tc 3 Tw 50 Tz 50 60 Td [(a ) 1000 (b)] TJ ET").area
    # (6 + 2) + (6 + 2 + 3) − 10 + (6 + 2), half as wide
    assert area.width_mm == pytest.approx((8 + 11 - 10 + 8) / 2 * MM)


def test_lines_of_a_paragraph(make):
    lines = texts(
        make,
        b"BT /E 10 Tf 12 TL 50 200 Td (one) Tj T* (two) Tj (three) ' 1 1 (four) \" 0 -40 TD (five) Tj T* (six) Tj ET",
    )
    tops = [round((300 - 8) - line.area.y_mm / MM, 3) for line in lines]
    assert [line.sample for line in lines] == ["one", "two", "three", "four", "five", "six"]
    assert tops == [200, 188, 176, 164, 124, 84]


def test_pieces_of_one_line_are_one_run(make):
    found = only(make, b"BT /E 10 Tf 50 60 Td (pre) Tj (press) Tj ET BT /E 10 Tf 101 60 Td (ed) Tj ET")
    assert found.sample == "prepressed"
    assert found.area.width_mm == pytest.approx((101 + 12 - 50) * MM)


def test_columns_are_not_one_run(make):
    assert len(texts(make, b"BT /E 10 Tf 50 60 Td (left) Tj 100 0 Td (right) Tj ET")) == 2


@pytest.mark.parametrize(
    "content",
    [
        b"3 Tr (unseen) Tj",  # a layer of recognised text under a scan
        b"(   ) Tj",
        b"/Gone gs (gone) Tj",
        b"500 0 Td (outside) Tj",
        b"/E 0 Tf (nothing) Tj",
        b"0 0 0 0 10 10 Tm (flat) Tj",
    ],
)
def test_what_cannot_be_seen_is_left_out(content, make):
    assert not texts(make, b"BT /E 10 Tf 50 60 Td " + content + b" ET")


@pytest.mark.parametrize("mode", [0, 1, 2, 4, 5, 6, 7])
def test_every_mode_that_shows_counts(mode, make):
    assert only(make, b"BT /E 10 Tf %d Tr 50 60 Td (seen) Tj ET" % mode).sample == "seen"


def test_outlined_letters_are_strokes_too(make):
    """The line width knows the page's matrix, not that of the text (ISO 32000-1, 9.3.6, from memory)."""
    facts = look(make(b"2 0 0 2 0 0 cm 0.1 w BT /E 1 Tf 10 0 0 10 5 5 Tm 1 Tr (x) Tj ET", fonts)).document
    assert [stroke.width_mm for stroke in facts.strokes] == pytest.approx([0.2 * MM])


def test_a_font_set_by_the_graphics_state(make):
    found = only(make, b"/Set gs BT 10 10 Td (x) Tj ET")
    assert (found.font, found.size_pt) == ("Courier", pytest.approx(9))


def test_text_in_forms_patterns_and_masks(make):
    def resources(pdf):
        own = Dictionary(**fonts(pdf))
        show = b"BT /F 10 Tf 5 5 Td (%s) Tj ET"
        cell = stream(pdf, show % b"cell", PatternType=1, PaintType=2, TilingType=1, BBox=Array([0, 0, 30, 30]),
                      XStep=30, YStep=30, Resources=own)  # fmt: skip
        mask = Dictionary(S=Name.Luminosity, G=form(pdf, show % b"mask", Resources=own))
        return {
            "XObject": Dictionary(F=form(pdf, show % b"form", Resources=own)),
            "Pattern": Dictionary(Q=cell),
            "ExtGState": Dictionary(M=Dictionary(SMask=mask)),
            "ColorSpace": Dictionary(P=Array([Name.Pattern, Name.DeviceRGB])),
        }

    facts = look(make(b"/F Do /P cs 1 0 0 /Q scn 0 0 50 50 re f /M gs 0 0 9 9 re f", resources)).document
    assert sorted(run.sample for run in facts.texts) == ["cell", "form", "mask"]
    assert all(run.font == "Helvetica" and not run.embedded for run in facts.texts)


def test_vertical_writing(make):
    def vertical(pdf):
        resources = fonts(pdf)
        resources["Font"].W.Encoding = Name("/Identity-V")
        return resources

    (found,) = look(make(b"BT /W 10 Tf 50 200 Td <004100420041> Tj ET", vertical, box=(0, 0, 300, 300))).document.texts
    assert found.area.height_mm == pytest.approx(30 * MM)
    assert found.area.width_mm == pytest.approx(10 * MM)
    assert found.area.y_mm == pytest.approx(100 * MM)


def test_the_smallest_and_the_missing_are_kept(make):
    sizes = [5 + n / 1000 for n in range(2500)]
    show = b" ".join(b"%f 0 0 %f %d %d Tm (x) Tj" % (v, v, n % 25 * 12, n // 25 * 3) for n, v in enumerate(sizes))
    found = texts(make, b"BT /E 1 Tf " + show + b" /F 80 Tf 1 0 0 1 50 50 Tm (X) Tj ET")
    assert len(found) == 2000
    assert min(run.size_pt for run in found) == pytest.approx(5)
    assert sum(not run.embedded for run in found) == 1
    assert math.isclose(max(run.size_pt for run in found if run.embedded), 5 + 1998 / 1000, abs_tol=1e-3)


def test_a_damaged_map_of_letters_does_no_harm(make):
    def damaged(pdf):
        own = embedded_font(pdf)
        own.ToUnicode = stream(pdf, b"")
        own.ToUnicode.write(b"no deflated data", filter=Name.FlateDecode)
        return {"Font": Dictionary(E=own)}

    (found,) = look(make(b"BT /E 10 Tf 50 50 Td (A) Tj ET", damaged)).document.texts
    assert found.sample == ""


def test_a_name_with_a_glyph_list(make):
    def named(pdf):
        own = embedded_font(pdf)
        own.Encoding = Dictionary(Differences=Array([65, Name.five, Name.quotesingle, Name("/uni20AC"), Name("/g17")]))
        return {"Font": Dictionary(E=own)}

    (found,) = look(make(b"BT /E 10 Tf 50 50 Td (ABCDE) Tj ET", named)).document.texts
    assert found.sample == "5'€E"

"""Documents made to exhaust whoever opens them: each is answered within seconds, in plain words."""

import contextlib
import sys
import time
import zlib
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.errors import IntakeError
from preflight.intake.pdf import budget, open_pdf
from preflight.intake.pdf.budget import words
from preflight.intake.pdf.content import _OPERATORS
from tests.intake.pdf.making import LIMIT, form, look, picture, stream

#: Generous: these take a tenth of it on a slow machine.
SECONDS = 10.0


@pytest.fixture(autouse=True)
def in_time():
    before = held("VmRSS")
    if before:
        Path("/proc/self/clear_refs").write_text("5")  # the peak starts anew: it is this test's, not the whole run's
    start = time.process_time()
    yield
    assert time.process_time() - start < SECONDS
    assert held("VmHWM") - before < 1_300_000


def held(field):
    """Memory of this process in kB; 0 where the system does not tell."""
    if sys.platform != "linux":
        return 0
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(field))


def refused(path):
    with pytest.raises(IntakeError, match="too complex to read safely") as caught:
        look(path)
    assert "PNG" in caught.value.next_step
    assert caught.value.file.endswith("art.pdf")


def test_forms_that_double(make):
    """Thirty forms, each of which shows the next one twice: a thousand million uses."""

    def resources(pdf):
        inner = form(pdf, b"0 0 1 1 re f")
        for _ in range(budget.MOST_DEPTH - 2):
            inner = form(pdf, b"/F Do /F Do", Resources=Dictionary(XObject=Dictionary(F=inner)))
        return {"XObject": Dictionary(F=inner)}

    refused(make(b"/F Do", resources))


def test_forms_too_deep(make):
    def resources(pdf):
        inner = form(pdf, b"0 0 1 1 re f")
        for _ in range(200):
            inner = form(pdf, b"/F Do", Resources=Dictionary(XObject=Dictionary(F=inner)))
        return {"XObject": Dictionary(F=inner)}

    refused(make(b"/F Do", resources))


@pytest.mark.parametrize("loop", [1, 2])
def test_forms_that_show_themselves(loop, make):
    """Viewers leave the inner one out; so is it here."""

    def resources(pdf):
        forms = [form(pdf, b"0 0 m 1 1 l S /F Do", Resources=Dictionary()) for _ in range(loop)]
        for index, one in enumerate(forms):
            one.Resources.XObject = Dictionary(F=pdf.make_indirect(forms[(index + 1) % loop]))
        return {"XObject": Dictionary(F=forms[0])}

    assert len(look(make(b"/F Do", resources)).document.strokes) == loop


@pytest.mark.parametrize(
    ("step", "inner"),
    [
        pytest.param(9, b"/Pattern cs /P scn 0 0 9 9 re f", id="with itself"),
        pytest.param(1e-6, b"0 0 9 9 re f", id="tiny"),
    ],
)
def test_a_pattern_that_keeps_the_drawing_busy(step, inner, make):
    def resources(pdf):
        cell = stream(pdf, inner, PatternType=1, PaintType=1, TilingType=1,
                      BBox=Array([0, 0, 9, 9]), XStep=step, YStep=step, Resources=Dictionary())  # fmt: skip
        cell.Resources.Pattern = Dictionary(P=cell)
        return {"Pattern": Dictionary(P=cell)}

    refused(make(b"/Pattern cs /P scn 0 0 9 9 re f", resources))


def test_marked_parts_too_deep(make):
    refused(make(b"/A BMC " * 200_000 + b"0 0 9 9 re f"))
    assert look(make(b"/A BMC " * 500 + b"0 0 9 9 re f", name="fine.pdf"))


@pytest.mark.parametrize("side", [20_001, 65_500, 2**31 - 1])
def test_a_picture_of_billions_of_pixels(make, side):
    def resources(pdf):
        huge = stream(pdf, b"", Type=Name.XObject, Subtype=Name.Image, Width=side, Height=side, BitsPerComponent=8,
                      ColorSpace=Name.DeviceGray)  # fmt: skip
        return {"XObject": Dictionary(I=huge)}

    refused(make(b"9 0 0 9 0 0 cm /I Do", resources))


def test_a_soft_mask_that_masks_itself(make):
    def resources(pdf):
        group = form(pdf, b"/M gs 0 0 9 9 re f", Resources=Dictionary())
        mask = pdf.make_indirect(Dictionary(SMask=Dictionary(S=Name.Luminosity, G=group)))
        group.Resources.ExtGState = Dictionary(M=mask)
        return {"ExtGState": Dictionary(M=mask)}

    look(make(b"/M gs 0 0 9 9 re f", resources))


def test_states_saved_without_end(make):
    refused(make(b"q " * 900_000))


def test_too_many_instructions(make):
    refused(make(b"0 0 m 1 1 l S " * 400_000))


def test_one_long_stream_shown_often(make):
    def resources(pdf):
        return {"XObject": Dictionary(F=form(pdf, b"0 0 1 1 re f " * 9_000))}

    refused(make(b"/F Do " * 1_000, resources))


@pytest.mark.parametrize("times", [1, 2])
def test_deflated_zeros(times, make):
    """A gigabyte of spaces in a megabyte; deflated once more, in a few thousand bytes."""
    packer = zlib.compressobj(1)
    data = b"".join([*(packer.compress(b" " * (1 << 24)) for _ in range(64)), packer.flush()])
    for _ in range(times - 1):
        data = zlib.compress(data, 9)

    def edit(pdf):
        filters = Array([Name.FlateDecode] * times)
        pdf.pages[0].obj.Contents.write(data, filter=filters, decode_parms=Array([Dictionary()] * times))

    path = make(edit=edit, save={"compress_streams": False, "stream_decode_level": None})
    with pytest.raises(IntakeError):
        look(path)


def test_filters_upon_filters(make):
    def edit(pdf):
        content = pdf.pages[0].obj.Contents
        content.write(b"30" * 50 + b">", filter=Array([Name.ASCIIHexDecode] * 50))

    with pytest.raises(IntakeError):
        look(make(edit=edit, save={"compress_streams": False, "stream_decode_level": None}))


def test_lzw_that_could_swell(make):
    def edit(pdf):
        pdf.pages[0].obj.Contents.write(bytes(600_000), filter=Name.LZWDecode)

    refused(make(edit=edit, save={"compress_streams": False, "stream_decode_level": None}))


def test_arrays_without_end_inside_one_another(make):
    with contextlib.suppress(IntakeError):  # either answer will do; an end has to come
        look(make(b"[" * 300_000 + b"]" * 300_000 + b" TJ 0 0 m 9 9 l S"))


def test_a_layer_condition_without_end(make):
    def edit(pdf):
        group = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="x"))
        expression = Array([Name.Not, group])
        for _ in range(300):
            expression = Array([Name.Not, expression])
        loop = pdf.make_indirect(Array([Name.And]))
        loop.extend([loop, loop, loop])
        pdf.Root.OCProperties = Dictionary(OCGs=Array([group]), D=Dictionary(OFF=Array([group])))
        pdf.pages[0].obj.Resources = Dictionary(Properties=Dictionary(
            A=Dictionary(Type=Name.OCMD, VE=expression), B=Dictionary(Type=Name.OCMD, VE=loop)))  # fmt: skip

    look(make(b"/OC /A BDC 0 0 9 9 re f EMC", edit=edit))
    refused(make(b"/OC /B BDC 0 0 9 9 re f EMC", edit=edit))


def test_widths_without_end(make):
    def resources(pdf):
        descendant = Dictionary(Subtype=Name.CIDFontType2, W=Array([0, 2**31 - 1, 500] * 50))
        wide = Dictionary(Subtype=Name.Type0, Encoding=Name("/Identity-H"), DescendantFonts=Array([descendant]))
        return {"Font": Dictionary(F=wide)}

    look(make(b"BT /F 9 Tf 9 9 Td <00410042> Tj ET", resources))


def test_a_map_of_letters_without_end(make):
    def resources(pdf):
        cmap = b"1 beginbfrange " + b"<0000> <ffffffff> <0041> " * 500 + b"endbfrange"
        return {"Font": Dictionary(F=Dictionary(Subtype=Name.Type1, BaseFont=Name.X, ToUnicode=pdf.make_stream(cmap)))}

    look(make(b"BT /F 9 Tf 9 9 Td (x) Tj ET", resources))


def test_pages_without_end(tmp_path):
    """A list of pages that names one page a million times."""
    kids = b"3 0 R " * 1_000_000
    body = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Count 1000000/Kids[" + kids + b"]>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>>",
    ]
    out, places = b"%PDF-1.7\n", []
    for number, one in enumerate(body, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, one)
    table = b"xref\n0 4\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % place for place in places)
    path = tmp_path / "art.pdf"
    path.write_bytes(out + table + b"trailer<</Size 4/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % len(out))
    with pytest.raises(IntakeError):
        open_pdf(path, pixel_limit=LIMIT)


def test_a_picture_of_untold_size_is_not_decoded_for_its_facts(make):
    def resources(pdf):
        return {"XObject": Dictionary(P=picture(pdf, 20_000, 20_000, b""))}

    (found,) = look(make(b"72 0 0 72 0 0 cm /P Do", resources)).document.pictures
    assert found.ppi > 0


def test_marks_without_end(make):
    """Each painting asks whether a layer hides it: that must not take longer the deeper it lies."""
    look(make(b"/x BMC " * 999 + b"0 0 1 1 re f " * 200_000))


def test_a_string_without_end(make):
    def resources(pdf):
        show = form(pdf, b"BT /F 1 Tf (" + b"x" * 4_000_000 + b") Tj ET")
        return {"Font": Dictionary(F=Dictionary(Subtype=Name.Type1, BaseFont=Name.X)), "XObject": Dictionary(X=show)}

    refused(make(b"/X Do " * 30, resources))


@pytest.mark.parametrize("content", [b"1 " * 10_000_000, b"[" + b"1 " * 10_000_000 + b"] TJ"])
def test_numbers_without_end(content, make):
    refused(make(content))


def test_pictures_in_the_stream_without_end(make):
    refused(make(b"BI /W 1/H 1/BPC 8/CS/G ID x EI " * 100_000))


def test_fonts_without_end(make):
    """Each use of a font that stands in the resources would read it anew; each form brings its own."""

    def resources(pdf):
        cmap = stream(pdf, b"1 beginbfrange <0000> <ffff> <0041> endbfrange")
        own = Dictionary(Font=Dictionary(F=Dictionary(Subtype=Name.Type1, BaseFont=Name.X, ToUnicode=cmap)))
        forms = {f"/X{n}": form(pdf, b"/F 1 Tf " * 1000, Resources=Dictionary(own)) for n in range(900)}
        return {"XObject": Dictionary(forms)}

    refused(make(b" ".join(b"/X%d Do" % n for n in range(900)), resources))


def test_a_font_named_often_is_read_once(make):
    def resources(pdf):
        cmap = stream(pdf, b"1 beginbfrange <0000> <ffff> <0041> endbfrange")
        return {"Font": Dictionary(F=Dictionary(Subtype=Name.Type1, BaseFont=Name.X, ToUnicode=cmap))}

    look(make(b"/F 1 Tf " * 100_000, resources))


def test_words_are_never_fewer_than_instructions():
    for content in (b"q Q q", b"1 0 0 rg[1]0 d(x)Tj", b"BT(x)'1 2(y)\"ET", b"/F1 9 Tf<41>Tj", b"1 0 0 1 0 0cm q"):
        pdf = pikepdf.new()
        assert words(content)[0] >= len(pikepdf.parse_content_stream(pdf.make_stream(content), _OPERATORS))

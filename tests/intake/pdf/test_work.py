"""Pages that would take too long to draw are refused from their objects; honest ones, however full, are drawn."""

from __future__ import annotations

import time
import zlib

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name, StreamDecodeLevel

from preflight.errors import IntakeError
from preflight.intake.pdf import drawing, work
from preflight.intake.pdf.draw import sheet
from preflight.intake.pdf.functions import instructions
from preflight.intake.pdf.work import Work
from tests.intake.pdf.making import device_n, drawn, form, look, opened, picture, stream

TOO_LONG = "the file is too complex to read safely: drawing it would take too long"
BOX = (0, 0, 200, 100)


def refused(path, width_mm=280.0, what=TOO_LONG):
    start = time.process_time()
    with pytest.raises(IntakeError) as caught:
        for _ in opened(path).for_print(width_mm, None).strips():
            pass
    assert time.process_time() - start < 5.0
    assert caught.value.what == what
    assert caught.value.file == str(path)
    assert "PNG" in caught.value.next_step
    assert caught.value.rule == "unreadable-file"


def test_a_page_of_curves_from_corner_to_corner(make):
    refused(make(b"0 w " + b"0 0 m 10 90 190 -90 200 100 c S " * 40_000, box=BOX))


def test_translucent_layers_without_end(make):
    def resources(_pdf):
        return {"ExtGState": Dictionary(G=Dictionary(ca=0.5))}

    refused(make(b"/G gs " + b"1 1 m 199 2 l 198 99 l 2 98 l f " * 4_000, resources, box=BOX))


def test_one_outline_of_a_hundred_thousand_corners(make):
    rng = np.random.default_rng(1)
    corners = b"".join(b"%.1f %.1f l " % (x, y) for x, y in rng.random((100_000, 2)) * (200, 100))
    refused(make(b"0 0 m " + corners + b"f*", box=BOX))


def curves(count: int, size: float) -> bytes:
    """So many filled and stroked curves, each of that size in points, all over the page."""
    rng = np.random.default_rng(1)
    parts = []
    for x, y in rng.random((count, 2)) * (200 - size, 100 - size):
        points = (x, y, x + size, y, x + size, y + size, x, y + size)
        parts.append(b"%.3f %.3f m %.3f %.3f %.3f %.3f %.3f %.3f c B " % points)
    return b".1 w " + b"".join(parts)


@pytest.mark.parametrize(("count", "size"), [(60_000, 1.0), (20_000, 4.0)])
def test_a_real_drawing_of_many_curves_is_drawn(make, count, size):
    page = opened(make(curves(count, size), box=BOX)).for_print(280.0, None)
    assert drawn(page)[..., 3].max() == 255


def sample(kind: str, pdf) -> tuple[bytes, dict]:
    if kind == "lines":
        return b"0 w " + b"0 0 m 200 100 l S " * 3_000, {}
    if kind == "curves":
        return b"0 w " + b"0 0 m 10 90 190 -90 200 100 c S " * 2_000, {}
    if kind == "areas":
        return b"1 1 m 199 2 l 198 99 l 2 98 l f " * 600, {}
    return b"/G gs " + b"1 1 m 199 2 l 198 99 l 2 98 l f " * 200, {"ExtGState": Dictionary(G=Dictionary(ca=0.5))}


@pytest.mark.parametrize("kind", ["lines", "curves", "areas", "clear areas"])
def test_the_estimate_is_near_the_time_that_drawing_takes(make, monkeypatch, kind):
    monkeypatch.setattr(work, "_FREE", 0)
    path = make(sample(kind, None)[0], lambda pdf: sample(kind, pdf)[1], box=BOX)
    page = opened(path)
    told = page._file.look().work.seconds(1000 / (200 * 25.4 / 72))
    with sheet(page._file.written(), 1000, 500) as open_sheet:
        start = time.process_time()
        open_sheet.rows(0, 500)
        took = time.process_time() - start
    assert took / 3 < told < took * 3


def test_which_outlines_are_weighed_is_the_same_each_time_and_has_no_period():
    runs = [[one.stands_for(3) for _ in range(20_000)] for one in (Work(), Work())]
    assert runs[0] == runs[1]
    assert not any(runs[0][:300])
    assert sum(runs[0][300:]) == pytest.approx(19_700, rel=0.05)
    for period in range(1, 64):
        assert sum(runs[0][300::period]) == pytest.approx(19_700 / period, rel=0.35)


def calculated(pdf, code: bytes, values: int = 2, results: int = 1):
    return stream(pdf, code, FunctionType=4, Domain=Array([0, 1] * values), Range=Array([0, 1] * results))


def test_every_way_to_build_an_outline_is_weighed_and_none_is_lost(make, monkeypatch):
    """Closed ones too; one whose operands are missing is passed over as elsewhere."""
    one = b"9 9 m 20 9 l 20 20 30 20 30 30 c 40 40 50 50 v 60 60 70 70 y h 80 80 9 9 re %s "
    content = b"".join(one % way for way in (b"f", b"S", b"B*", b"s", b"W n")) + b"9 m 9 9 l f "
    monkeypatch.setattr(work, "_FREE", 0)
    monkeypatch.setattr(work, "_ONE_IN", 1)
    found = look(make(content, box=BOX))
    monkeypatch.setattr(Work, "stands_for", lambda *_: 0)
    plain = look(make(content, box=BOX, name="plain.pdf"))
    assert found.work.edges > 0.0
    assert (found.document, found.notes) == (plain.document, plain.notes)
    assert len(found.document.strokes) == 3


@pytest.mark.parametrize(("steps", "too_many"), [(2, False), (20_000, True)])
def test_a_blend_by_a_program(make, steps, too_many):
    def resources(pdf):
        blend = Dictionary(
            ShadingType=1, ColorSpace=Name.DeviceGray, Matrix=Array([200, 0, 0, 100, 0, 0]),
            Function=calculated(pdf, b"{ pop " + b"dup mul " * steps + b"}"),
        )  # fmt: skip
        return {"Shading": Dictionary(S=blend)}

    path = make(b"/S sh", resources, box=BOX)
    if too_many:
        refused(path)
    else:
        assert drawn(opened(path).for_print(80.0, None))[..., 3].min() == 255


def test_a_picture_whose_inks_take_a_program(make):
    """Of a photograph's size, with a long program: each pixel is calculated."""

    def resources(pdf):
        space = device_n(pdf, "Sea", "Sand")
        space[3] = calculated(pdf, b"{ " + b"dup mul " * 5_000 + b"add dup dup dup }", 2, 4)
        data = zlib.compress(bytes(2 * 1000 * 1000))
        shown = picture(pdf, 1000, 1000, data, ColorSpace=space, Filter=Name.FlateDecode)
        return {"XObject": Dictionary(I=shown)}

    refused(make(b"200 0 0 100 0 0 cm /I Do", resources, box=BOX))


def test_a_picture_of_inks_is_drawn_in_few_pieces_and_looks_the_same(make, monkeypatch):
    def resources(pdf):
        rng = np.random.default_rng(1)
        shown = picture(pdf, 60, 40, rng.bytes(2 * 60 * 40), ColorSpace=device_n(pdf, "Sea", "Sand"))
        return {"XObject": Dictionary(I=shown)}

    path = make(b"200 0 0 100 0 0 cm /I Do", resources, box=BOX)
    pieces = []
    original = drawing.rgba_rows
    monkeypatch.setattr(drawing, "rgba_rows", lambda *one, **more: pieces.append(one[2]) or original(*one, **more))
    page = opened(path).at_ppi(500.0)
    tall = drawn(page)
    assert pieces == [page.facts.height]
    monkeypatch.setattr(drawing, "_PIECE", 1)
    pieces.clear()
    assert np.array_equal(drawn(page), tall)
    assert max(pieces) == 256


def test_instructions_of_functions(make):
    path = make()
    page = opened(path)

    def count(pdf):
        short, long = calculated(pdf, b"{ dup mul }"), calculated(pdf, b"{ dup 1 add mul pop 0.5 }")
        stitched = Dictionary(FunctionType=3, Functions=Array([short, long]))
        data = lambda one: bytes(one.read_bytes())  # noqa: E731
        ring = pdf.make_indirect(Dictionary(FunctionType=3))
        ring.Functions = Array([ring])
        return [instructions(one, data) for one in (short, long, stitched, Array([short, long]), None, ring)]

    assert page._file._in_file(lambda pdf: count(pdf.pdf if hasattr(pdf, "pdf") else pdf)) == [2, 6, 6, 8, 0, 0]


def zeros(megabytes: int) -> bytes:
    packer = zlib.compressobj(9)
    return b"".join(packer.compress(bytes(1 << 20)) for _ in range(megabytes)) + packer.flush()


LARGE = "the file is too complex to read safely: a font, a colour profile or a table in it is larger than 64 MB"


@pytest.mark.parametrize("filters", ["once", "twice"])
def test_a_profile_of_a_gigabyte(make, filters):
    data = zeros(1024)
    names = Name.FlateDecode
    if filters == "twice":
        data, names = zlib.compress(data, 9), Array([Name.FlateDecode, Name.FlateDecode])

    def resources(pdf):
        return {"ColorSpace": Dictionary(C=Array([Name.ICCBased, stream(pdf, data, N=3, Filter=names)]))}

    refused(make(b"/C cs 1 0 0 sc 9 9 50 50 re f", resources, box=BOX), what=LARGE)


def test_a_font_of_a_gigabyte(make):
    def resources(pdf):
        program = stream(pdf, zeros(1024), Filter=Name.FlateDecode)
        descriptor = Dictionary(Type=Name.FontDescriptor, FontName=Name.X, Flags=4, FontFile2=program)
        font = Dictionary(Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name.X, FontDescriptor=descriptor)
        return {"Font": Dictionary(F=font)}

    refused(make(b"BT /F 20 Tf 9 9 Td (W) Tj ET", resources, box=BOX), what=LARGE)


def test_a_table_packed_in_an_old_way(make):
    def resources(pdf):
        table = stream(pdf, b"\x80" * 600_000, N=3, Filter=Name.LZWDecode)
        return {"ColorSpace": Dictionary(C=Array([Name.ICCBased, table]))}

    as_it_is = {"stream_decode_level": StreamDecodeLevel.none, "compress_streams": False}
    refused(make(b"/C cs 1 0 0 sc 9 9 50 50 re f", resources, box=BOX, save=as_it_is), what=LARGE)


def test_a_large_table_that_is_no_trap_is_let_through(make):
    """Ten million bytes of a font, and a form that the walk has seen already."""

    def resources(pdf):
        rng = np.random.default_rng(1)
        program = stream(pdf, zlib.compress(rng.bytes(1 << 20) * 10), Filter=Name.FlateDecode)
        descriptor = Dictionary(Type=Name.FontDescriptor, FontName=Name.X, Flags=4, FontFile2=program)
        font = Dictionary(Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name.X, FontDescriptor=descriptor)
        return {"Font": Dictionary(F=font), "XObject": Dictionary(O=form(pdf, b"0 0 m 9 9 l S"))}

    path = make(b"/O Do 1 0 0 rg 9 9 50 50 re f BT /F 20 Tf 9 9 Td (W) Tj ET", resources, box=BOX)
    assert look(path).document.strokes
    assert drawn(opened(path).at_ppi(100.0))[..., 3].max() == 255

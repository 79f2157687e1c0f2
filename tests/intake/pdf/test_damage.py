"""Damaged files: mended ones are checked with a word about it, what cannot be read in full is not passed."""

import io
import zlib

import numpy as np
import pytest
from pikepdf import Dictionary, Name
from PIL import Image

from preflight.errors import IntakeError
from preflight.intake.pdf import open_pdf
from tests.intake.pdf.making import LIMIT, drawn, form, look, opened, picture

ART = b"1 0 0 rg " + b"".join(b"%d %d 3 3 re f " % (n % 140, n % 70) for n in range(400))


def test_a_broken_table_of_objects_is_mended_and_said(make):
    path = make(ART)
    data = path.read_bytes()
    at = data.rindex(b"startxref")
    path.write_bytes(data[:at] + b"startxref\n7\n%%EOF\n")
    page = opened(path)
    assert any("repaired" in note for note in page.facts.notes)
    assert drawn(page).any()


def test_a_whole_file_says_nothing_of_repair(make):
    assert look(make(ART)).notes == ()


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.95, 0.999])
def test_a_file_cut_short(share, make):
    path = make(ART, save={"compress_streams": False})
    data = path.read_bytes().rstrip()
    path.write_bytes(data[: min(int(share * len(data)), len(data) - 2)])
    with pytest.raises(IntakeError) as caught:
        look(path)
    assert caught.value.rule == "cut-short"
    assert "again" in caught.value.next_step


def test_a_line_after_the_end_is_no_harm(make):
    path = make(ART)
    path.write_bytes(path.read_bytes() + b"\r\n" * 20 + b"sent from my desk")
    assert look(path).notes == ()


@pytest.mark.parametrize("data", [b"%PDF-1.7", b"%PDF-1.7\n" + b"x" * 5000, b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF"])
def test_what_only_begins_like_a_document(data, tmp_path):
    path = tmp_path / "art.pdf"
    path.write_bytes(data)
    with pytest.raises(IntakeError):
        open_pdf(path, pixel_limit=LIMIT)


def packed(data):
    """A content stream with these bytes as they are, said to be deflated."""

    def edit(pdf):
        pdf.pages[0].obj.Contents.write(data, filter=Name.FlateDecode)

    return {"edit": edit, "save": {"compress_streams": False, "stream_decode_level": None}}


@pytest.mark.parametrize("share", [0.3, 0.7, 0.95])
def test_instructions_that_end_early_are_not_passed(share, make):
    whole = zlib.compress(ART)
    with pytest.raises(IntakeError, match="damaged"):
        look(make(**packed(whole[: int(share * len(whole))])))


def test_instructions_with_a_broken_middle_are_not_passed(make):
    whole = bytearray(zlib.compress(ART))
    whole[40:44] = b"\xff\xff\xff\xff"
    with pytest.raises(IntakeError, match="damaged"):
        look(make(**packed(bytes(whole))))


def test_only_the_check_sum_is_missing(make):
    assert look(make(**packed(zlib.compress(ART)[:-4]))).notes == ()


def test_ended_by_a_flush_as_a_common_viewer_does(make):
    packer = zlib.compressobj()
    assert look(make(**packed(packer.compress(ART) + packer.flush(zlib.Z_SYNC_FLUSH)))).notes == ()


def test_a_damaged_form_is_not_passed(make):
    def resources(pdf):
        broken = form(pdf, b"")
        broken.write(b"no deflated data", filter=Name.FlateDecode)
        return {"XObject": Dictionary(F=broken)}

    with pytest.raises(IntakeError, match="damaged") as caught:
        look(make(b"/F Do", resources))
    assert caught.value.file.endswith("art.pdf")


def pictured(make, data, name, **entries):
    def resources(pdf):
        image = picture(pdf, 200, 100, **entries)
        image.write(data, filter=Name(f"/{name}") if name else None)
        return {"XObject": Dictionary(P=image)}

    return opened(make(b"144 0 0 72 0 0 cm /P Do", resources)).at_ppi(72)


SAMPLES = np.random.default_rng(3).integers(0, 256, 20_000, dtype=np.uint8).tobytes()


def as_jpeg():
    out = io.BytesIO()
    Image.frombytes("L", (200, 100), SAMPLES).save(out, "JPEG")
    return out.getvalue()


PICTURES = {"FlateDecode": zlib.compress(SAMPLES), "DCTDecode": as_jpeg(), "": SAMPLES}


@pytest.mark.parametrize("name", PICTURES)
def test_a_whole_picture_is_drawn(name, make):
    assert drawn(pictured(make, PICTURES[name], name)).any()


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_half_a_picture_is_not_passed(name, share, make):
    page = pictured(make, PICTURES[name][: int(share * len(PICTURES[name]))], name)
    assert page.document.pictures  # its facts are as they are
    with pytest.raises(IntakeError, match="picture on the page is damaged") as caught:
        drawn(page)
    assert caught.value.file.endswith("art.pdf")


def test_a_picture_with_a_broken_middle_is_not_passed(make):
    broken = bytearray(PICTURES["FlateDecode"])
    broken[9000:9004] = b"\xff\xff\xff\xff"
    page = pictured(make, bytes(broken), "FlateDecode")
    with pytest.raises(IntakeError, match="damaged"):
        drawn(page)


def test_a_broken_mask_is_found_too(make):
    mask = PICTURES["FlateDecode"][:9000]

    def resources(pdf):
        soft = picture(pdf, 200, 100)
        soft.write(mask, filter=Name.FlateDecode)
        return {"XObject": Dictionary(P=picture(pdf, 200, 100, SMask=soft))}

    with pytest.raises(IntakeError, match="damaged"):
        drawn(opened(make(b"144 0 0 72 0 0 cm /P Do", resources)).at_ppi(72))


def test_a_damaged_picture_that_is_not_shown_does_no_harm(make):
    def resources(pdf):
        image = picture(pdf, 200, 100)
        image.write(b"x", filter=Name.FlateDecode)
        return {"XObject": Dictionary(P=image)}

    assert drawn(opened(make(b"0 0 9 9 re f 9 0 0 9 900 900 cm /P Do", resources)).at_ppi(72)).any()


@pytest.mark.parametrize(
    "content",
    [
        b"1 0 0 cm",
        b"/Nothing Do /Nothing gs /Nothing cs /Nothing sh",
        b"(x) w /x w null w [1] w",
        b"BT (no font) Tj [1 2 (x)] TJ 5 Td /F Tf ET",
        b"Q Q Q EMC EMC ET ET",
        b"1 2 3 scn /x scn k rg 1 2 K",
        b"BI /W 2 ID xx EI BI ID EI",
        b"1e999 0 0 99999999999999999999999 0 0 cm 0 0 1 1 re S",
        b"0 0 m (x) (y) l S /a /b re f",
        b"\x00\xff\x80 \\( << /a >> BDC [[[ ",
    ],
)
def test_nonsense_between_instructions(content, make):
    """Passed over as in viewers; what is around it still counts."""
    facts = look(make(b"q 1 w 1 1 m 2 2 l S Q q " + content + b" Q q 1 w 5 5 m 9 9 l S Q")).document
    assert len(facts.strokes) >= 1


def test_nonsense_is_counted(make):
    assert "1 instruction on the page made no sense" in look(make(b"1 0 0 cm 0 0 9 9 re f")).notes[0]


def test_a_file_that_goes_away(make):
    path = make(ART)
    page = opened(path)
    path.unlink()
    with pytest.raises(IntakeError, match="went away"):
        _ = page.document

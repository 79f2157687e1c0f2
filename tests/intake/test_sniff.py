"""Formats by their content, and what a name's ending promises."""

import gzip
import io
import struct
import tarfile
import zipfile

import pytest
from PIL import Image, features

from preflight.intake import OPENERS
from preflight.intake.picture import FORMATS as PICTURES
from preflight.intake.sniff import FORMATS, ending_of_another, sniff


def saved(kind, **options):
    buffer = io.BytesIO()
    Image.new("RGB", (20, 10)).save(buffer, kind, **options)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("PNG", "PNG"),
        ("JPEG", "JPEG"),
        ("TIFF", "TIFF"),
        ("WEBP", "WebP"),
        ("GIF", "GIF"),
        ("BMP", "BMP"),
        ("PDF", "PDF"),
        ("EPS", "PostScript"),
        ("ICO", "icon"),
        ("PPM", "other picture"),
        ("DDS", "other picture"),
        ("JPEG2000", "JPEG 2000"),
    ],
)
def test_what_pillow_writes(kind, name):
    if kind == "JPEG2000" and not features.check("jpg_2000"):
        pytest.skip("this Pillow was built without JPEG 2000")
    assert sniff(saved(kind)[:4096]) == name


def zipped(name):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(name, "<x/>")
    return buffer.getvalue()


def tarred():
    buffer = io.BytesIO()
    with tarfile.open(fileobj=buffer, mode="w") as archive:
        archive.addfile(tarfile.TarInfo("art.png"))
    return buffer.getvalue()


def directory(*fields):
    """The head of a little-endian TIFF with these fields: tag, type, value."""
    entries = b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in fields)
    return b"II*\x00" + struct.pack("<IH", 8, len(fields)) + entries + bytes(4)


def media(*brands):
    body = b"ftyp" + brands[0] + bytes(4) + b"".join(brands)
    return (len(body) + 4).to_bytes(4, "big") + body


@pytest.mark.parametrize(
    ("head", "name"),
    [
        (b"II+\x00\x08\x00\x00\x00" + bytes(8), "TIFF"),
        (b"MM\x00*\x00\x00\x00\x08", "TIFF"),
        (b"II*\x00\x10\x00\x00\x00CR\x02\x00", "camera raw"),
        (media(b"crx ", b"isom"), "camera raw"),
        (media(b"heic", b"mif1"), "HEIC"),
        (media(b"mif1", b"heic"), "HEIC"),
        (media(b"mif1", b"avif"), "AVIF"),
        (media(b"avif", b"mif1"), "AVIF"),
        (media(b"isom", b"mp42"), "video"),
        (media(b"qt  "), "video"),
        (b"RIFF\x00\x00\x00\x00AVI LIST", "video"),
        (b"RIFF\x00\x00\x00\x00WAVEfmt ", None),
        (b"8BPS\x00\x01" + bytes(20), "PSD"),
        (b"8BPS\x00\x02" + bytes(20), "PSD"),
        (b"\xc5\xd0\xd3\xc6" + bytes(28), "PostScript"),
        (b"some junk before\n%PDF-1.4\n", "PDF"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "SVG"),
        ("\ufeff<?xml version='1.0'?>\n<!-- art -->\n<SVG width='1'/>".encode(), "SVG"),
        ("<?xml version='1.0'?><svg/>".encode("utf-16"), "SVG"),
        (b"<html><body><svg/></body></html>", "web page"),
        (b"<!doctype HTML>\n<p>", "web page"),
        (b"just words", "text"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(8), "office document"),
        (b"{\\rtf1\\ansi", "office document"),
        (zipped("[Content_Types].xml"), "office document"),
        (zipped("art/logo.png"), "archive"),
        (gzip.compress(b"<svg/>"), "SVG"),
        (gzip.compress(b"<svg/>" + bytes(99)), "archive"),
        (gzip.compress(b"<svg/>")[:12], "archive"),
        (gzip.compress(b"one, two"), "archive"),
        (b"BZh91AY&SY", "archive"),
        (b"\xfd7zXZ\x00\x00", "archive"),
        (zipped("document.json"), "working file"),
        (b"RIFF\x00\x00\x00\x00CDRAvrsn", "working file"),
        (b"\x00\xffKA\x0b\x00", "working file"),
        (b"\x00\x05\x16\x07\x00\x02\x00\x00", "side file"),
        (b"\x00\x01\x00\x00\x00\x0f\x00\x80", "font"),
        (b"OTTO\x00\x0b", "font"),
        (b"\x00\x00\x00\x08moov", "video"),
        (b"FLV\x01\x05", "video"),
        (directory((50706, 1, 0x01040000)), "camera raw"),
        (directory((254, 4, 1), (330, 4, 4000)), "camera raw"),
        (directory((254, 4, 0), (330, 4, 4000)), "TIFF"),  # a pyramid: the large picture comes first
        (directory((256, 3, 20), (257, 3, 10)), "TIFF"),
        (tarred(), "archive"),
        (b"7z\xbc\xaf\x27\x1c", "archive"),
        (b"BMW is what it starts with, and it goes on as text", "text"),
        (b"\x00\x01\x02\x03", None),
        (b"\x89PNG\n\x1a\n", None),  # a PNG that went through a text transfer
        (b"", None),
    ],
)
def test_signatures(head, name):
    assert sniff(head) == name
    assert name is None or name in FORMATS


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("size", range(1, 12))
def test_a_piece_of_a_signature_is_never_another_picture(name, size):
    kind = {"WebP": "WEBP"}.get(name, name)
    assert sniff(saved(kind)[:size]) in (None, name, "text")


def test_what_is_not_opened_says_what_to_send():
    assert {name for name, one in FORMATS.items() if one.instead is None} == set(OPENERS)
    assert set(PICTURES) <= set(OPENERS)
    for one in FORMATS.values():
        assert all(ending == ending.lower() and ending.startswith(".") for ending in one.endings)
        assert one.instead is None or (one.instead.endswith(".") and one.instead[0].isupper())
        assert one.what.split()[0] in ("a", "an")


@pytest.mark.parametrize(
    ("name", "content", "differs"),
    [
        ("logo.png", "PNG", False),
        ("LOGO.PNG", "PNG", False),
        ("logo.jpeg", "JPEG", False),
        ("logo.jpe", "JPEG", False),
        ("logo.JPG", "JPEG", False),
        ("logo.tif", "TIFF", False),
        ("logo.tiff", "TIFF", False),
        ("logo.ai", "PDF", False),
        ("logo.ai", "PostScript", False),
        ("logo.png", "JPEG", True),
        ("logo.jpg", "PNG", True),
        ("logo.pdf", "PNG", True),
        ("logo", "PNG", False),
        ("logo.final", "PNG", False),
        ("logo.v2", "PNG", False),
        (".png", "JPEG", False),
        ("logo.jpg.png", "PNG", False),
    ],
)
def test_endings(name, content, differs):
    other = ending_of_another(name, content)
    assert (other is not None) == differs
    assert other is None or name.endswith(FORMATS[other].endings)

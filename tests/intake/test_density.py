"""The stated density, tag by tag, and where it counts as unknown."""

import io
import struct

import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from preflight.intake.density import Stated, choose

PLAIN = Image.new("RGB", (30, 20), (9, 9, 9))
CENTIMETRE = 2.54


def exif(x, y, unit=2):
    tags = Image.Exif()
    if x is not None:
        tags[0x011A] = x
    if y is not None:
        tags[0x011B] = y
    if unit is not None:
        tags[0x0128] = unit
    return tags


def density(whole):
    return whole.facts.density_ppi, whole.facts.density_from


@pytest.mark.parametrize(
    ("chunk", "expected"),
    [
        ((11811, 11811, 1), (299.9994, 299.9994)),  # ISO/IEC 15948, 11.3.5.3: per metre; 11811 is 300 ppi, rounded
        ((11811, 5906, 1), (299.9994, 150.0124)),
        ((300, 300, 0), None),  # unit 0: a ratio only
        ((0, 0, 1), None),
    ],
)
def test_png(chunk, expected, png, colours, save, read):
    data = png(colours, 6, 8, ((b"pHYs", struct.pack(">IIB", *chunk)),))
    ppi, source = density(read(save(data, "art.png")))
    assert ppi == (None if expected is None else pytest.approx(expected, abs=1e-4))
    assert source == (None if expected is None else "pHYs")


def test_no_tag_is_unknown(save, read):
    for name, options in (("a.png", {}), ("a.jpg", {}), ("a.tif", {}), ("a.webp", {}), ("a.gif", {})):
        assert density(read(save(PLAIN, name, **options))) == (None, None), name


def jpeg(jfif, tags=None):
    """JFIF 1.02: unit, x and y in the APP0 segment."""
    buffer = io.BytesIO()
    PLAIN.save(buffer, "JPEG", **({"exif": tags} if tags else {}))
    data = bytearray(buffer.getvalue())
    place = data.index(b"JFIF\x00") + 7
    data[place : place + 5] = struct.pack(">BHH", *jfif)
    return bytes(data)


@pytest.mark.parametrize(
    ("jfif", "tags", "expected", "source"),
    [
        ((1, 300, 150), None, (300, 150), "JFIF"),  # per inch
        ((2, 118, 59), None, (118 * CENTIMETRE, 59 * CENTIMETRE), "JFIF"),  # per centimetre
        ((0, 1, 1), None, None, None),  # a ratio only
        ((0, 300, 300), None, None, None),
        ((1, 0, 0), None, None, None),
        ((1, 72, 72), None, (72, 72), "JFIF"),  # said on purpose or not: it is only ever asked about
        ((0, 1, 1), exif(300, 300), (300, 300), "EXIF"),
        ((0, 1, 1), exif(72, 72), None, None),  # EXIF 2.32: what stands there when nobody knows
        ((0, 1, 1), exif(72, 72, 3), (72 * CENTIMETRE, 72 * CENTIMETRE), "EXIF"),
        ((0, 1, 1), exif(118, 118, 3), (118 * CENTIMETRE, 118 * CENTIMETRE), "EXIF"),
        ((0, 1, 1), exif(240, 240, None), (240, 240), "EXIF"),  # the unit's default is the inch
        ((0, 1, 1), exif(240, None), None, None),
        ((1, 300, 300), exif(72, 72), (300, 300), "JFIF"),
    ],
)
def test_jpeg(jfif, tags, expected, source, save, read):
    ppi, found = density(read(save(jpeg(jfif, tags), "art.jpg")))
    assert ppi == (None if expected is None else pytest.approx(expected))
    assert found == source


@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        ({282: IFDRational(300), 283: IFDRational(150), 296: 2}, (300, 150)),
        ({282: IFDRational(300), 283: IFDRational(300)}, (300, 300)),  # TIFF 6.0, p. 38: 2, the inch, is the default
        ({282: IFDRational(118), 283: IFDRational(118), 296: 3}, (118 * CENTIMETRE, 118 * CENTIMETRE)),
        ({282: IFDRational(300), 283: IFDRational(300), 296: 1}, None),  # 1: no unit
        ({282: IFDRational(300)}, None),
        ({282: IFDRational(0), 283: IFDRational(0), 296: 2}, None),
        ({282: IFDRational(300, 0), 283: IFDRational(300, 0), 296: 2}, None),
        ({}, None),  # a common library reports 1 by 1 here
    ],
)
def test_tiff(tags, expected, save, read):
    ppi, source = density(read(save(PLAIN, "art.tif", tiffinfo=tags)))
    assert ppi == (None if expected is None else pytest.approx(expected))
    assert source == (None if expected is None else "TIFF")


@pytest.mark.parametrize(("per_metre", "expected"), [(11811, 299.9994), (0, None), (-5, None)])
def test_bmp(per_metre, expected, save, read):
    buffer = io.BytesIO()
    PLAIN.save(buffer, "BMP")
    data = bytearray(buffer.getvalue())
    data[38:46] = struct.pack("<ii", per_metre, per_metre)
    ppi, source = density(read(save(bytes(data), "art.bmp")))
    assert ppi == (None if expected is None else pytest.approx((expected, expected), abs=1e-4))
    assert source == (None if expected is None else "BMP")


@pytest.mark.parametrize(("tags", "expected"), [(exif(300, 200), (300, 200)), (exif(72, 72), None)])
def test_webp_and_png_by_exif(tags, expected, save, read):
    for name in ("art.webp", "art.png"):
        ppi, source = density(read(save(PLAIN, name, exif=tags)))
        assert ppi == expected
        assert source == (None if expected is None else "EXIF")


@pytest.mark.parametrize("ppi", [0.5, 20_000])
def test_what_no_print_has_is_unknown_and_said(ppi, save, read):
    whole = read(save(PLAIN, "art.tif", tiffinfo={282: IFDRational(ppi), 283: IFDRational(ppi), 296: 2}))
    assert density(whole) == (None, None)
    assert [note for note in whole.facts.notes if f"{ppi:g}" in note and "unknown" in note]


def test_the_next_tag_steps_in_for_an_absurd_one():
    absurd, sound = Stated(0.1, 0.1, "pHYs"), Stated(300, 200, "EXIF")
    assert choose((absurd, sound), turned=False) == ((300, 200), "EXIF", None)
    assert choose((absurd, sound), turned=True) == ((200, 300), "EXIF", None)


def test_a_damaged_exif_block_is_no_fault_of_the_picture(save, read):
    tags = exif(300, 300).tobytes()
    whole = read(save(PLAIN, "art.webp", exif=tags[: len(tags) // 2]))
    assert density(whole) == (None, None)

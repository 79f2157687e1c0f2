"""EXIF 2.32, tag 0x0112: all eight ways, against Pillow's own turning."""

import io

import numpy as np
import pytest
from PIL import Image, ImageOps

EIGHT = range(1, 9)


def turned_file(picture, kind, orientation, **options):
    tags = Image.Exif()
    tags[0x0112] = orientation
    tags[0x011A], tags[0x011B], tags[0x0128] = 300.0, 150.0, 2
    buffer = io.BytesIO()
    if kind == "TIFF":
        picture.save(buffer, kind, tiffinfo=tags, **options)
    else:
        picture.save(buffer, kind, exif=tags, **options)
    return buffer.getvalue()


@pytest.mark.parametrize("orientation", EIGHT)
@pytest.mark.parametrize(
    ("kind", "options", "tolerance"),
    [("JPEG", {"quality": 95}, 2), ("PNG", {}, 0), ("TIFF", {}, 0), ("WebP", {"lossless": True}, 0)],
)
def test_all_eight(kind, options, tolerance, orientation, save, read):
    y, x = np.mgrid[0:600, 0:331]
    picture = Image.fromarray(
        np.stack([x * 255 // 330, y * 255 // 599, (x // 40 + y // 40) % 2 * 200], -1).astype(np.uint8)
    )
    data = turned_file(picture, kind, orientation, **options)
    whole = read(save(data, "art." + kind.lower()))
    expected = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGBA"))
    assert whole.rgba.shape == expected.shape
    assert np.abs(whole.rgba.astype(int) - expected).max() <= tolerance
    side = orientation >= 5
    assert (whole.facts.width, whole.facts.height) == ((600, 331) if side else (331, 600))
    assert whole.facts.density_ppi == ((150, 300) if side else (300, 150))
    assert any("orientation tag" in note for note in whole.facts.notes) == (orientation != 1)


def test_inks_are_turned_too(save, read):
    inks = np.zeros((40, 30, 4), np.uint8)
    inks[:10, :, 0] = 255
    whole = read(save(turned_file(Image.fromarray(inks, "CMYK"), "TIFF", 6), "art.tif"))
    np.testing.assert_array_equal(whole.inks, np.rot90(inks, -1))


@pytest.mark.parametrize("odd", [0, 9, 77])
def test_an_odd_value_is_no_orientation(odd, save, read):
    picture = Image.new("RGB", (30, 20))
    facts = read(save(turned_file(picture, "PNG", odd), "art.png")).facts
    assert (facts.width, facts.height) == (30, 20)

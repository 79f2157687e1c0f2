"""WebP, GIF and BMP: decoded whole, handed on in strips."""

import struct

import numpy as np
import pytest
from PIL import Image

from preflight.errors import IntakeError


@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
@pytest.mark.parametrize("lossless", [True, False])
def test_webp(mode, lossless, colours, save, read):
    path = save(Image.fromarray(colours).convert(mode), "art.webp", lossless=lossless, exact=True)
    whole = read(path)
    with Image.open(path) as picture:
        np.testing.assert_array_equal(whole.rgba, np.asarray(picture.convert("RGBA")))
    if lossless and mode == "RGBA":
        np.testing.assert_array_equal(whole.rgba, colours)
    assert whole.facts.format == "WebP"
    assert whole.facts.has_alpha == (mode == "RGBA")


def test_moving_webp_gives_its_first_picture(colours, save, read):
    first = Image.fromarray(colours)
    whole = read(save(first, "art.webp", save_all=True, append_images=[first.rotate(180)], lossless=True, exact=True))
    np.testing.assert_array_equal(whole.rgba[..., 3], colours[..., 3])
    assert whole.facts.frames == 2
    assert "The file holds 2 frames; only the first is checked." in whole.facts.notes


def test_gif(colours, save, read):
    picture = Image.fromarray(colours).convert("RGB").quantize(64)
    whole = read(save(picture, "art.gif"))
    np.testing.assert_array_equal(whole.rgba, np.asarray(picture.convert("RGBA")))
    assert (whole.facts.format, whole.facts.frames, whole.facts.has_alpha) == ("GIF", 1, False)
    assert not [note for note in whole.facts.notes if "frames" in note]


def test_gif_with_a_transparent_colour(save, read):
    picture = Image.new("P", (20, 10), 1)
    picture.putpalette([0, 0, 0, 255, 0, 0])
    picture.paste(0, (5, 2, 9, 7))
    whole = read(save(picture, "art.gif", transparency=0))
    expected = np.full((10, 20), 255)
    expected[2:7, 5:9] = 0
    np.testing.assert_array_equal(whole.rgba[..., 3], expected)
    assert whole.facts.has_alpha


def test_moving_gif_gives_its_first_picture_and_says_so(colours, save, read):
    pictures = [Image.fromarray(np.roll(colours, 9 * turn, 0)).convert("RGB").quantize(64) for turn in range(3)]
    whole = read(save(pictures[0], "art.gif", save_all=True, append_images=pictures[1:]))
    np.testing.assert_array_equal(whole.rgba, np.asarray(pictures[0].convert("RGBA")))
    assert whole.facts.frames == 3
    assert "The file holds 3 frames; only the first is checked." in whole.facts.notes


@pytest.mark.parametrize("mode", ["RGB", "L", "P", "1"])
def test_bmp(mode, colours, save, read):
    picture = Image.fromarray(colours)
    picture = picture.convert("RGB").quantize(32) if mode == "P" else picture.convert(mode)
    whole = read(save(picture, "art.bmp"))
    np.testing.assert_array_equal(whole.rgba, np.asarray(picture.convert("RGBA")))
    assert (whole.facts.format, whole.facts.has_alpha) == ("BMP", False)


def test_the_fourth_byte_of_a_plain_bmp_is_reserved(colours, save, read):
    """Only masks make it transparency; without them viewers ignore it, whoever wrote something there."""
    whole = read(save(Image.fromarray(colours), "art.bmp"))
    np.testing.assert_array_equal(whole.rgba[..., :3], colours[..., :3])
    assert not whole.facts.has_alpha


def bmp32(samples, *, alpha_mask, header=108):
    """32 bits with masks, from the top down (a negative height)."""
    height, width = samples.shape[:2]
    head = struct.pack("<IiiHHIIiiII", header, width, -height, 1, 32, 3, 0, 0, 0, 0, 0)
    head += struct.pack("<IIII", 0xFF0000, 0xFF00, 0xFF, alpha_mask)
    head = head.ljust(header, b"\x00")
    return b"BM" + struct.pack("<IHHI", 0, 0, 0, 14 + len(head)) + head + samples[..., (2, 1, 0, 3)].tobytes()


def test_bmp_with_and_without_a_mask_for_transparency(colours, save, read):
    whole = read(save(bmp32(colours, alpha_mask=0xFF000000), "art.bmp"))
    np.testing.assert_array_equal(whole.rgba, colours)
    assert whole.facts.has_alpha
    opaque = read(save(bmp32(colours, alpha_mask=0), "flat.bmp"))
    np.testing.assert_array_equal(opaque.rgba[..., :3], colours[..., :3])
    assert not opaque.facts.has_alpha


@pytest.mark.filterwarnings("error")
def test_a_bmp_beyond_pillows_own_limit(save, read, monkeypatch):
    """Its warning starts at 89 megapixels and its refusal at 179: honest sheets are that large."""
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 100)
    assert (read(save(Image.new("RGB", (40, 30), (1, 2, 3)), "art.bmp")).rgba == (1, 2, 3, 255)).all()


@pytest.mark.parametrize("bits", [0, 7, 64])
def test_a_bmp_with_odd_depth_is_refused(bits, colours, save, read):
    data = bytearray(bmp32(colours, alpha_mask=0))
    data[28:30] = struct.pack("<H", bits)
    with pytest.raises(IntakeError, match="unusual kind of BMP"):
        read(save(bytes(data), "art.bmp"))

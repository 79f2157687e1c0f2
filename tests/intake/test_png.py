"""PNG: every colour type, depth and kind of transparency of ISO/IEC 15948, against the samples that were written."""

import io
import struct

import numpy as np
import pytest
from PIL import Image

from preflight.intake.vips import pyvips


def rounded(values):
    """16 bits to 8, v × 255 ÷ 65535 to the nearest, in exact whole numbers."""
    return ((values.astype(np.int64) * 255 * 2 + 65535) // (2 * 65535)).astype(np.uint8)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "LA", "P", "1"])
def test_what_pillow_writes(mode, colours, save, read):
    picture = Image.fromarray(colours)
    picture = picture.convert("RGB").quantize(16) if mode == "P" else picture.convert(mode)
    whole = read(save(picture, "art.png"))
    np.testing.assert_array_equal(whole.rgba, np.asarray(picture.convert("RGBA")))
    assert whole.facts.format == "PNG"
    assert whole.facts.colour == ("grey" if mode in ("L", "LA", "1") else "rgb")
    assert whole.facts.has_alpha == mode.endswith("A")
    assert whole.facts.bits == (1 if mode == "1" else 8)


def test_colour_under_full_transparency_is_kept(save, read):
    hidden = np.zeros((4, 4, 4), np.uint8)
    hidden[..., :3] = (200, 30, 90)
    np.testing.assert_array_equal(read(save(Image.fromarray(hidden), "art.png")).rgba, hidden)


@pytest.mark.parametrize(("colour_type", "channels"), [(0, 1), (2, 3), (4, 2), (6, 4)])
def test_sixteen_bits_are_rounded(colour_type, channels, png, save, read):
    values = np.arange(65536, dtype=np.uint16).reshape(256, 256)
    samples = np.stack([np.roll(values, 999 * channel) for channel in range(channels)], axis=-1)
    whole = read(save(png(samples, colour_type, 16), "art.png"))
    eight = rounded(samples)
    np.testing.assert_array_equal(
        whole.rgba[..., :3], eight[..., : (3 if channels > 2 else 1)].repeat(3 if channels < 3 else 1, -1)
    )
    if channels in (2, 4):
        np.testing.assert_array_equal(whole.rgba[..., 3], eight[..., -1])
    assert whole.facts.bits == 16


@pytest.mark.parametrize("bits", [1, 2, 4])
def test_few_bits_of_grey_spread_over_the_whole_scale(bits, png, save, read):
    samples = (np.arange(64).reshape(8, 8, 1) % 2**bits).astype(np.uint8)
    whole = read(save(png(samples, 0, bits), "art.png"))
    np.testing.assert_array_equal(whole.rgba[..., 0], samples[..., 0] * (255 // (2**bits - 1)))
    assert whole.facts.bits == bits


@pytest.mark.parametrize(("bits", "clear"), [(1, 1), (2, 2), (4, 9), (8, 77), (16, 40000)])
def test_transparent_grey(bits, clear, png, save, read):
    """tRNS names one grey, in the file's own depth (a common library compares it with the spread value)."""
    samples = np.arange(256, dtype=np.uint16).reshape(16, 16, 1) % 2 ** min(bits, 8)
    samples[3, 3] = clear
    whole = read(save(png(samples, 0, bits, ((b"tRNS", struct.pack(">H", clear)),)), "art.png"))
    np.testing.assert_array_equal(whole.rgba[..., 3] == 0, samples[..., 0] == clear)
    assert whole.facts.has_alpha


@pytest.mark.parametrize("bits", [8, 16])
def test_transparent_colour(bits, png, save, read):
    samples = np.arange(192, dtype=np.uint16).reshape(8, 8, 3)
    clear = samples[2, 5]
    whole = read(save(png(samples, 2, bits, ((b"tRNS", struct.pack(">HHH", *clear)),)), "art.png"))
    expected = np.full((8, 8), 255)
    expected[2, 5] = 0
    np.testing.assert_array_equal(whole.rgba[..., 3], expected)


def test_transparent_palette(png, save, read):
    palette = bytes(range(12))
    samples = np.array([[[0], [1]], [[2], [3]]])
    whole = read(save(png(samples, 3, 2, ((b"PLTE", palette), (b"tRNS", bytes((0, 130))))), "art.png"))
    assert whole.rgba.tolist() == [[[0, 1, 2, 0], [3, 4, 5, 130]], [[6, 7, 8, 255], [9, 10, 11, 255]]]
    assert whole.facts.colour == "rgb"
    assert whole.facts.bits == 8
    assert whole.facts.has_alpha


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_interlaced_is_the_same_picture(channels, colours, tmp_path, read):
    data = np.ascontiguousarray(colours[..., :channels])
    image = pyvips.Image.new_from_memory(data.tobytes(), data.shape[1], data.shape[0], channels, "uchar")
    image = image.copy(interpretation="b-w" if channels < 3 else "srgb")
    plain, laced = tmp_path / "plain.png", tmp_path / "laced.png"
    image.pngsave(str(plain))
    image.pngsave(str(laced), interlace=True)
    assert not read(plain).facts.interlaced
    assert read(laced).facts.interlaced
    np.testing.assert_array_equal(read(laced).rgba, read(plain).rgba)


def test_animation_gives_its_first_picture_and_says_so(colours, save, read):
    first = Image.fromarray(colours)
    path = save(first, "moving.png", save_all=True, append_images=[first.rotate(180)])
    whole = read(path)
    np.testing.assert_array_equal(whole.rgba, colours)
    assert whole.facts.frames == 2
    assert "The file holds 2 frames; only the first is checked." in whole.facts.notes


def test_a_file_that_names_srgb_needs_no_assumption(png, save, read, colours):
    plain = read(save(png(colours, 6), "plain.png"))
    named = read(save(png(colours, 6, 8, ((b"sRGB", b"\x00"),)), "named.png"))
    assert plain.facts.notes == ("The file has no colour profile; sRGB is assumed.",)
    assert named.facts.notes == ()


def test_wide_colours_that_are_not_read_are_said(png, save, read, colours):
    wide = read(save(png(colours, 6, 8, ((b"cICP", bytes((12, 13, 0, 1))),)), "wide.png"))
    assert [note for note in wide.facts.notes if "cICP" in note]
    same = read(save(png(colours, 6, 8, ((b"cICP", bytes((1, 13, 0, 1))),)), "same.png"))
    assert same.facts.notes == ()


def test_profile_that_does_not_unpack_is_set_aside(png, save, read, colours):
    whole = read(save(png(colours, 6, 8, ((b"iCCP", b"x\x00\x00" + b"no zlib here"),)), "art.png"))
    assert whole.facts.icc is None
    assert whole.facts.notes == ("The file's colour profile cannot be read; sRGB is assumed.",)


def test_buffered_files_read_like_saved_ones(colours, save, read):
    """The same picture in many small chunks of data."""
    buffer = io.BytesIO()
    Image.fromarray(colours).save(buffer, "PNG")
    data = buffer.getvalue()
    start = data.index(b"IDAT") - 4
    (length,) = struct.unpack(">I", data[start : start + 4])
    body = data[start + 8 : start + 8 + length]
    import zlib

    pieces = b"".join(
        struct.pack(">I", len(part)) + b"IDAT" + part + struct.pack(">I", zlib.crc32(b"IDAT" + part))
        for part in (body[at : at + 50] for at in range(0, len(body), 50))
    )
    whole = read(save(data[:start] + pieces + data[start + 12 + length :], "art.png"))
    np.testing.assert_array_equal(whole.rgba, colours)

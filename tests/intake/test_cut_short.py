"""A file cut anywhere is never half an answer called whole; a file with something behind it is whole."""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from preflight.errors import IntakeError
from preflight.intake import open_artwork

#: Up to here a piece of a file may not even tell what it was.
SIGNATURE = 16


def art(mode="RGBA"):
    y, x = np.mgrid[0:70, 0:90]
    noise = np.random.default_rng(3).integers(0, 60, (70, 90))
    samples = np.stack([x * 2, y * 3, noise, np.where(x > 40, 255, 90)], -1).astype(np.uint8)
    return Image.fromarray(samples).convert(mode)


def saved(mode, kind, **options):
    buffer = io.BytesIO()
    picture = art("RGB").quantize(64) if mode == "P" else art(mode)
    picture.save(buffer, kind, **options)
    return buffer.getvalue()


FILES = {
    "png": saved("RGBA", "PNG"),
    "png-palette": saved("P", "PNG"),
    "jpeg": saved("RGB", "JPEG"),
    "jpeg-progressive": saved("RGB", "JPEG", progressive=True),
    "jpeg-cmyk": saved("CMYK", "JPEG"),
    "tiff": saved("RGBA", "TIFF"),
    "tiff-lzw": saved("RGBA", "TIFF", compression="tiff_lzw"),
    "tiff-deflate": saved("RGBA", "TIFF", compression="tiff_adobe_deflate"),
    "tiff-packbits": saved("CMYK", "TIFF", compression="packbits"),
    "tiff-jpeg": saved("RGB", "TIFF", compression="jpeg"),
    "tiff-fax": saved("1", "TIFF", compression="group4"),
    "webp": saved("RGBA", "WEBP"),
    "webp-lossless": saved("RGBA", "WEBP", lossless=True),
    "webp-moving": saved("RGBA", "WEBP", save_all=True, append_images=[art().rotate(90)]),
    "gif": saved("P", "GIF"),
    "gif-moving": saved("P", "GIF", save_all=True, append_images=[art("RGB").rotate(90).quantize(64)]),
    "bmp": saved("RGB", "BMP"),
    "bmp-palette": saved("P", "BMP"),
}
FOUR = ("png", "jpeg", "tiff", "bmp")


@pytest.mark.parametrize("name", FILES)
def test_cut_anywhere(name, save, read):
    data = FILES[name]
    size = len(data)
    places = {*range(1, 80), *range(80, size - 60, max(1, size // 60)), *range(size - 60, size)}
    for place in sorted(places):
        with pytest.raises(IntakeError) as caught:
            read(save(data[:place], "art"))
        assert caught.value.rule == "cut-short" or place < SIGNATURE, place
        assert caught.value.file is not None
        assert caught.value.file.endswith("art")


@pytest.mark.parametrize("name", FILES)
def test_whole_with_something_behind_it(name, save, read):
    plain = read(save(FILES[name], "plain"))
    longer = read(save(FILES[name] + b"\x00\xff\xd9 more of it" * 50, "longer"))
    np.testing.assert_array_equal(longer.rgba, plain.rgba)


@pytest.mark.parametrize("name", FOUR)
def test_the_cut_is_found_before_anything_is_decoded(name, save):
    """The end is looked at when the file is opened, so that no time goes into half a picture."""
    path = save(FILES[name][:-1], "art")
    with pytest.raises(IntakeError) as caught:
        open_artwork(path, pixel_limit=10**6)
    assert caught.value.what == "the file ends before the picture does"
    assert "again" in caught.value.next_step


def test_rows_that_lack_inside_whole_chunks(save, read):
    """All chunks are there, but the packed rows in them end early."""
    head = struct.pack(">IIBBBBB", 40, 300, 8, 0, 0, 0, 0)
    rows = (b"\x00" + bytes(40)) * 290
    body = b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in ((b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b""))
    )
    artwork = open_artwork(save(b"\x89PNG\r\n\x1a\n" + body, "art.png"), pixel_limit=10**6)
    with pytest.raises(IntakeError):
        list(artwork.strips())


def test_damage_is_met_on_the_way_and_named(save):
    """What came before is then no answer; the sentence says where it went wrong."""
    tall = Image.fromarray(np.random.default_rng(1).integers(0, 256, (900, 60, 3), dtype=np.uint8))
    buffer = io.BytesIO()
    tall.save(buffer, "PNG")
    data = bytearray(buffer.getvalue())
    data[len(data) * 3 // 4] ^= 0x55
    artwork = open_artwork(save(bytes(data), "art.png"), pixel_limit=10**6)
    with pytest.raises(IntakeError, match=r"art\.png: its PNG data are damaged near row \d+ of 900") as caught:
        list(artwork.strips())
    assert caught.value.rule == "unreadable-file"


def outcome(path, read):
    """The rule that a file is refused by, or None for a picture."""
    try:
        read(path)
    except IntakeError as error:
        return error.rule
    return None


@pytest.mark.parametrize("name", FILES)
def test_any_damage_is_answered_in_a_sentence(name, save, read):
    """Whatever is flipped: a picture of the size that the facts tell, or an IntakeError; nothing else comes out."""
    rng = np.random.default_rng([*name.encode()])
    for turn in range(40):
        data = bytearray(FILES[name])
        reach = len(data) if turn % 2 else min(400, len(data))
        for place in rng.integers(0, reach, rng.integers(1, 6)):
            data[place] = rng.integers(0, 256)
        assert outcome(save(bytes(data), "art"), read) in (None, "cut-short", "unreadable-file")

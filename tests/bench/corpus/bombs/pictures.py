"""Pictures that promise more than they hold, or hold more than they seem to: PNG, JPEG, GIF, WebP, BMP."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Iterator

from PIL import Image, features

_WHITE = (255, 255, 255, 255)


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    yield from _png()
    yield from _jpeg()
    yield from _gif()
    yield from _webp()
    yield from _bmp()


def chunk(kind: bytes, data: bytes, *, size: int | None = None, crc: int | None = None) -> bytes:
    """A PNG chunk, its length or sum falsified where given."""
    made = struct.pack(">I", len(data) if size is None else size) + kind + data
    return made + struct.pack(">I", zlib.crc32(kind + data) if crc is None else crc)


def png(
    width: int, height: int, data: bytes, *more: bytes, bits: int = 8, colour: int = 6, interlace: int = 0
) -> bytes:
    """A PNG file; ``data`` is what IDAT holds, ``more`` are whole chunks before it."""
    head = struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, interlace)
    body = b"".join((chunk(b"IHDR", head), *more, chunk(b"IDAT", data), chunk(b"IEND", b"")))
    return b"\x89PNG\r\n\x1a\n" + body


def zeros(count: int) -> bytes:
    """So many zero bytes, deflated."""
    packer = zlib.compressobj(9)
    piece = bytes(1 << 20)
    parts = [packer.compress(piece) for _ in range(count >> 20)]
    return b"".join((*parts, packer.compress(bytes(count & 0xFFFFF)), packer.flush()))


def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
    """A picture as a file."""
    stream = io.BytesIO()
    picture.save(stream, kind, **options)
    return stream.getvalue()


def _png() -> Iterator[tuple[str, bytes]]:
    small = zlib.compress(bytes(8 * 33))
    good = png(8, 8, small)
    million = zeros(64 << 20)
    yield "png-canvas-of-60000.png", png(60_000, 60_000, zlib.compress(b"\0"))
    yield "png-canvas-of-2-31.png", png(2**31 - 1, 2**31 - 1, zlib.compress(b"\0"))
    yield "png-canvas-of-none.png", png(0, 0, small)
    yield "png-wide-and-flat.png", png(2**31 - 1, 1, zlib.compress(b"\0"))
    yield "png-narrow-and-tall.png", png(1, 60_000_000, zeros(300_000_000))
    yield "png-900-megapixels-of-one-bit.png", png(30_000, 30_000, zeros(30_000 * 3_751), bits=1, colour=0)
    yield "png-110-megapixels.png", png(10_500, 10_500, zeros(10_500 * 42_001))
    yield "png-100-megapixels-interlaced.png", png(10_000, 10_000, zeros(401_000_000), interlace=1)
    yield "png-60-megapixels-of-16-bit.png", png(8_000, 7_500, zeros(7_500 * 64_001), bits=16)
    yield "png-more-data-than-pixels.png", png(8, 8, zeros(1 << 30))
    yield "png-text-of-a-gigabyte.png", png(8, 8, small, chunk(b"zTXt", b"Comment\0\0" + zeros(1 << 30)))
    yield "png-text-of-many-chunks.png", png(8, 8, small, *[chunk(b"zTXt", b"a\0\0" + million)] * 40)
    yield "png-international-text.png", png(8, 8, small, chunk(b"iTXt", b"a\0\1\0\0\0" + zeros(1 << 29)))
    yield "png-profile-of-a-gigabyte.png", png(8, 8, small, chunk(b"iCCP", b"x\0\0" + zeros(1 << 30)))
    yield "png-profile-of-nonsense.png", png(8, 8, small, chunk(b"iCCP", b"x\0\0" + zlib.compress(b"acsp" * 900)))
    yield "png-chunks-without-number.png", png(8, 8, small, *[chunk(b"tEXt", b"a\0b")] * 400_000)
    yield "png-data-in-single-bytes.png", png(8, 8, b"", *[chunk(b"IDAT", bytes([byte])) for byte in small])
    yield "png-empty-data-without-number.png", png(8, 8, small, *[chunk(b"IDAT", b"")] * 500_000)
    yield "png-length-beyond-the-end.png", good[:33] + struct.pack(">I", 2**31 - 1) + good[37:]
    yield "png-length-below-zero.png", good[:33] + b"\xff\xff\xff\xff" + good[37:]
    yield "png-wrong-sum.png", png(8, 8, small).replace(chunk(b"IEND", b""), chunk(b"IEND", b"", crc=1))
    yield "png-two-heads.png", good[:33] + good[8:33] + good[33:]
    yield "png-no-palette.png", png(8, 8, zlib.compress(bytes(72)), colour=3)
    yield "png-palette-too-short.png", png(8, 8, zlib.compress(b"\0\xff\xff\xff\xff\xff\xff\xff\xff" * 8),
                                          chunk(b"PLTE", b"\1\2\3"), colour=3)  # fmt: skip
    yield "png-transparency-too-long.png", png(8, 8, zlib.compress(bytes(72)), chunk(b"PLTE", b"\1\2\3"),
                                              chunk(b"tRNS", bytes(9000)), colour=3)  # fmt: skip
    yield "png-unknown-colour-type.png", png(8, 8, small, colour=5)
    yield "png-33-bits.png", png(8, 8, small, bits=33)
    yield "png-unknown-filter.png", png(8, 8, zlib.compress((b"\xff" + bytes(32)) * 8))
    yield "png-density-of-2-32.png", png(8, 8, small, chunk(b"pHYs", struct.pack(">IIB", 2**32 - 1, 1, 1)))
    yield "png-exif-in-a-ring.png", png(8, 8, small, chunk(b"eXIf", _ring_of_directories()))
    frame = chunk(b"fcTL", struct.pack(">IIIIIHHBB", 0, 2**31 - 1, 2**31 - 1, 0, 0, 1, 1, 0, 0))
    yield "png-animation-of-huge-frames.png", png(8, 8, small, chunk(b"acTL", struct.pack(">II", 2**31 - 1, 0)), frame)


def _ring_of_directories() -> bytes:
    """EXIF whose directory names itself as the next and as its own part."""
    entries = [(0x8769, 4, 1, 8), (0x8825, 4, 1, 8), (0x0112, 3, 1, 9), (0x011A, 5, 2**28, 8), (0x927C, 7, 2**31, 4)]
    body = b"".join(struct.pack("<HHII", *entry) for entry in entries)
    return b"II*\0" + struct.pack("<IH", 8, len(entries)) + body + struct.pack("<I", 8)


def _jpeg() -> Iterator[tuple[str, bytes]]:
    grey = Image.effect_noise((64, 64), 60)
    good, stepwise = saved(grey.convert("RGB"), "JPEG"), saved(grey.convert("RGB"), "JPEG", progressive=True)
    start = good.index(b"\xff\xc0")
    yield "jpeg-canvas-of-65500.jpg", good[: start + 5] + struct.pack(">HH", 65_500, 65_500) + good[start + 9 :]
    yield "jpeg-no-height.jpg", good[: start + 5] + struct.pack(">HH", 0, 64) + good[start + 9 :]
    yield "jpeg-sampling-of-4-by-4.jpg", good[: start + 11] + b"\x44" + good[start + 12 :]
    yield "jpeg-sampling-of-none.jpg", good[: start + 11] + b"\x00" + good[start + 12 :]
    yield "jpeg-12-bits.jpg", good[: start + 4] + b"\x0c" + good[start + 5 :]
    scans = [at for at in range(len(stepwise) - 1) if stepwise[at : at + 2] == b"\xff\xda"]
    first, last, end = scans[1], scans[2], stepwise.rindex(b"\xff\xd9")
    large = bytearray(stepwise)
    frame = stepwise.index(b"\xff\xc2")
    large[frame + 5 : frame + 9] = struct.pack(">HH", 9_000, 9_000)
    yield "jpeg-20000-scans.jpg", stepwise[:end] + stepwise[first:last] * 20_000 + stepwise[end:]
    yield "jpeg-2000-scans-of-81-megapixels.jpg", bytes(large[:end]) + bytes(large[first:last]) * 2_000 + b"\xff\xd9"
    yield "jpeg-stepwise-81-megapixels.jpg", bytes(large)
    profile = b"".join(_segment(0xE2, b"ICC_PROFILE\0" + bytes([n, 255]) + b"x" * 65_000) for n in range(1, 256))
    yield "jpeg-profile-of-16-megabytes.jpg", good[:2] + profile + good[2:]
    yield (
        "jpeg-profile-with-parts-missing.jpg",
        good[:2] + _segment(0xE2, b"ICC_PROFILE\0\x05\x09" + b"x" * 99) + good[2:],
    )
    yield "jpeg-exif-in-a-ring.jpg", good[:2] + _segment(0xE1, b"Exif\0\0" + _ring_of_directories()) + good[2:]
    yield "jpeg-comments-without-number.jpg", good[:2] + _segment(0xFE, b"x") * 300_000 + good[2:]
    yield "jpeg-comments-of-100-megabytes.jpg", good[:2] + _segment(0xFE, b"x" * 65_000) * 1_500 + good[2:]
    yield "jpeg-restarts-only.jpg", good[:-2] + b"\xff\xd0" * 500_000 + good[-2:]
    yield "jpeg-fill-bytes-only.jpg", good[:2] + b"\xff" * 5_000_000 + good[2:]
    yield "jpeg-tables-only.jpg", good[:start] + b"\xff\xd9"
    yield "jpeg-no-data.jpg", good[: good.index(b"\xff\xda") + 14] + b"\xff\xd9"
    yield "jpeg-adobe-segment-too-short.jpg", good[:2] + _segment(0xEE, b"Adobe") + good[2:]
    yield (
        "jpeg-preview-in-a-preview.jpg",
        good[:2] + _segment(0xE1, b"Exif\0\0" + b"MM\0*\0\0\0\x08" + good[:9000]) + good[2:],
    )


def _segment(marker: int, data: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(data) + 2) + data


def _gif() -> Iterator[tuple[str, bytes]]:
    good = saved(Image.new("P", (16, 16), 3), "GIF")
    at = good.index(b",")
    frame = good[at : at + 10] + good[at + 10 : -1]
    screen = struct.pack("<HH", 65_535, 65_535)
    yield "gif-canvas-of-65535.gif", good[:6] + screen + good[10:]
    yield "gif-frame-of-65535.gif", good[:6] + screen + good[10 : at + 5] + screen + good[at + 9 :]
    yield "gif-frame-outside-the-canvas.gif", good[: at + 1] + struct.pack("<HH", 60_000, 60_000) + good[at + 5 :]
    yield "gif-100000-frames.gif", good[:-1] + frame * 100_000 + b";"
    yield "gif-comment-without-end.gif", good[:at] + b"!\xfe" + (b"\xff" + b"x" * 255) * 50_000 + good[at:]
    yield "gif-code-size-of-200.gif", good[: at + 10] + b"\xc8" + good[at + 11 :]
    yield "gif-no-palette.gif", good[:10] + b"\x00" + good[11:13] + good[at:]
    yield "gif-blocks-without-data.gif", good[: at + 11] + b"\x01\x00" * 900_000 + b"\x00;"


def _webp() -> Iterator[tuple[str, bytes]]:
    if not features.check("webp"):
        return
    lossless = saved(Image.new("RGBA", (9, 9), _WHITE), "WEBP", lossless=True)
    yield (
        "webp-solid-16383.webp",
        saved(Image.new("RGB", (16_383, 4_000), "red"), "WEBP", lossless=True, method=0, quality=0),
    )
    bits = int.from_bytes(lossless[21:25], "little")
    wide = ((bits >> 28) << 28) | (16_382 << 14) | 16_382
    yield "webp-canvas-of-16383.webp", lossless[:21] + wide.to_bytes(4, "little") + lossless[25:]
    canvas = b"VP8X" + struct.pack("<IB3x", 10, 0x10) + (2**24 - 1).to_bytes(3, "little") * 2
    yield "webp-canvas-of-2-24.webp", _riff(canvas + lossless[12:])
    frame = b"ANMF" + struct.pack("<I", 16 + len(lossless) - 12) + bytes(6) + (8).to_bytes(3, "little") * 2 + bytes(4)
    moving = (
        b"VP8X"
        + struct.pack("<IB3x", 10, 0x12)
        + (8).to_bytes(3, "little") * 2
        + b"ANIM"
        + struct.pack("<IIH", 6, 0, 0)
    )
    yield "webp-50000-frames.webp", _riff(moving + (frame + lossless[12:]) * 50_000)
    yield "webp-chunk-beyond-the-end.webp", _riff(b"VP8X" + struct.pack("<I", 2**32 - 2) + bytes(40))
    yield "webp-length-of-none.webp", b"RIFF\0\0\0\0WEBP" + lossless[12:]
    yield "webp-chunks-without-number.webp", _riff(canvas + b"JUNK\0\0\0\0" * 900_000 + lossless[12:])


def _riff(body: bytes) -> bytes:
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def _bmp() -> Iterator[tuple[str, bytes]]:
    good = saved(Image.new("RGB", (8, 8)), "BMP")

    def changed(at: int, layout: str, *values: int) -> bytes:
        return good[:at] + struct.pack(layout, *values) + good[at + struct.calcsize(layout) :]

    yield "bmp-canvas-of-2-31.bmp", changed(18, "<ii", 2**31 - 1, 2**31 - 1)
    yield "bmp-canvas-of-40000.bmp", changed(18, "<ii", 40_000, 40_000)
    yield "bmp-height-of-minus-2-31.bmp", changed(18, "<ii", 8, -(2**31))
    yield "bmp-width-below-zero.bmp", changed(18, "<ii", -8, 8)
    yield "bmp-data-beyond-the-end.bmp", changed(10, "<I", 2**32 - 1)
    yield "bmp-head-of-none.bmp", changed(14, "<I", 0)
    yield "bmp-palette-of-2-32.bmp", changed(46, "<I", 2**32 - 1)
    yield "bmp-bits-of-77.bmp", changed(28, "<H", 77)
    runs = struct.pack("<IiiHHIIiiII", 40, 20_000, 4_000, 1, 8, 1, 0, 0, 0, 256, 0) + bytes(1024)
    body = runs + b"\xff\x01" * 300_000 + b"\0\1"
    yield "bmp-runs-of-80-megapixels.bmp", b"BM" + struct.pack("<IHHI", len(body) + 14, 0, 0, 14 + 40 + 1024) + body
    jumps = runs + b"\0\2\xff\xff" * 500_000 + b"\0\1"
    yield (
        "bmp-jumps-out-of-the-picture.bmp",
        b"BM" + struct.pack("<IHHI", len(jumps) + 14, 0, 0, 14 + 40 + 1024) + jumps,
    )

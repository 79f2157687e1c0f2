"""Files with directories, boxes and sections that lie: TIFF, HEIF and AVIF, PSD."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator, Sequence

from PIL import Image, features

from .pictures import saved, zeros

#: Tag, type, count, value.
_Entry = tuple[int, int, int, int]
_WIDTH, _HEIGHT, _BITS, _PACKING, _INTENT, _STRIPS, _SAMPLES, _ROWS, _COUNTS = (
    256, 257, 258, 259, 262, 273, 277, 278, 279,
)  # fmt: skip


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    yield from _tiff()
    yield from _heif()
    yield from _psd()


def tiff(entries: Sequence[_Entry], body: bytes = b"", following: int = 0) -> bytes:
    """A little-endian TIFF of one directory at 8, ``body`` behind it; ``following`` is the next directory's place."""
    table = b"".join(
        struct.pack("<HHI", *entry[:3]) + struct.pack("<I", entry[3]) for entry in sorted(entries)
    )  # fmt: skip
    return b"II*\0" + struct.pack("<IH", 8, len(entries)) + table + struct.pack("<I", following) + body


def _grey(width: int, height: int, packing: int = 1, count: int = 0, rows: int | None = None) -> list[_Entry]:
    """Entries of a grey picture in one strip, whose data begin behind the directory (9 entries)."""
    place = 8 + 2 + 9 * 12 + 4
    return [
        (_WIDTH, 4, 1, width), (_HEIGHT, 4, 1, height), (_BITS, 3, 1, 8), (_PACKING, 3, 1, packing),
        (_INTENT, 3, 1, 1), (_STRIPS, 4, 1, place), (_SAMPLES, 3, 1, 1),
        (_ROWS, 4, 1, height if rows is None else rows), (_COUNTS, 4, 1, count),
    ]  # fmt: skip


def _with(entries: Sequence[_Entry], *changed: _Entry) -> list[_Entry]:
    tags = {entry[0] for entry in changed}
    return [entry for entry in entries if entry[0] not in tags] + list(changed)


def _tiff() -> Iterator[tuple[str, bytes]]:
    data = bytes(64)
    small = _grey(8, 8, count=64)
    yield "tiff-next-is-itself.tif", tiff(small, data, following=8)
    two = tiff(small, data, following=122 + 64)
    yield "tiff-ring-of-two.tif", two + tiff(small)[8:-4] + struct.pack("<I", 8)
    yield "tiff-part-is-itself.tif", tiff([*small, (330, 4, 1, 8), (34665, 4, 1, 8)], data)
    chain, place = b"", 8
    for _ in range(20_000):
        place += 2 + 12 + 4
        chain += struct.pack("<HHHIII", 1, _WIDTH, 4, 1, 8, place)
    yield "tiff-20000-directories.tif", b"II*\0" + struct.pack("<I", 8) + chain + tiff(small)[8:]
    yield "tiff-canvas-of-2-32.tif", tiff(_grey(2**32 - 1, 2**32 - 1, count=64), data)
    yield "tiff-canvas-of-none.tif", tiff(_grey(0, 0, count=64), data)
    yield "tiff-strips-that-are-one.tif", _many_strips()
    packed = zeros(100_000_000)
    yield "tiff-deflated-100-megapixels.tif", tiff(_grey(10_000, 10_000, 8, len(packed)), packed)
    yield "tiff-deflated-100-megapixels-in-one-row-strips.tif", tiff(_grey(10_000, 10_000, 8, len(packed), 1), packed)
    yield "tiff-deflated-more-than-pixels.tif", tiff(_grey(8, 8, 8, len(packed)), packed)
    runs = b"\x81\0" * 700_000
    yield "tiff-runs-of-90-megapixels.tif", tiff(_grey(9_000, 10_000, 32773, len(runs)), runs)
    yield "tiff-lzw-of-nonsense.tif", tiff(_grey(3_000, 3_000, 5, 4000), bytes(range(250)) * 16)
    yield (
        "tiff-fax-of-nonsense.tif",
        tiff(_with(_grey(60_000, 1_500, 4, 4000), (_BITS, 3, 1, 1)), bytes(range(250)) * 16),
    )
    yield "tiff-samples-of-65535.tif", tiff(_with(small, (_SAMPLES, 3, 1, 65_535)), data)
    yield "tiff-bits-of-65535.tif", tiff(_with(small, (_BITS, 3, 1, 65_535)), data)
    yield "tiff-strip-beyond-the-end.tif", tiff(_with(small, (_STRIPS, 4, 1, 2**32 - 1)), data)
    yield "tiff-strip-of-2-32-bytes.tif", tiff(_with(small, (_COUNTS, 4, 1, 2**32 - 1)), data)
    yield "tiff-rows-of-none.tif", tiff(_with(small, (_ROWS, 4, 1, 0)), data)
    yield "tiff-count-of-2-32.tif", tiff(_with(small, (_STRIPS, 4, 2**32 - 1, 8)), data)
    yield "tiff-65535-entries.tif", b"II*\0" + struct.pack("<IH", 8, 65_535) + bytes(600)
    yield "tiff-profile-of-2-31.tif", tiff([*small, (34675, 7, 2**31, 8)], data)
    yield "tiff-density-of-none.tif", tiff([*small, (282, 5, 1, 0), (283, 5, 1, 4), (296, 3, 1, 2)], data)
    yield "tiff-big-with-counts-of-2-63.tif", (
        b"II+\0" + struct.pack("<HHQQ", 8, 0, 16, 3)
        + b"".join(struct.pack("<HHQQ", tag, 16, 2**63 - 1, 2**63 - 1) for tag in (256, 257, 273)) + bytes(8)
    )  # fmt: skip
    tiles = [(322, 4, 1, 1), (323, 4, 1, 1), (324, 4, 1, 8), (325, 4, 1, 1)]
    yield "tiff-tiles-of-one-pixel.tif", tiff([*_grey(5_000, 5_000)[:5], *tiles, (_SAMPLES, 3, 1, 1)], data)
    yield "tiff-tiles-of-none.tif", tiff([*_grey(64, 64)[:5], (322, 4, 1, 0), (323, 4, 1, 0), *tiles[2:]], data)
    yield "tiff-old-jpeg.tif", tiff(_with(_grey(8, 8, 6, 64), (513, 4, 1, 8)), data)


def _many_strips() -> bytes:
    """65,000 strips, each of which is the same deflated megapixel."""
    strip = zlib.compress(bytes(1000 * 1000), 9)
    count = 65_000
    start = 122 + len(strip)
    entries = _with(_grey(1_000, count * 1_000, 8, 0, 1_000), (_STRIPS, 4, count, start),
                    (_COUNTS, 4, count, start + 4 * count))  # fmt: skip
    return tiff(entries, strip + struct.pack("<I", 122) * count + struct.pack("<I", len(strip)) * count)


def box(kind: bytes, *parts: bytes) -> bytes:
    """A box of ISO's base media format."""
    body = b"".join(parts)
    return struct.pack(">I", len(body) + 8) + kind + body


def _heif() -> Iterator[tuple[str, bytes]]:
    heic, avif = (box(b"ftyp", brand, bytes(4), b"mif1", brand) for brand in (b"heic", b"avif"))
    nested = b""
    for _ in range(5_000):
        nested = box(b"meta", bytes(4), nested)
    for name, kind in (("heic", heic), ("avif", avif)):
        yield f"{name}-nothing-but-its-name.{name}", kind
        yield f"{name}-boxes-in-boxes.{name}", kind + nested
        yield f"{name}-box-of-none.{name}", kind + bytes(3) + b"\0meta" + bytes(100)
        yield f"{name}-box-of-one-byte.{name}", kind + struct.pack(">I", 1) + b"meta" + bytes(7) + b"\x01" + bytes(99)
        yield f"{name}-box-of-2-64.{name}", kind + struct.pack(">I4sQ", 1, b"meta", 2**64 - 1) + bytes(99)
        yield (
            f"{name}-items-without-number.{name}",
            kind
            + box(
                b"meta", bytes(4), box(b"iinf", bytes(4), b"\xff\xff"), box(b"iloc", b"\1\0\0\0\x44\x40", b"\xff\xff")
            ),
        )
        yield f"{name}-empty-boxes-without-number.{name}", kind + box(b"free") * 900_000
    if not features.check("avif"):
        return
    good = saved(Image.new("RGB", (64, 64), "red"), "AVIF")
    size = struct.pack(">II", 64, 64)
    for side in (0, 20_000, 65_535, 2**32 - 1):
        yield f"avif-canvas-of-{side}.avif", good.replace(size, struct.pack(">II", side, side))
    yield "avif-100-megapixels.avif", saved(Image.new("L", (10_000, 10_000)), "AVIF", speed=10, quality=1)
    yield "avif-data-cut.avif", good[:-20]


def _psd() -> Iterator[tuple[str, bytes]]:
    yield "psd-canvas-of-30000.psd", psd(30_000, 30_000)
    yield "psd-canvas-of-none.psd", psd(0, 0)
    yield "psd-canvas-of-2-32.psd", psd(2**32 - 1, 2**32 - 1)
    yield "psd-canvas-of-300000.psb", psd(300_000, 300_000, version=2)
    yield "psd-56-channels.psd", psd(64, 64, channels=56)
    yield "psd-65535-channels.psd", psd(64, 64, channels=65_535)
    yield "psd-bits-of-7.psd", psd(64, 64, bits=7)
    yield "psd-mode-of-99.psd", psd(64, 64, mode=99)
    for name, sections in {
        "palette": struct.pack(">I", 2**32 - 1), "resources": struct.pack(">II", 0, 2**32 - 1),
        "layers": struct.pack(">III", 0, 0, 2**32 - 1),
    }.items():  # fmt: skip
        yield f"psd-{name}-beyond-the-end.psd", psd(64, 64, sections=sections)
    layers = struct.pack(">Ih", 40, -32_768) + bytes(34)
    yield "psd-32768-layers.psd", psd(64, 64, sections=struct.pack(">III", 0, 0, len(layers)) + layers)
    resource = b"8BIM\x03\xed\0\0" + struct.pack(">I", 2**32 - 2)
    yield "psd-resource-beyond-the-end.psd", psd(64, 64, sections=struct.pack(">II", 0, 12) + resource + bytes(4))
    many = b"8BIM\x03\xed\0\0\0\0\0\0" * 500_000
    yield "psd-resources-without-number.psd", psd(64, 64, sections=struct.pack(">II", 0, len(many)) + many + bytes(4))
    rows = struct.pack(">H", 65_535) * 3 * 9_000
    yield "psd-runs-that-swell.psd", psd(9_000, 9_000, data=b"\0\1" + rows + b"\x81\xff" * 32_000)
    yield "psd-runs-of-none.psd", psd(9_000, 9_000, data=b"\0\1" + bytes(2 * 3 * 9_000))
    yield "psd-deflated-80-megapixels.psd", psd(9_000, 9_000, data=b"\0\2" + zeros(3 * 81_000_000))
    yield "psd-deflated-more-than-pixels.psd", psd(64, 64, data=b"\0\2" + zeros(1 << 30))


def psd(
    width: int, height: int, *, channels: int = 3, bits: int = 8, mode: int = 3, version: int = 1,
    sections: bytes = b"", data: bytes = b"\0\0",
) -> bytes:  # fmt: skip
    """A PSD file; without sections there are three empty ones."""
    head = b"8BPS" + struct.pack(">H6xHIIHH", version, channels, height, width, bits, mode)
    return head + (sections or bytes(16 if version == 2 else 12)) + data

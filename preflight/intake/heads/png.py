"""PNG: the chunks (ISO/IEC 15948; W3C PNG, third edition, for eXIf, acTL and cICP)."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator

from preflight.intake.density import Stated, per_metre
from preflight.intake.head import SAMPLES, Head, Reader, check_size, cut_short, unreadable
from preflight.intake.tags import read_exif

#: Colour type → colour and samples beyond it.
_COLOURS = {0: ("grey", 0), 2: ("rgb", 0), 3: ("rgb", 0), 4: ("grey", 1), 6: ("rgb", 1)}
_PALETTE = 3
#: Chunks that are kept; none of them is large in an honest file.
_KEPT = {b"pHYs", b"iCCP", b"sRGB", b"cICP", b"tRNS", b"eXIf", b"acTL"}
_MOST_KEPT = 32 << 20
#: A profile larger than this unpacked is a trap, not a profile.
_MOST_PROFILE = 16 << 20
_CICP_NOTE = "The file names its colours by a cICP chunk, which this program does not read; sRGB is assumed."
_CICP_SRGB = bytes((1, 13))  # colour primaries and transfer function of sRGB (ITU-T H.273)


def read(reader: Reader) -> Head:
    """Walk all chunks to the last one, so that a cut file is found without decoding it.

    Raises
    ------
    IntakeError
        ``cut-short`` when IEND is missing; ``unreadable-file`` when the chunks do not hold together.
    """
    kept: dict[bytes, bytes] = {}
    for kind, offset, length in _chunks(reader):
        if kind in _KEPT and kind not in kept and length <= _MOST_KEPT:
            kept[kind] = reader.at(offset, length)
    width, height, bits, colour_type, *_, interlace = struct.unpack(">IIBBBBB", reader.at(16, 13))
    check_size(width, height)
    if colour_type not in _COLOURS:
        raise unreadable(f"its PNG head names an unknown colour type ({colour_type})")
    colour, extras = _COLOURS[colour_type]
    if not extras and kept.get(b"tRNS"):
        extras = 1
    orientation, exif = read_exif(kept.get(b"eXIf", b""))
    samples = SAMPLES[colour] + extras
    odd_colours = b"cICP" in kept and kept[b"cICP"][:2] != _CICP_SRGB
    return Head(
        "PNG",
        width,
        height,
        colour,
        bits=8 if colour_type == _PALETTE else bits,
        extras=extras,
        alpha=0 if extras else None,
        orientation=orientation,
        stated=tuple(one for one in (_density(kept.get(b"pHYs", b"")), exif) if one),
        icc=None if odd_colours else _profile(kept.get(b"iCCP")),
        says_srgb=b"sRGB" in kept or b"cICP" in kept,
        frames=_frames(kept.get(b"acTL", b"")),
        interlaced=interlace != 0,
        held=samples * (2 if bits == 16 else 1) if interlace else 0.0,
        notes=(_CICP_NOTE,) if odd_colours else (),
    )


def _chunks(reader: Reader) -> Iterator[tuple[bytes, int, int]]:
    """Type, place and length of each chunk but the picture's own, to IEND. What comes after it does not matter."""
    at, unpack, last = reader.at, struct.Struct(">I4s").unpack, reader.size - 12
    offset = 8
    kind = b""
    while kind != b"IEND":
        if offset > last:
            raise cut_short()
        length, kind = unpack(at(offset, 8))
        if offset == 8 and (kind != b"IHDR" or length != 13):
            raise unreadable("its PNG head is damaged")
        if not kind.isalpha():
            raise unreadable("its PNG chunks do not hold together")
        if offset + length > last:
            raise cut_short()
        if kind != b"IDAT":
            yield kind, offset + 8, length
        offset += 12 + length


def _density(chunk: bytes) -> Stated | None:
    """PHYs: only unit 1, the metre, is a density; unit 0 is a ratio."""
    if len(chunk) != 9:
        return None
    x, y, unit = struct.unpack(">IIB", chunk)
    return per_metre(x, y, "pHYs") if unit == 1 else None


def _profile(chunk: bytes | None) -> bytes | None:
    """The profile of iCCP, unpacked; empty bytes where it cannot be unpacked."""
    if chunk is None:
        return None
    _, _, rest = chunk.partition(b"\x00")
    try:
        return zlib.decompressobj().decompress(rest[1:], _MOST_PROFILE)
    except zlib.error:
        return b""


def _frames(chunk: bytes) -> int:
    return max(1, int.from_bytes(chunk[:4], "big")) if len(chunk) == 8 else 1

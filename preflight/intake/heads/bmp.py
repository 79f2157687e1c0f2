"""BMP: the headers of OS/2 and Windows (from memory of the Windows SDK; checked against Pillow's reading)."""

from __future__ import annotations

import struct

from preflight.intake.density import per_metre
from preflight.intake.head import Head, Reader, check_size, cut_short, unreadable

_CORE = 12  # bytes of the OS/2 1.x header: 16 bit sides, no density
_RGB, _RLE8, _RLE4, _BITFIELDS = 0, 1, 2, 3
_BITS = (1, 2, 4, 8, 16, 24, 32)
#: Pillow holds the whole picture, four bytes of each pixel; packed rows once more.
_HELD = 5.0
#: Colour space of a version 4 or 5 header: 'MBED' (a profile in the file) and 'sRGB', in little-endian order.
_EMBEDDED, _SRGB = b"DEBM", b"BGRs"


def read(reader: Reader) -> Head:
    """Read the headers and compare the length with what the picture needs.

    Raises
    ------
    IntakeError
        ``cut-short`` when the rows reach beyond the end; ``unreadable-file`` when the header makes no sense.
    """
    pixels, header_size = struct.unpack("<II", reader.at(10, 8))
    header = reader.at(14, header_size)
    if header_size == _CORE:
        width, height, _, bits = struct.unpack("<HHHH", header[4:12])
        compression = size = x_density = y_density = 0
    elif header_size >= 40:
        width, height, _, bits, compression, size, x_density, y_density = struct.unpack("<iiHHIIii", header[4:32])
    else:
        raise unreadable("its BMP head is damaged")
    check_size(width, abs(height))
    if bits not in _BITS or compression > _BITFIELDS:
        raise unreadable(f"it is an unusual kind of BMP ({bits} bits, compression {compression})")
    _check_whole(reader, pixels, width, abs(height), bits, compression, size)
    alpha = compression == _BITFIELDS and bits == 32 and len(header) >= 56 and header[52:56] != bytes(4)
    density = per_metre(x_density, y_density, "BMP")
    return Head(
        "BMP",
        width,
        abs(height),
        "rgb",
        extras=int(alpha),
        alpha=0 if alpha else None,
        stated=(density,) if density else (),
        icc=_profile(reader, header),
        says_srgb=header[56:60] == _SRGB,
        held=_HELD,
    )


def _check_whole(reader: Reader, pixels: int, width: int, height: int, bits: int, compression: int, size: int) -> None:
    """Rows are padded to 4 bytes; packed ones must say how many bytes they take."""
    packed = compression in (_RLE8, _RLE4)
    needed = size if packed else (width * bits + 31) // 32 * 4 * height
    if pixels + needed > reader.size:
        raise cut_short()


def _profile(reader: Reader, header: bytes) -> bytes | None:
    """The profile behind a version 5 header."""
    if len(header) < 124 or header[56:60] != _EMBEDDED:
        return None
    offset, length = struct.unpack("<II", header[112:120])
    return reader.at(14 + offset, length)

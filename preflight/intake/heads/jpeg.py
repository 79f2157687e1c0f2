"""JPEG: the segments (ISO/IEC 10918-1), JFIF 1.02, EXIF, the profile (ICC.1 annex B.4) and Adobe's APP14.

Which way round the inks of a four-colour JPEG lie: ISO/IEC 10918-6 (from memory) has 0 = no ink unless an APP14
segment is there; files with APP14 are stored the other way round (libjpeg's documentation, "special color spaces").
The decoder takes all of them as the second kind (measured with libvips 8.18), so the first kind is turned back.
"""

from __future__ import annotations

import re
import struct
from dataclasses import field

from preflight.intake.density import Stated, from_jfif
from preflight.intake.head import Head, Reader, check_size, cut_short, unreadable
from preflight.intake.tags import read_exif
from preflight.records import dataclass

#: A marker inside coded data: FF and neither a stuffed 00, a fill FF nor a restart.
_MARKER = rb"\xff[^\x00\xff\xd0-\xd7]"
_BLOCK = 1 << 16
_MOST_MARKERS = 20_000  # more are noise, not a picture
_SOI, _EOI = 0xD8, 0xD9
_FRAMES = {0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF}
_PROGRESSIVE = {0xC2, 0xC6, 0xCA, 0xCE}
_COLOURS = {1: "grey", 3: "rgb", 4: "cmyk"}
#: Bytes that the decoder keeps of each sample of a picture in several passes.
_COEFFICIENT = 2.6
_INKS_NOTE = (
    "The file does not say which way round its inks are stored; they are taken as the JPEG standard has it, "
    "0 for no ink."
)


@dataclass(slots=True)
class _Found:
    """What the segments told so far."""

    frame: bytes = b""
    progressive: bool = False
    jfif: Stated | None = None
    exif: bytes = b""
    adobe: bool = False
    profile: dict[int, bytes] = field(default_factory=dict)


def read(reader: Reader) -> Head:
    """Walk the segments and skip through the coded data to the end marker, so that a cut file is found.

    Raises
    ------
    IntakeError
        ``cut-short`` when the end marker is missing; ``unreadable-file`` when no picture is described.
    """
    found = _Found()
    offset = 2
    for _ in range(_MOST_MARKERS):
        offset = _next_marker(reader, offset)
        (marker,) = reader.at(offset + 1, 1)
        if marker == _EOI:
            return _head(found)
        offset += 2
        if 0xC0 <= marker < 0xFF and marker != _SOI:
            (length,) = struct.unpack(">H", reader.at(offset, 2))
            _take(found, marker, reader.at(offset + 2, max(length, 2) - 2))
            offset += max(length, 2)
    raise unreadable("its JPEG segments do not hold together")


def _next_marker(reader: Reader, offset: int) -> int:
    """Where the next marker starts, at or after ``offset``."""
    while offset < reader.size - 1:
        block = reader.at(offset, min(_BLOCK, reader.size - offset))
        match = re.search(_MARKER, block, re.DOTALL)
        if match:
            return offset + match.start()
        offset += len(block) - 1  # a marker may lie across two blocks
    raise cut_short()


def _take(found: _Found, marker: int, data: bytes) -> None:
    if marker in _FRAMES and not found.frame:
        found.frame, found.progressive = data, marker in _PROGRESSIVE
    elif marker == 0xE0 and data.startswith(b"JFIF\x00") and len(data) >= 12:
        found.jfif = found.jfif or from_jfif(*struct.unpack(">BHH", data[7:12]))
    elif marker == 0xE1 and data.startswith(b"Exif\x00\x00"):
        found.exif = found.exif or data
    elif marker == 0xE2 and data.startswith(b"ICC_PROFILE\x00") and len(data) > 14:
        found.profile.setdefault(data[12], data[14:])
    elif marker == 0xEE and data.startswith(b"Adobe") and len(data) >= 12:
        found.adobe = True


def _head(found: _Found) -> Head:
    if len(found.frame) < 6:
        raise unreadable("it is a JPEG file without a picture in it")
    bits, height, width, channels = struct.unpack(">BHHB", found.frame[:6])
    check_size(width, height)
    if channels not in _COLOURS:
        raise unreadable(f"it is a JPEG with {channels} colour channels; 1, 3 or 4 are usual")
    if bits != 8:
        raise unreadable(f"it is a JPEG with {bits} bits per colour; 8 are usual")
    orientation, exif = read_exif(found.exif)
    inverted = channels == 4 and not found.adobe
    return Head(
        "JPEG",
        width,
        height,
        _COLOURS[channels],
        inverted=inverted,
        orientation=orientation,
        stated=tuple(one for one in (found.jfif, exif) if one),
        icc=b"".join(found.profile[number] for number in sorted(found.profile)) or None,
        interlaced=found.progressive,
        held=_COEFFICIENT * _samples(found.frame) if found.progressive else 0.0,
        notes=(_INKS_NOTE,) if inverted else (),
    )


def _samples(frame: bytes) -> float:
    """Samples for each pixel: colours may be stored coarser than lightness."""
    sampling = [(byte >> 4, byte & 15) for byte in frame[7 : 6 + 3 * frame[5] : 3]]
    most = max((across for across, _ in sampling), default=0) * max((down for _, down in sampling), default=0)
    return sum(across * down for across, down in sampling) / most if most else float(frame[5])

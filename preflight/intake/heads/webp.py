"""WebP: the RIFF chunks (RFC 9649)."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.intake.head import Head, Reader, check_size, cut_short, unreadable
from preflight.intake.tags import read_exif

_ALPHA_FLAG = 0x10
#: The decoder asks for four pictures of four bytes a pixel: the canvas, the frame, its own two. It fills half of them.
_HELD = 16.0
_MOST_META = 16 << 20


def read(reader: Reader) -> Head:
    """Walk the chunks that RIFF's length announces.

    Raises
    ------
    IntakeError
        ``cut-short`` when the file is shorter than it says; ``unreadable-file`` when no picture is described.
    """
    picture: tuple[int, int, bool] | None = None
    kept: dict[bytes, bytes] = {}
    frames = 0
    for kind, offset, length in _chunks(reader):
        if picture is None:
            picture = _picture(kind, reader.at(offset, min(length, 10)))
        if kind in (b"ICCP", b"EXIF") and kind not in kept and length <= _MOST_META:
            kept[kind] = reader.at(offset, length)
        frames += kind == b"ANMF"
    if picture is None:
        raise unreadable("it is a WebP file without a picture in it")
    width, height, alpha = picture
    check_size(width, height)
    orientation, exif = read_exif(kept.get(b"EXIF", b""))
    return Head(
        "WebP",
        width,
        height,
        "rgb",
        extras=int(alpha),
        alpha=0 if alpha else None,
        orientation=orientation,
        stated=(exif,) if exif else (),
        icc=kept.get(b"ICCP"),
        frames=max(1, frames),
        held=_HELD,
    )


def _chunks(reader: Reader) -> Iterator[tuple[bytes, int, int]]:
    """Name, place and length of each chunk."""
    end = 8 + int.from_bytes(reader.at(4, 4), "little")
    if end > reader.size:
        raise cut_short()
    offset = 12
    while offset + 8 <= end:
        header = reader.at(offset, 8)
        length = int.from_bytes(header[4:], "little")
        if offset + 8 + length > end:
            raise unreadable("its WebP chunks do not hold together")
        yield header[:4], offset + 8, length
        offset += 8 + length + length % 2


def _picture(kind: bytes, data: bytes) -> tuple[int, int, bool] | None:
    """Width, height and whether there is transparency; None for a chunk that tells none of them."""
    if len(data) < 5:
        return None
    if kind == b"VP8X" and len(data) == 10:
        width, height = (1 + int.from_bytes(data[at : at + 3], "little") for at in (4, 7))
        return width, height, bool(data[0] & _ALPHA_FLAG)
    if kind == b"VP8L" and data[0] == 0x2F:
        bits = int.from_bytes(data[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF), bool(bits >> 28 & 1)
    if kind == b"VP8 " and len(data) == 10:
        return int.from_bytes(data[6:8], "little") & 0x3FFF, int.from_bytes(data[8:10], "little") & 0x3FFF, False
    return None

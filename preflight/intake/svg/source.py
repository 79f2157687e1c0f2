"""The bytes of an SVG file, unpacked where it is compressed."""

from __future__ import annotations

import re
import zlib
from pathlib import Path

from preflight.errors import IntakeError
from preflight.intake.head import AS_PNG, cut_short, unreadable
from preflight.intake.svg.limits import MOST_BYTES

_GZIP = b"\x1f\x8b"
_PIECE = 1 << 20
_WIDE = (b"\xff\xfe", b"\xfe\xff")
#: A start tag: its name, and the rest with its end. Angle brackets may stand in quotation marks.
_TAG = re.compile(rb"""(<[^\s>/]+)((?:"[^"]*"|'[^']*'|[^"'>])*>)""")
_DECLARATION = re.compile(r"^\s*<\?xml[^>]*\?>")


def read_source(path: Path) -> bytes:
    """The drawing's text; with two bytes a letter it is changed to UTF-8.

    Raises
    ------
    IntakeError
        When it is larger than ``MOST_BYTES``, or packed and damaged.
    OSError
        When the file cannot be read.
    """
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise _too_large()
    if data[:2] == _GZIP:
        data = _unpacked(data)
    return _narrowed(data) if data[:2] in _WIDE else data


def first_tag(data: bytes, root_at: int) -> tuple[bytes, bytes] | None:
    """The start tag that begins there: its name with the bracket, and the rest with its end; None for another thing."""
    tag = _TAG.match(data, root_at)
    return None if tag is None else (tag[1], tag[2])


def _narrowed(data: bytes) -> bytes:
    text = data.decode("utf-16", "replace")
    return _DECLARATION.sub("", text).encode("utf-8", "replace")


def _unpacked(packed: bytes) -> bytes:
    """The first member of a gzip file; what it holds never grows beyond the limit."""
    unpacker = zlib.decompressobj(wbits=31)
    pieces: list[bytes] = []
    total = 0
    rest = packed
    try:
        while not unpacker.eof:
            piece = unpacker.decompress(rest, _PIECE)
            rest = unpacker.unconsumed_tail
            if not piece and not rest:
                raise cut_short("the compressed drawing ends before its end")
            pieces.append(piece)
            total += len(piece)
            if total > MOST_BYTES:
                raise _too_large()
    except zlib.error:
        raise unreadable("its compressed data are damaged") from None
    return b"".join(pieces)


def _too_large() -> IntakeError:
    return unreadable(f"the drawing is larger than {MOST_BYTES >> 20} MB", AS_PNG)

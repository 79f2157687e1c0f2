"""The text of a PostScript file, and the comments in it that tell its size and its end.

Document Structuring Conventions 3.0, and the EPSF 3.0 specification for files with a preview (both from memory).
"""

from __future__ import annotations

import math
import re
from pathlib import Path

from preflight.intake.head import AS_PNG, SAVE_AGAIN, Reader, cut_short, unreadable

_PREVIEW = b"\xc5\xd0\xd3\xc6"
_CONTROL_D = b"\x04"
MOST_BYTES = 256 << 20
#: Bytes at the start and at the end in which the comments are looked for.
_HEAD, _TAIL = 1 << 16, 1 << 16
_MOST_PAGE_MM = 100_000.0
#: Lines end in either sign, or both.
_BOX = re.compile(rb"(?<![^\r\n])%%(HiRes)?BoundingBox:[ \t]*([^\r\n]*)")
_PAGES = re.compile(rb"(?<![^\r\n])%%Pages:\s*(\d+)")
_AT_END = b"(atend)"
_EPS = re.compile(rb"%!PS-Adobe-[\d.]+ EPSF-[\d.]+")
_PAGE_ASKED = (b"setpagedevice", b"PageSize")
_CLAIMS_COMMENTS = b"%!PS-Adobe-"
_ENDS = (b"%%EOF", b"%%Trailer", b"showpage")


def program_text(path: Path) -> bytes:
    """The PostScript in a file: all of it, or the part beside a preview.

    Raises
    ------
    IntakeError
        When it is not there, or too much.
    OSError
        When the file cannot be opened.
    """
    with path.open("rb") as file:
        reader = Reader(file, file.seek(0, 2))
        if reader.size > MOST_BYTES:
            raise unreadable(f"the drawing is larger than {MOST_BYTES >> 20} MB", AS_PNG)
        start, size = 0, reader.size
        if reader.size >= 4 and reader.at(0, 4) == _PREVIEW:
            head = reader.at(4, 8)
            start, size = int.from_bytes(head[:4], "little"), int.from_bytes(head[4:], "little")
        data = reader.at(start, size)
    data = data.removeprefix(_CONTROL_D)
    if not data.startswith(b"%!"):
        raise cut_short("the drawing's own part is not in the file")
    return data


def bounding_box(data: bytes) -> tuple[float, float, float, float] | None:
    """Left, bottom, right, top in points; None where none is stated or it has no area.

    Raises
    ------
    IntakeError
        When it is larger than any film.
    """
    found = [match.groups() for part in (data[:_HEAD], data[-_TAIL:]) for match in _BOX.finditer(part)]
    for _, text in sorted(found, key=lambda one: one[0] is None):  # the exact ones first
        if text.strip() == _AT_END:
            continue
        try:
            left, bottom, right, top = (float(word) for word in text.split()[:4])
        except ValueError:
            continue
        if right > left and top > bottom:
            if max(right - left, top - bottom) > _MOST_PAGE_MM * 72 / 25.4:
                raise unreadable("its bounding box is larger than any film", SAVE_AGAIN)
            return left, bottom, right, top
    return None


def check_end(data: bytes) -> None:
    """Refuse a drawing that has the comments of a whole file at its head and none at its end.

    Raises
    ------
    IntakeError
        ``cut-short``: the language itself has no end by which that could be told.
    """
    if data.startswith(_CLAIMS_COMMENTS) and not any(sign in data[-_TAIL:] for sign in _ENDS):
        raise cut_short("the drawing ends before its closing mark")


def marked(data: bytes, box: tuple[float, float, float, float]) -> bytes:
    """The drawing with its box at its head and called an EPS: only then is the box heeded.

    Ghostscript stops at a box that is only stated at the end, and heeds none in a drawing that is not called so.
    """
    exact = " ".join(f"{side:.6g}" for side in box)
    whole = " ".join(str(side) for side in (*map(math.floor, box[:2]), *map(math.ceil, box[2:])))
    head = f"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: {whole}\n%%HiResBoundingBox: {exact}\n%%EndComments\n"
    return head.encode("ascii") + data


def is_one_drawing(data: bytes) -> bool:
    """Whether it calls itself an EPS, or is one page that asks for no paper of its own."""
    if _EPS.match(data):
        return True
    pages = _PAGES.search(data[:_HEAD]) or _PAGES.search(data[-_TAIL:])
    return (pages is None or int(pages[1]) <= 1) and not any(word in data for word in _PAGE_ASKED)

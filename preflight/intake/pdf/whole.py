"""Whether the pictures of a page are all there. The drawing library draws what it can of a damaged one, in silence."""

from __future__ import annotations

import zlib
from collections.abc import Iterable

import pikepdf

from preflight.errors import IntakeError
from preflight.intake.head import unreadable
from preflight.intake.pdf import values
from preflight.intake.pdf.budget import filter_names, too_complex
from preflight.intake.pdf.inks import read_space
from preflight.intake.pdf.library import ODD_VALUES, UNPACKED
from preflight.intake.pdf.values import Key, Value

#: Bytes that are unpacked for it in all; beyond them the rest is taken on trust.
_MOST_BYTES = 512 << 20
_PIECE = 1 << 20
#: Bytes of packed data that may swell a thousandfold, and by how much deflated ones do at the most (RFC 1951).
_MOST_OLD_WAYS, _MOST_SWELLING = 512 << 10, 1032
OLD_WAYS = {"LZWDecode", "LZW", "RunLengthDecode", "RL"}
#: In what the library that reads raises.
_OVER_LIMIT = "memory limit exceeded"
#: Some programs write a few rows less than they say; viewers show such pictures. Two of 6,900 lacked 4 % (measured).
_ENOUGH = 0.95
_JPEG_END, _JPEG_TAIL = b"\xff\xd9", 64


def check_pictures(pdf: pikepdf.Pdf, pictures: Iterable[Key]) -> None:
    """Look at the data of pictures: deflated ones are unpacked to their end, JPEG ones have to have one.

    Parameters
    ----------
    pdf
        The open document.
    pictures
        By their numbers. Kinds that are not named above are taken on trust.

    Raises
    ------
    IntakeError
        When one is damaged, or ends early.
    """
    left = _MOST_BYTES
    for key in pictures:
        picture = pdf.get_object(key)
        if not values.is_stream(picture):
            continue
        kind = _packed(picture)
        if kind == "DCTDecode" and _JPEG_END not in picture.read_raw_bytes()[-_JPEG_TAIL:]:
            raise _damaged("ends early")
        expected = _expected(picture)
        if kind in ("FlateDecode", None) and 0 < expected <= left:
            left -= expected
            if _unpacked(picture, kind, expected) < _ENOUGH * expected:
                raise _damaged("ends early")


def check_streams(pdf: pikepdf.Pdf) -> None:
    """Look at fonts, colour profiles, functions and the like of a page written as a file: how far do they unpack?

    The drawing library has no limit there: a profile of a gigabyte takes two of memory and ten seconds. What the walk
    over the page has unpacked, and pictures, are left out.

    Raises
    ------
    IntakeError
        When one is too large.
    """
    page = pdf.pages[0].obj
    content = values.get(page, "/Contents")
    walked = {values.key_of(one) for one in (content, *values.items(content))}
    for thing in pdf.objects:
        if values.is_stream(thing) and values.key_of(thing) not in walked and _is_other(thing):
            _check_stream(thing)


def _is_other(stream: Value) -> bool:
    kind = values.name(values.get(stream, "/Subtype"))
    return kind not in ("Image", "Form") and values.get(stream, "/PatternType") is None


def _check_stream(stream: Value) -> None:
    raw = len(stream.read_raw_bytes())
    filters = filter_names(stream)
    if raw > _MOST_OLD_WAYS and not OLD_WAYS.isdisjoint(filters):
        raise _too_large()
    if raw * _MOST_SWELLING <= UNPACKED and len(filters) < 2:
        return
    try:
        stream.read_bytes()
    except ODD_VALUES as error:  # damaged ones are the drawing library's to judge
        if _OVER_LIMIT in str(error):
            raise _too_large() from error


def _too_large() -> IntakeError:
    return too_complex(f"a font, a colour profile or a table in it is larger than {UNPACKED >> 20} MB")


def _packed(picture: Value) -> str | None:
    """The one filter of a picture; None for none, "several" for more."""
    filters = filter_names(picture)
    return None if not filters else "several" if len(filters) > 1 else filters[0]


def _expected(picture: Value) -> int:
    """Bytes of the samples, as the picture states its size; 0 where that cannot be told."""
    width, height, bits = (values.whole(values.get(picture, key)) for key in ("/Width", "/Height", "/BitsPerComponent"))
    samples = 1
    if values.get(picture, "/ImageMask") is True:
        bits = 1
    else:
        space = read_space(values.get(picture, "/ColorSpace"), lambda _: None)
        samples = 0 if space.family in ("unknown", "pattern") else space.components
    return max(0, height) * ((max(0, width) * samples * max(0, bits) + 7) // 8)


def _unpacked(picture: Value, kind: str | None, expected: int) -> int:
    """How many bytes of samples there are, at most about as many as expected."""
    raw = picture.read_raw_bytes()
    if kind is None:
        return len(raw)
    unpacker, total, waiting = zlib.decompressobj(), 0, raw
    try:
        while waiting and total < expected and not unpacker.eof:
            total += len(unpacker.decompress(waiting, _PIECE))
            waiting = unpacker.unconsumed_tail
    except zlib.error:
        raise _damaged("cannot be unpacked") from None
    return total


def _damaged(how: str) -> IntakeError:
    return unreadable(
        f"a picture on the page is damaged: it {how}",
        "Put the picture in anew in the program that the artwork was made in, save it again, and send the new file.",
    )

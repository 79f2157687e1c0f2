"""Whether the pictures of a page are all there. The drawing library draws what it can of a damaged one, in silence."""

from __future__ import annotations

import zlib
from collections.abc import Iterable

import pikepdf

from preflight.errors import IntakeError
from preflight.intake.head import unreadable
from preflight.intake.pdf import values
from preflight.intake.pdf.inks import read_space
from preflight.intake.pdf.values import Key, Value

#: Bytes that are unpacked for it in all; beyond them the rest is taken on trust.
_MOST_BYTES = 512 << 20
_PIECE = 1 << 20
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


def _packed(picture: Value) -> str | None:
    """The one filter of a picture; None for none, "several" for more."""
    named = values.get(picture, "/Filter")
    filters = [named] if values.name(named) else list(values.items(named, 16))
    return None if not filters else "several" if len(filters) > 1 else values.name(filters[0])


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

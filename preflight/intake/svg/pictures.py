"""Pictures inside a drawing: their pixels from their heads, before the library that draws decodes them."""

from __future__ import annotations

import base64
import binascii
import io
from urllib.parse import unquote_to_bytes

from preflight.errors import IntakeError
from preflight.intake.head import Reader, unreadable
from preflight.intake.heads import jpeg, png, webp
from preflight.intake.sniff import FORMATS, HEAD_BYTES, sniff
from preflight.intake.svg.limits import too_complex
from preflight.records import dataclass

_HEADS = {"PNG": png.read, "JPEG": jpeg.read, "WebP": webp.read}
_EMBED = "Embed it as a PNG or JPEG, or expand it in the program that the drawing was made in, and send the new file."


@dataclass(frozen=True, slots=True)
class Inside:
    """A picture that lies in the drawing itself."""

    pixels: tuple[int, int]
    letters: int  #: of its text: it is unpacked each time it is drawn


def is_data(address: str) -> bool:
    """Whether an address holds what it refers to."""
    return address[:5].lower() == "data:"


def read_inside(address: str) -> Inside:
    """The size of an embedded picture.

    Parameters
    ----------
    address
        A data URL (RFC 2397).

    Raises
    ------
    IntakeError
        When it is damaged or of a kind that is not drawn: the drawing would miss it.
    """
    data = _bytes(address)
    kind = sniff(data[:HEAD_BYTES])
    if kind == "SVG":
        raise too_complex("it holds another drawing as a picture")
    if kind == "GIF" and len(data) >= 10:
        return Inside((int.from_bytes(data[6:8], "little"), int.from_bytes(data[8:10], "little")), len(address))
    if kind is None or kind not in _HEADS:
        what = "of an unknown kind" if kind is None else FORMATS[kind].what
        raise unreadable(f"a picture inside the drawing cannot be drawn: it is {what}", _EMBED)
    try:
        head = _HEADS[kind](Reader(io.BytesIO(data), len(data)))
    except IntakeError as error:
        raise unreadable(f"a picture inside the drawing is damaged: {error.what}", _EMBED) from error
    return Inside((head.width, head.height), len(address))


def _bytes(address: str) -> bytes:
    kind, comma, body = address[5:].partition(",")
    if not comma:
        return b""
    if not kind.replace(" ", "").lower().endswith(";base64"):
        return unquote_to_bytes(body)
    try:
        return base64.b64decode(unquote_to_bytes(body) if "%" in body[:1000] else body.encode("ascii", "ignore"))
    except binascii.Error:
        return b""

"""Pictures as they came out of the child, or as the shop gave them: opened with care, and laid on a sheet."""

from __future__ import annotations

from io import BytesIO

from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from preflight.views.model import JPEG, KINDS, PNG, Picture

_FORMATS = {PNG: "PNG", JPEG: "JPEG"}
#: Far more than any picture of a report has.
_MOST_PIXELS = 30_000_000


def lay(canvas: Canvas, picture: Picture, x: float, y: float, wide: float, high: float) -> None:
    """A picture into that rectangle, pt; nothing where it is no whole one."""
    reader = opened(picture.kind, picture.data)
    if reader is not None and reader.getSize() == (picture.width, picture.height):
        canvas.drawImage(reader, x, y, wide, high)


def opened(kind: str, data: bytes) -> ImageReader | None:
    """A picture for reportlab; None when it is not what it says, too large, or broken.

    It may come from the process in which a customer's file was open, so no other reader than those two gets at it.
    """
    if kind not in KINDS:
        return None
    try:
        with Image.open(BytesIO(data), formats=(_FORMATS[kind],)) as whole:
            wide, high = whole.size
            if wide * high > _MOST_PIXELS:
                return None
        reader = ImageReader(BytesIO(data))
        if kind != JPEG:  # that of a JPEG goes in as it is
            reader.getRGBData()  # type: ignore[no-untyped-call]
    except Exception:  # noqa: BLE001 - whatever Pillow says of a broken picture
        return None
    return reader

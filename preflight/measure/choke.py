"""The white under the art once it is pulled in, as an area."""

from __future__ import annotations

import math

import cv2
import numpy as np

from preflight.measure.kernels import u8
from preflight.measure.sheet import Sheet
from preflight.measure.spans import COARSE, Span, coarse_cells, cut, spans
from preflight.model import Bytes


def white_pixels(sheet: Sheet, radius: float) -> float:
    """White in px at 100 % once it is pulled in by ``radius`` px, fractions allowed."""
    if sheet.alpha is None:
        return max(0.0, sheet.width - 2 * radius) * max(0.0, sheet.height - 2 * radius)
    whole = math.floor(radius)
    share = radius - whole  # how far towards the next whole radius
    total = 0.0
    looked_at = spans(sheet.alpha4, sheet.width, sheet.height, neighbours=True)
    for span in looked_at:
        piece = cut(sheet.alpha, span, whole + 2)
        near = cv2.sumElems(piece.inner(choked(piece.alpha, whole)))[0]
        far = cv2.sumElems(piece.inner(choked(piece.alpha, whole + 1)))[0] if share > 0 else near
        total += (near + share * (far - near)) / 255.0
    return total + _full_pixels(sheet, looked_at)


def _full_pixels(sheet: Sheet, looked_at: list[Span]) -> float:
    """Pixels of the wholly opaque coarse cells that lie in no span."""
    _, full = coarse_cells(sheet.alpha4, neighbours=True)
    for span in looked_at:
        full[span.y0 // COARSE : -(-span.y1 // COARSE), span.x0 // COARSE : -(-span.x1 // COARSE)] = 0
    heights = np.minimum(COARSE, sheet.height - COARSE * np.arange(full.shape[0]))
    widths = np.minimum(COARSE, sheet.width - COARSE * np.arange(full.shape[1]))
    return float((full * np.outer(heights, widths)).sum())


def choked(alpha: Bytes, radius: int) -> Bytes:
    """The lowest opacity within a disc of ``radius`` px: the white stays that far inside the colour."""
    if radius <= 0:
        return alpha
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
    return u8(cv2.erode(alpha, disc, borderType=cv2.BORDER_CONSTANT, borderValue=0))

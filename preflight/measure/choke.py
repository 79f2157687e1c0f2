"""The white under the art once it is pulled in, as an area."""

from __future__ import annotations

import math

import cv2
import numpy as np

from preflight.measure.sheet import Sheet
from preflight.measure.spans import COARSE, Piece, Span, coarse_cells, cut
from preflight.model import Bytes


class ChokedWhite:
    """Adds up the choked alpha span by span; radius in px, fractions allowed."""

    def __init__(self, sheet: Sheet, radius: float) -> None:
        self._sheet = sheet
        self._low = math.floor(radius)
        self._share = radius - self._low  # how far towards the next whole radius
        self._total = 0.0

    @property
    def halo(self) -> int:
        """Pixels around a span that its answer depends on."""
        return self._low + 2

    def see(self, piece: Piece) -> None:
        """Look at one span; ``piece`` carries at least ``halo`` px around it."""
        near = cv2.sumElems(piece.inner(choked(piece.alpha, self._low)))[0]
        if self._share > 0:
            far = cv2.sumElems(piece.inner(choked(piece.alpha, self._low + 1)))[0]
            near += self._share * (far - near)
        self._total += near / 255.0

    def pixels(self, looked_at: list[Span]) -> float:
        """White in px at 100 %, once all spans of the sheet have been seen."""
        if self._sheet.alpha is None:
            radius = self._low + self._share
            return max(0.0, self._sheet.width - 2 * radius) * max(0.0, self._sheet.height - 2 * radius)
        return self._total + _full_pixels(self._sheet, looked_at)


def white_pixels(sheet: Sheet, looked_at: list[Span], radius: float) -> float:
    """White in px at 100 % of a sheet whose spans are ``looked_at``."""
    white = ChokedWhite(sheet, radius)
    if sheet.alpha is not None:
        for span in looked_at:
            white.see(cut(sheet.alpha, span, white.halo))
    return white.pixels(looked_at)


def _full_pixels(sheet: Sheet, looked_at: list[Span]) -> float:
    """Pixels of the wholly opaque coarse cells that lie in no span."""
    _, full = coarse_cells(sheet.alpha4)
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
    return cv2.erode(alpha, disc, borderType=cv2.BORDER_CONSTANT, borderValue=0)  # type: ignore[return-value]


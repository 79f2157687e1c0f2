"""A sheet made small while its strips go by: every pixel counts in the average, weighted with its opacity."""

from __future__ import annotations

import cv2
import numpy as np

from preflight.measure.kernels import u8
from preflight.model import Box, Bytes
from preflight.records import dataclass

#: Longer side of the picture of a whole artwork, px, at most; it has half of that at least, if the artwork has.
LONGEST = 1200


@dataclass(frozen=True, slots=True)
class Frame:
    """How a picture of the whole artwork lies on the canvas.

    ``cell``: px of the canvas, along both axes, that become one pixel of the picture. ``width``, ``height``: px of the
    picture; its last column and row may reach beyond the artwork.
    """

    box: Box
    cell: int
    width: int
    height: int

    @classmethod
    def of(cls, box: Box, longest: int = LONGEST) -> Frame:
        """The frame of the artwork in ``box``; a small artwork is not enlarged."""
        cell = max(1, -(-max(box.width, box.height) // longest))
        return cls(box, cell, -(-box.width // cell), -(-box.height // cell))


class Shrinker:
    """Averages planes over cells, piece by piece, top to bottom.

    Parameters
    ----------
    frame
        Where the cells lie.
    channels
        Of the pieces: uint8 (rows, box width, channels), or (rows, box width) for one.
    """

    def __init__(self, frame: Frame, channels: int) -> None:
        shape = (frame.height, frame.width, channels) if channels > 1 else (frame.height, frame.width)
        self.frame = frame
        self._picture: Bytes = np.zeros(shape, np.uint8)
        self._done = 0
        self._left: Bytes | None = None

    def add(self, piece: Bytes) -> None:
        """The next rows of the box."""
        if self._left is not None:
            piece = np.concatenate((self._left, piece))
        whole = len(piece) // self.frame.cell * self.frame.cell
        self._left = piece[whole:].copy() if whole < len(piece) else None
        if whole:
            self._put(piece[:whole])

    def close(self) -> Bytes:
        """The picture, uint8 (height, width, …); what its rim has beyond the artwork is nothing."""
        if self._left is not None:
            self._put(self._left)
            self._left = None
        return self._picture

    def _put(self, piece: Bytes) -> None:
        cell = self.frame.cell
        right, bottom = self.frame.width * cell - piece.shape[1], -len(piece) % cell
        if right or bottom:
            piece = u8(cv2.copyMakeBorder(piece, 0, bottom, 0, right, cv2.BORDER_CONSTANT, value=(0, 0, 0, 0)))
        rows = len(piece) // cell
        if cell > 1:
            piece = u8(cv2.resize(piece, (self.frame.width, rows), interpolation=cv2.INTER_AREA))
        self._picture[self._done : self._done + rows] = piece.reshape(self._picture[:rows].shape)
        self._done += rows


def premultiplied(rgba: Bytes, alpha: Bytes | None = None) -> Bytes:
    """Colours times opacity, uint8 (h, w, 4), so that the colour under a clear pixel counts for nothing.

    ``alpha``: the fourth channel, where it is at hand.
    """
    alpha = u8(cv2.extractChannel(rgba, 3)) if alpha is None else alpha
    if int(alpha.min(initial=255)) == 255:
        return rgba
    weight = cv2.merge([alpha, alpha, alpha, np.full_like(alpha, 255)])
    return u8(cv2.multiply(rgba, weight, scale=1 / 255))


def straight(rgba: Bytes) -> Bytes:
    """Colours of premultiplied pixels, uint8 (h, w, 3); black where nothing is visible."""
    alpha = np.maximum(rgba[..., 3:], 1).astype(np.float32)
    return np.minimum(rgba[..., :3] * (np.float32(255) / alpha) + np.float32(0.5), 255).astype(np.uint8)


def laid_on(rgba: Bytes, rgb: tuple[int, int, int]) -> Bytes:
    """Premultiplied pixels on a cloth of one colour, uint8 (h, w, 3)."""
    clear = u8(cv2.bitwise_not(u8(cv2.extractChannel(rgba, 3))))
    ground = cv2.merge([u8(cv2.convertScaleAbs(clear, alpha=level / 255)) for level in rgb])
    return u8(cv2.add(u8(cv2.cvtColor(rgba, cv2.COLOR_RGBA2RGB)), ground))

"""Drawing that can be trusted as truth: outlines in millimetres turned into exact pixel coverage.

Nothing here knows how the program measures. Coverage is the area of the outline inside each pixel: exact along x,
sampled by ``FINE`` lines per pixel along y. Compositing is the plain "over" in sRGB values, as drawing programs do it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import cv2
import numpy as np
import numpy.typing as npt

Floats: TypeAlias = npt.NDArray[np.float32]
Points: TypeAlias = npt.NDArray[np.float64]
Bytes: TypeAlias = npt.NDArray[np.uint8]
Colour: TypeAlias = tuple[int, int, int]

#: Sample lines per pixel along y.
FINE = 32


@dataclass(frozen=True, slots=True)
class Patch:
    """Coverage 0…1 of a rectangle of the canvas whose top left pixel is (x, y)."""

    x: int
    y: int
    cover: Floats


def signed_area(points: Points) -> float:
    x, y = points[:, 0], points[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def oriented(points: Points, positive: bool) -> Points:
    """The outline running so that it fills (positive) or so that it cuts a hole."""
    return points if (signed_area(points) > 0) == positive else points[::-1]


def coverage(outlines: Sequence[Points], width: int, height: int, fine: int = FINE) -> Patch | None:
    """Exact coverage of closed outlines in pixels; holes run the other way. None when nothing lies on the canvas."""
    every = np.concatenate(outlines)
    x0, y0 = np.maximum(np.floor(every.min(axis=0)).astype(int) - 1, 0)
    x1 = min(int(np.ceil(every[:, 0].max())) + 1, width)
    y1 = min(int(np.ceil(every[:, 1].max())) + 1, height)
    if x1 <= x0 or y1 <= y0:
        return None
    start = np.concatenate(outlines)
    end = np.concatenate([np.roll(outline, -1, axis=0) for outline in outlines])
    shift = np.array([x0, y0], dtype=np.float64)
    cover = _accumulate(start - shift, end - shift, int(x1 - x0), int(y1 - y0), fine)
    return Patch(int(x0), int(y0), cover)


def _accumulate(start: Points, end: Points, width: int, height: int, fine: int) -> Floats:
    """Sum the signed area to the right of every edge, one sample line at a time."""
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    first = np.maximum(np.ceil(low * fine - 0.5), 0).astype(np.int64)
    last = np.minimum(np.ceil(high * fine - 0.5), height * fine).astype(np.int64)
    counts = np.maximum(last - first, 0)
    edge = np.repeat(np.arange(len(counts)), counts)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts) + first[edge]
    y = (line + 0.5) / fine
    run = (y - start[edge, 1]) / (end[edge, 1] - start[edge, 1])
    x = np.clip(start[edge, 0] + run * (end[edge, 0] - start[edge, 0]), 0, width)
    sign = np.where(end[edge, 1] > start[edge, 1], -1.0, 1.0) / fine
    cell = np.floor(x).astype(np.int64)
    part = x - cell
    at = (line // fine) * (width + 2) + cell
    size = height * (width + 2)
    total = np.bincount(at, sign * (1 - part), size)[:size] + np.bincount(at + 1, sign * part, size)[:size]
    summed = np.cumsum(total.reshape(height, width + 2), axis=1)[:, :width]
    return np.clip(summed, 0, 1).astype(np.float32)


class Sheet:
    """A canvas of a stated size and resolution, drawn on in millimetres.

    Parameters
    ----------
    width_mm, height_mm
        Size of the canvas; rounded to whole pixels.
    ppi
        Pixels per inch.
    origin
        Millimetres that all drawing is moved by, so that nothing sits on the pixel grid by chance.
    """

    def __init__(self, width_mm: float, height_mm: float, ppi: float, origin: tuple[float, float] = (0.0, 0.0)) -> None:
        self.ppi = ppi
        self.scale = ppi / 25.4
        self.width = round(width_mm * self.scale)
        self.height = round(height_mm * self.scale)
        self.origin = origin
        #: Premultiplied, 0…1.
        self.ink: Floats = np.zeros((self.height, self.width, 4), np.float32)

    def pixels(self, points: Points) -> Points:
        return (np.asarray(points, np.float64) + self.origin) * self.scale

    def patch(self, outlines: Sequence[Points]) -> Patch | None:
        return coverage([self.pixels(outline) for outline in outlines], self.width, self.height)

    def fill(self, outlines: Sequence[Points], colour: Colour, opacity: float = 1.0) -> None:
        found = self.patch(outlines)
        if found is not None:
            self.paint(found, colour, opacity)

    def cut(self, outlines: Sequence[Points]) -> None:
        """Take the outline out of what is drawn, down to clear film."""
        found = self.patch(outlines)
        if found is not None:
            self._under(found)[...] *= 1 - found.cover[..., None]

    def paint(self, patch: Patch, colour: Colour | Floats, opacity: float = 1.0) -> None:
        """Lay a colour (or a picture, float 0…1 of the patch's shape) over the sheet through a patch."""
        clipped = self._clip(patch)
        if clipped is None:
            return
        left, top = clipped.x - patch.x, clipped.y - patch.y
        cover = clipped.cover[..., None] * np.float32(opacity)
        if isinstance(colour, tuple):
            tone = np.array(colour, np.float32) / np.float32(255)
        else:
            tone = colour[top : top + cover.shape[0], left : left + cover.shape[1]]
        under = self._under(clipped)
        under[..., :3] = tone * cover + under[..., :3] * (1 - cover)
        under[..., 3:] = cover + under[..., 3:] * (1 - cover)

    def _clip(self, patch: Patch) -> Patch | None:
        rows, columns = patch.cover.shape
        x0, y0 = max(patch.x, 0), max(patch.y, 0)
        x1, y1 = min(patch.x + columns, self.width), min(patch.y + rows, self.height)
        if x1 <= x0 or y1 <= y0:
            return None
        return Patch(x0, y0, patch.cover[y0 - patch.y : y1 - patch.y, x0 - patch.x : x1 - patch.x])

    def _under(self, patch: Patch) -> Floats:
        rows, columns = patch.cover.shape
        return self.ink[patch.y : patch.y + rows, patch.x : patch.x + columns]

    def box(self, outlines: Sequence[Points]) -> tuple[float, float, float, float]:
        """Left, top, right and bottom in pixels of outlines in millimetres."""
        every = self.pixels(np.concatenate(outlines))
        (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def rgba(self, hidden: Colour = (0, 0, 0)) -> Bytes:
        """Straight-alpha bytes; ``hidden`` is the colour that stands under alpha 0."""
        alpha = self.ink[..., 3:]
        out = np.empty(self.ink.shape, np.uint8)
        out[..., 3:] = np.rint(alpha * 255)
        tone = self.ink[..., :3] / np.maximum(alpha, 1e-6)
        out[..., :3] = np.rint(np.clip(tone, 0, 1) * 255)
        out[out[..., 3] == 0, :3] = hidden
        return out


def blurred(cover: Floats, sigma: float) -> Floats:
    """Gaussian blur of a coverage map, edges taken as empty."""
    return np.asarray(cv2.GaussianBlur(cover, (0, 0), sigma, borderType=cv2.BORDER_CONSTANT), np.float32)

"""The one pass over an artwork's strips, and what every question shares afterwards.

The pass keeps the alpha plane whole (one byte per pixel) and two maps at a quarter of the scale. The print scale is
known only once the visible artwork's box is known, so the kernels that need millimetres run after the pass, over the
plane, in cache-sized pieces.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any, NamedTuple, Protocol

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import u8
from preflight.measure.labels import Ints, boxes, connected
from preflight.model import Artwork, Box, Bytes, PixelFacts, Strip
from preflight.records import dataclass

cv2.setNumThreads(1)  # files run in parallel; threads inside one file did not pay

#: Side of a map cell in pixels.
CELL = 4
#: Positions of a pixel in a cell.
_OFFSETS = CELL * CELL
#: Opacity up to 5 % is "nearly invisible", above 95 % opaque (trade.md, common practice).
FAINT = 12
OPAQUE = 243


class Observer(Protocol):
    """A question that must look at the full-resolution colours while they stream by."""

    def see(self, strip: Strip, cells: Cells) -> None:
        """Look at one strip; called for each, top to bottom."""
        ...


class Cells(NamedTuple):
    """One strip at a quarter of the scale.

    ``alpha``: uint8 (rows, columns), area-averaged. ``sample``: uint8 (rows, columns, 4), one real pixel per cell.
    """

    y: int  #: row of cells the strip starts at
    alpha: Bytes
    sample: Bytes


@dataclass(eq=False)
class Sheet:
    """An artwork after the pass.

    ``alpha``: uint8 (height, width), or None when the artwork is opaque everywhere. ``alpha4`` (h4, w4) is its
    average over 4 x 4 px; ``sample4`` (h4, w4, 4) holds one real RGBA pixel per cell, at an offset that changes from
    row to row so that a regular screen cannot alias. ``inks4`` likewise for the file's own C, M, Y, K;
    ``ink_sums`` are their full sums in px at 100 %, weighted with alpha.
    """

    facts: PixelFacts
    width: int
    height: int
    alpha: Bytes | None
    alpha4: Bytes
    sample4: Bytes
    inks4: Bytes | None
    ink_sums: npt.NDArray[np.float64] | None

    def visible(self) -> Bytes:
        """Cells of more than 5 % opacity, uint8 0/1 (h4, w4)."""
        return (self.alpha4 > FAINT).astype(np.uint8)

    @cached_property
    def areas(self) -> Ints:
        """Boxes of the connected areas of ``visible``, as ``kernels.boxes`` has them; found once for all who ask."""
        return boxes(self.visible(), connected(self.visible()))

    @property
    def box(self) -> Box | None:
        """The visible artwork: pixels of more than 5 % opacity. None when there is none."""
        if self.alpha is None:
            return Box(0, 0, self.width, self.height)
        return visible_box(self.alpha, self.alpha4)

    def opacity(self) -> float:
        """Opacity of the quarter-scale map added up, in px at 100 %."""
        bottom, right = self.height - CELL * (len(self.alpha4) - 1), self.width - CELL * (self.alpha4.shape[1] - 1)
        total = 0.0
        for rows, high in ((self.alpha4[:-1], CELL), (self.alpha4[-1:], bottom)):
            for cells, wide in ((rows[:, :-1], CELL), (rows[:, -1:], right)):
                total += cv2.sumElems(cells)[0] / 255.0 * high * wide if cells.size else 0.0
        return total

    def cell_pixels(self) -> npt.NDArray[np.float32]:
        """How many real pixels each cell stands for, float32 (h4, w4): 16, fewer at the right and lower rim."""
        rows = np.full(self.alpha4.shape[0], float(CELL), np.float32)
        columns = np.full(self.alpha4.shape[1], float(CELL), np.float32)
        rows[-1] = self.height - CELL * (len(rows) - 1)
        columns[-1] = self.width - CELL * (len(columns) - 1)
        return np.outer(rows, columns)


def visible_box(alpha: Bytes, alpha4: Bytes) -> Box | None:
    """Bounding box of the pixels above ``FAINT`` in a plane and its quarter map; exact to the pixel."""
    rows = np.flatnonzero(alpha4.max(axis=1))
    if not len(rows):
        return None
    columns = np.flatnonzero(alpha4.max(axis=0))
    # A lone pixel can average to nothing in its cell, so one cell more is looked at on every side.
    y0, x0 = max(0, (int(rows[0]) - 1) * CELL), max(0, (int(columns[0]) - 1) * CELL)
    area = alpha[y0 : (int(rows[-1]) + 2) * CELL, x0 : (int(columns[-1]) + 2) * CELL]
    top = _first_visible(area)
    if top is None:
        return None
    bottom = _first_visible(area[::-1]) or 0
    left = _first_visible(area.T) or 0
    right = _first_visible(area.T[::-1]) or 0
    # The faint outer half of an anti-aliased rim belongs to the art: one pixel more where anything is in it.
    top, bottom, left, right = (
        side - 1 if side and view[side - 1].any() else side
        for side, view in ((top, area), (bottom, area[::-1]), (left, area.T), (right, area.T[::-1]))
    )
    height, width = area.shape
    return Box(x0 + left, y0 + top, width - left - right, height - top - bottom)


def _first_visible(area: Bytes) -> int | None:
    """Index of the first row with a visible pixel; looks at few rows at a time, for it is nearly always the first."""
    for start in range(0, len(area), 16):
        hit = np.flatnonzero((area[start : start + 16] > FAINT).any(axis=1))
        if len(hit):
            return start + int(hit[0])
    return None


def gather(artwork: Artwork, observers: Iterable[Observer] = ()) -> Sheet:
    """Read the artwork once, top to bottom.

    Raises
    ------
    IntakeError
        When the file ends early or cannot be decoded.
    """
    facts = artwork.facts
    width, height = facts.width, facts.height
    h4, w4 = -(-height // CELL), -(-width // CELL)
    plane = np.empty((height, width), np.uint8) if facts.has_alpha else None
    alpha4 = np.full((h4, w4), 255, np.uint8)
    sample4 = np.empty((h4, w4, 4), np.uint8)
    inks4: Bytes | None = None
    ink_sums: npt.NDArray[np.float64] | None = None
    opaque = True
    watchers = tuple(observers)
    for strip in artwork.strips():
        rows = slice(strip.y // CELL, -(-(strip.y + len(strip.rgba)) // CELL))
        sample4[rows] = point_sample(strip.rgba, rows.start)
        if plane is not None:
            alpha = u8(cv2.extractChannel(strip.rgba, 3))
            plane[strip.y : strip.y + len(alpha)] = alpha
            alpha4[rows] = shrink(alpha)
            opaque = opaque and int(alpha.min()) == 255
        if strip.inks is not None:
            inks4 = np.empty((h4, w4, 4), np.uint8) if inks4 is None else inks4
            inks4[rows] = point_sample(strip.inks, rows.start)
            sums = _ink_sums(strip.rgba, strip.inks)
            ink_sums = sums if ink_sums is None else ink_sums + sums
        cells = Cells(rows.start, alpha4[rows], sample4[rows])
        for observer in watchers:
            observer.see(strip, cells)
    return Sheet(facts, width, height, None if opaque else plane, alpha4, sample4, inks4, ink_sums)


def _ink_sums(rgba: Bytes, inks: Bytes) -> npt.NDArray[np.float64]:
    """Sum of each ink over a strip in px at 100 %, shape (4,), weighted with alpha."""
    alpha = cv2.extractChannel(rgba, 3)
    if int(alpha.min()) == 255:
        return np.asarray(cv2.sumElems(inks), np.float64)[:4] / 255.0
    weight = alpha.astype(np.float64) / 255.0
    sums: npt.NDArray[np.float64] = np.tensordot(weight, inks.astype(np.float64), axes=([0, 1], [0, 1])) / 255.0
    return sums


def shrink(alpha: Bytes) -> Bytes:
    """Average over 4 x 4 px; cells at the rim average what there is. uint8 (h, w) → (ceil(h/4), ceil(w/4))."""
    height, width = alpha.shape
    bottom, right = -height % CELL, -width % CELL
    if bottom or right:
        alpha = u8(cv2.copyMakeBorder(alpha, 0, bottom, 0, right, cv2.BORDER_REPLICATE))
    size = (alpha.shape[1] // CELL, alpha.shape[0] // CELL)
    return u8(cv2.resize(alpha, size, interpolation=cv2.INTER_AREA))


def point_sample(pixels: Bytes, first_row: int = 0) -> Bytes:
    """One pixel per cell, uint8 (h, w, 4) or (h, w) → (ceil(h/4), ceil(w/4), …).

    The offset inside the cell walks through all sixteen positions from row to row of cells.
    """
    height, width = pixels.shape[:2]
    wide = pixels.ndim == 3
    words = np.ascontiguousarray(pixels).view(np.uint32)[..., 0] if wide else pixels
    h4, w4 = -(-height // CELL), -(-width // CELL)
    out = np.empty((h4, w4), words.dtype)
    for row in range(min(_OFFSETS, h4)):
        dy, dx = divmod((row + first_row) * 7 % _OFFSETS, CELL)
        _sample_rows(words[CELL * row + dy :: _OFFSETS * CELL], dx, out[row::_OFFSETS])
    if height % CELL:  # the last cells are lower: their pixel is in the last row at the latest
        dy, dx = divmod((h4 - 1 + first_row) * 7 % _OFFSETS, CELL)
        last = min(CELL * (h4 - 1) + dy, height - 1)
        _sample_rows(words[last : last + 1], dx, out[-1:])
    return out.view(np.uint8).reshape(h4, w4, 4) if wide else out.view(np.uint8)


def _sample_rows(lines: npt.NDArray[Any], dx: int, out: npt.NDArray[Any]) -> None:
    """Pixel ``dx`` of each cell along some lines into as many rows of ``out``; at the right rim the last one."""
    taken = lines[:, dx::CELL]
    out[: len(taken), : taken.shape[1]] = taken
    out[: len(taken), taken.shape[1] :] = lines[:, -1:]

"""What partial opacity there is: anti-aliased rims, soft fades, flat translucent fills, faint leftovers.

The share of partly opaque pixels says nothing (8 pt text with a smooth rim has nearly half); the *width* of the band
does. A pixel is partial from 5 to 95 %. Partial pixels on a plateau are flat; of the rest, what survives an opening
with an octagon of 5 px is a soft fade, and what does not is an anti-aliased rim.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import (
    CROSS,
    FIVE,
    THREE,
    between,
    both,
    dilate,
    distinct,
    erode,
    median,
    spread,
    square,
    u8,
    without,
)
from preflight.measure.places import Scale, spots_of_mask
from preflight.measure.sheet import CELL, FAINT, OPAQUE, Sheet
from preflight.measure.spans import Piece, Span
from preflight.model import Bytes, Measurement

#: Pixels around a span that its answer depends on; a fade up to twice as wide is measured to the pixel.
HALO = 20
#: A plateau may vary by so many levels of 255.
_PLATEAU = 2
#: A peak of the histogram is compared with so many levels on either side; two adjacent ones that hold so much of them
#: are another fill, and no tail of a fade.
_AROUND, _ALONE = 6, 0.75
#: Opacity levels across 5 px from which there is an edge; levels across 3 px that no fade of 5 px exceeds.
_EDGE, _STEEPEST = 12, 140
#: A slow fade of less than so much is a tail, mm².
_LEAST_SLOW_MM2 = 4.0
#: A flat fill of less than so much is a rim's accident, mm² (measured on real artwork).
_LEAST_FLAT_MM2 = 0.3
#: A fade of less area is where rims meet, mm².
_LEAST_FADE_MM2 = 1.5
#: A fade must be wider than this many pixels as well as wider than the rule's limit (trade.md, measured).
_LEAST_FADE_PX = 5.0


class Opacity:
    """Collects the classes span by span."""

    def __init__(self, sheet: Sheet) -> None:
        shape = sheet.alpha4.shape
        self._sheet = sheet
        self._reach4 = np.zeros(shape, np.uint8)  # half the width of the fade, px, at soft cells
        self._flat4 = np.zeros(shape, np.uint8)  # opacity at flat cells
        self._levels = np.zeros(256, np.int64)  # histogram of flat opacity, px

    def see(self, piece: Piece) -> None:
        """Look at one span; ``piece`` carries at least ``HALO`` px around it."""
        alpha = piece.alpha
        partial = between(alpha, FAINT + 1, OPAQUE - 1)
        core = erode(erode(partial, THREE), CROSS)
        if not cv2.countNonZero(core):
            return  # rims only: nothing is wide enough for a fade or a plateau
        flat = _flat(alpha, partial)
        rest = without(partial, flat)
        core = both(erode(erode(rest, THREE), CROSS), _graded(alpha))
        if cv2.countNonZero(core):
            soft = both(dilate(core, square(9)), rest)
            self._keep_reach(piece, partial, soft)
        if cv2.countNonZero(flat):
            self._keep_flat(piece, flat)

    def _keep_reach(self, piece: Piece, partial: Bytes, soft: Bytes) -> None:
        """Half width of the band at soft pixels, largest per cell."""
        reach = cv2.distanceTransform(partial, cv2.DIST_L2, 5)
        half = np.where(soft > 0, np.minimum(reach, 255.0), 0.0).astype(np.uint8)
        self._put(self._reach4, piece.span, _cell_max(piece.inner(half)))

    def _keep_flat(self, piece: Piece, flat: Bytes) -> None:
        inside, alpha = piece.inner(flat), piece.inner(piece.alpha)
        masked = np.where(inside > 0, alpha, 0).astype(np.uint8)
        self._levels += np.bincount(masked.ravel(), minlength=256)
        self._put(self._flat4, piece.span, masked[::CELL, ::CELL])

    @staticmethod
    def _put(target: Bytes, span: Span, cells: Bytes) -> None:
        y, x = span.y0 // CELL, span.x0 // CELL
        target[y : y + cells.shape[0], x : x + cells.shape[1]] = cells

    def answer(self, scale: Scale) -> list[Measurement]:
        """``fade-width`` in mm, ``translucent-area`` and ``residue-area`` in mm²."""
        return [self._fade(scale), self._translucent(scale), self._residue(scale)]

    def soft_cells(self) -> Bytes:
        """Cells with a fade, uint8 0/1 (h4, w4)."""
        return (self._reach4 > 0).astype(np.uint8)

    def fade_cells(self, scale: Scale) -> Bytes:
        """Cells with a fade, slow ones too, uint8 0/1 (h4, w4)."""
        return self.soft_cells() | self._slow_cells(scale)

    def _slow_cells(self, scale: Scale) -> Bytes:
        """Cells of a fade so slow that each place looks level: flat, but of no one opacity. uint8 0/1 (h4, w4)."""
        levels = ~self._peaks(scale)
        levels[0] = False
        slow = self._flat_at(levels)
        if scale.mm2(float(cv2.countNonZero(slow)) * CELL * CELL) < _LEAST_SLOW_MM2:
            return np.zeros_like(slow)
        return slow

    def _flat_at(self, levels: npt.NDArray[np.bool_]) -> Bytes:
        """Cells of a flat opacity among some of the 256, uint8 0/1 (h4, w4)."""
        return u8(cv2.LUT(self._flat4, levels.astype(np.uint8)))

    def _peaks(self, scale: Scale) -> npt.NDArray[np.bool_]:
        return _peaks(self._levels, least=_LEAST_FLAT_MM2 / scale.mm2(1))

    def flat_cells(self) -> Bytes:
        """Cells of a flat translucent fill, uint8 0/1 (h4, w4)."""
        return (self._flat4 > 0).astype(np.uint8)

    def _fade(self, scale: Scale) -> Measurement:
        soft = self.fade_cells(scale)
        if not soft.any():
            return Measurement("fade-width", None, "mm")
        joined = erode(dilate(soft, THREE), THREE)
        # A band of n cells, those that it only touches among them, lies (n + 1) / 2 cells from the rest at its middle.
        wide = (cv2.distanceTransform(joined, cv2.DIST_L2, 5) - 1.0) * CELL

        def width(cells: tuple[slice, slice], inside: npt.NDArray[np.bool_]) -> float:
            if scale.mm2(float(inside.sum()) * CELL * CELL) < _LEAST_FADE_MM2:
                return 0.0
            fine = float(self._reach4[cells][inside].max())
            # Beyond the halo the fine measure is cut off, and a slow fade has none; the coarse one is good to a tenth.
            half = fine if 0 < fine < HALO - 2 else max(fine, float(wide[cells][inside].max()))
            return scale.mm(2 * half)

        spots, total = spots_of_mask(joined, width, least=scale.mm(_LEAST_FADE_PX))
        return Measurement("fade-width", spots[0].value if spots else None, "mm", spots=spots, spots_total=total)

    def _translucent(self, scale: Scale) -> Measurement:
        peaks = self._peaks(scale)
        mask = self._flat_at(peaks)
        if not mask.any():
            return Measurement("translucent-area", None, "mm2")

        def area(_cells: tuple[slice, slice], inside: npt.NDArray[np.bool_]) -> float:
            return scale.mm2(float(inside.sum()) * CELL * CELL)

        spots, total = spots_of_mask(mask, area, least=_LEAST_FLAT_MM2)
        value = scale.mm2(float(self._levels[peaks].sum())) if spots else None
        levels = self._levels * peaks
        share = float((levels * np.arange(256)).sum() / max(1, levels.sum())) / 255 * 100
        details = {"opacity": f"{share:.0f} %"}
        return Measurement("translucent-area", value, "mm2", spots=spots, spots_total=total, details=details)

    def _residue(self, scale: Scale) -> Measurement:
        mask = residue_cells(self._sheet, self.fade_cells(scale))
        if not mask.any():
            return Measurement("residue-area", None, "mm2")

        def area(_cells: tuple[slice, slice], inside: npt.NDArray[np.bool_]) -> float:
            return scale.mm2(float(inside.sum()) * CELL * CELL)

        spots, total = spots_of_mask(mask, area)
        value = scale.mm2(float(mask.sum()) * CELL * CELL)
        return Measurement("residue-area", value, "mm2", spots=spots, spots_total=total)


def residue_cells(sheet: Sheet, soft: Bytes) -> Bytes:
    """Cells of nearly invisible opacity that belong to no rim and no fade, uint8 0/1 (h4, w4)."""
    if sheet.alpha is None:
        return np.zeros(sheet.alpha4.shape, np.uint8)
    faint = (between(sheet.alpha4, 1, FAINT) > 0).astype(np.uint8)
    if not faint.any():
        return faint
    visible = (sheet.alpha4 > FAINT).astype(np.uint8)
    faint &= 1 - dilate(visible, FIVE)
    if soft.any() and faint.any():
        # The tail of a fade is the fade's fault: a faint area that reaches up to one is not told twice.
        near = dilate(soft, square(11))
        count, labels = cv2.connectedComponents(faint, connectivity=8)
        tail = np.zeros(count, bool)
        tail[distinct(np.asarray(labels)[near > 0])] = True
        faint = faint & ~tail[np.asarray(labels)]
    return faint.astype(np.uint8)


def _flat(alpha: Bytes, partial: Bytes) -> Bytes:
    """Partial pixels on a plateau, and the plateau's own rim."""
    centre = both(between(spread(alpha, FIVE), 0, _PLATEAU), partial)
    if not cv2.countNonZero(centre):
        return centre
    level = dilate(both(alpha, centre), FIVE)
    near = both(dilate(centre, FIVE), partial)
    same = between(u8(cv2.absdiff(level, alpha)), 0, _PLATEAU)
    return both(near, same) | centre


def _graded(alpha: Bytes) -> Bytes:
    """Where opacity changes as in a fade: neither level between hard edges, nor up and down as in dense hatching."""
    near = spread(alpha, THREE)
    strip = (near <= _PLATEAU) & (spread(alpha, FIVE) > _EDGE)
    return (~strip & (near <= _STEEPEST)).astype(np.uint8) * np.uint8(255)


def _peaks(levels: npt.NDArray[np.int64], least: float) -> npt.NDArray[np.bool_]:
    """Opacities that stand out of the histogram of flat pixels, bool (256,).

    A fill of one opacity is a peak; the slow tail of a fade spreads over many levels.
    """
    counts = levels.astype(np.float64)
    # Levels beyond those of partial opacity were not counted; a tail that goes on there must not look like a peak.
    counts[FAINT + 1 - _AROUND : FAINT + 1] = median(counts[FAINT + 1 : FAINT + 1 + _AROUND])
    counts[OPAQUE : OPAQUE + _AROUND] = median(counts[OPAQUE - _AROUND : OPAQUE])
    window = np.convolve(counts, np.ones(2 * _PLATEAU + 1), "same")
    ring = np.convolve(counts, np.ones(2 * _AROUND + 1), "same") - window
    another = _another(counts)
    ring -= np.where(another >= _ALONE * ring, another, 0.0)
    top = (window >= least) & (window >= 2.0 * ring)
    top[: FAINT + 1] = top[OPAQUE:] = False
    return np.asarray(top & (counts > 0.05 * window))


def _another(counts: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The most that two adjacent levels of each opacity's ring hold, float64 (256,)."""
    pairs = np.zeros(len(counts) + 2 * _AROUND)
    pairs[_AROUND : -_AROUND - 1] = counts[:-1] + counts[1:]
    ring = [*range(-_AROUND, -_PLATEAU - 1), *range(_PLATEAU + 1, _AROUND)]
    return np.asarray(np.max([pairs[_AROUND + at : _AROUND + at + len(counts)] for at in ring], axis=0))


def _cell_max(array: Bytes) -> Bytes:
    """Largest value per cell, (h, w) → (ceil(h/4), ceil(w/4))."""
    height, width = array.shape
    padded = np.zeros((-(-height // CELL) * CELL, -(-width // CELL) * CELL), array.dtype)
    padded[:height, :width] = array
    blocks = padded.reshape(padded.shape[0] // CELL, CELL, padded.shape[1] // CELL, CELL)
    return u8(blocks.max(axis=(1, 3)))

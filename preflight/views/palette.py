"""The colours of a small picture as a table: how much ink each takes, and what print makes of it."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from preflight.model import Bytes, Floats, Separation
from preflight.records import dataclass
from preflight.views.model import RGB, Swatch

_BITS = 5
#: Opacity from which a pixel shows its colour.
_SHOWN = 128
#: Most swatches, the least share of the art that is worth one, and how far apart two must be, levels of sRGB.
_MOST, _LEAST_SHARE, _APART = 5, 0.002, 60.0


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours of a picture.

    ``srgb``: uint8 (n, 3); row 0 stands for where nothing shows. ``count``: px of each, int64 (n,), 0 for row 0.
    ``index``: int32 (h, w), the row of each pixel.
    """

    srgb: Bytes
    count: npt.NDArray[np.int64]
    index: npt.NDArray[np.int32]


def palette(rgb: Bytes, alpha: Bytes) -> Palette:
    """Sort the pixels of an sRGB picture, uint8 (h, w, 3), with its opacity, uint8 (h, w), into bins of 8 levels."""
    code = np.zeros(alpha.shape, np.int32)
    for channel in range(3):
        code = (code << _BITS) | (rgb[..., channel] >> (8 - _BITS))
    code = (code + 1) * (alpha >= _SHOWN)
    counts = np.bincount(code.ravel(), minlength=(1 << 3 * _BITS) + 1)
    counts[0] = 0
    used = np.concatenate(([0], np.flatnonzero(counts)))
    row = np.zeros(len(counts), np.int32)
    row[used] = np.arange(len(used), dtype=np.int32)
    index = row[code]
    sums = [np.bincount(index.ravel(), weights=rgb[..., channel].ravel(), minlength=len(used)) for channel in range(3)]
    total = np.maximum(np.bincount(index.ravel(), minlength=len(used)), 1)
    means = np.stack(sums, axis=1) / total[:, None]
    return Palette(np.rint(means).astype(np.uint8), counts[used].astype(np.int64), index)


def total_ink(colours: Palette, separation: Separation) -> Floats:
    """C + M + Y + K of each pixel in percent, float32 (h, w); 0 where nothing shows."""
    total = 100.0 * separation.inks(colours.srgb).sum(axis=1)
    total[0] = 0.0
    return np.asarray(total[colours.index], np.float32)


def over(total: Floats, limit: float, side: int) -> Bytes:
    """Where the total, averaged over ``side`` px, is over the limit, uint8 0/1."""
    mean = np.asarray(cv2.blur(total, (side, side), borderType=cv2.BORDER_REPLICATE))
    return (mean > limit).astype(np.uint8)


def swatches(colours: Palette, separation: Separation, limit: float) -> tuple[Swatch, ...]:
    """The colours that shift by more than ``limit``, largest area first; alike ones once."""
    whole = float(colours.count.sum())
    if whole <= 0:
        return ()
    shift = separation.shift(colours.srgb)
    far = np.flatnonzero((shift > limit) & (colours.count >= _LEAST_SHARE * whole))
    chosen: list[int] = []
    for row in far[np.argsort(-colours.count[far], kind="stable")].tolist():
        near = np.abs(colours.srgb[chosen].astype(np.float64) - colours.srgb[row])
        if len(chosen) < _MOST and (not chosen or float(near.sum(axis=1).min()) > _APART):
            chosen.append(row)
    if not chosen:
        return ()
    printed = separation.printed(colours.srgb[chosen])
    return tuple(
        Swatch(_rgb(colours.srgb[row]), _rgb(after), float(colours.count[row]) / whole, float(shift[row]))
        for row, after in zip(chosen, printed, strict=True)
    )


def _rgb(colour: Bytes) -> RGB:
    red, green, blue = (int(level) for level in colour)
    return red, green, blue
